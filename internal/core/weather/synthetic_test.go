package weather_test

import (
	"fmt"
	"math"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// A trial is what an ensemble is scored on at one lead day.
type trial struct {
	ranks        []int
	covered      float64
	crps, usual  float64 // of members, and of other weathers of the season
	spread, miss float64 // mean variance of the members, mean squared error of their mean
}

// Forecasts made by the error table in reverse, of drawn weather that the members do not know, are met by members drawn around
// them as by their own kind: every rank is equally likely, four in five truths lie within 80 %, and the score beats the
// season's up to the tenth day. A forecast is f = (1−s²)·z + s·√(1−s²)·z', z the truth's departure from the usual and z' that of another
// weather of the same days: then the truth's expectation is f, and s² of its variance is left.
func TestMembersAroundForecastsAreRight(t *testing.T) {
	const cases, slack = 300, 0.03
	const members, leads = 99, weather.LongestLead
	c, table := weather.BuiltIn(), weather.DefaultErrors()
	first := calendar.MustDay("2026-10-05")
	now := calendar.HourOf(first.Start(cst))
	o := weather.GenerateOptions{Start: now, Hours: 24 * leads, Members: 2 * cases, At: bondville}
	world := mustGenerate(t, c, o, weather.LeadIn{Now: now, Zone: cst, Root: [32]byte{1}})
	day := func(e *weather.Ensemble, m, l int) weather.DayAir { return e.Summary(m, 24*l, 24*l+24) }
	quantities := []struct {
		name  string
		of    func(weather.DayAir) float64
		share [leads]float64
		into  func(a *weather.Ahead, x float64)
	}{
		{"high", high, table.Temp, func(a *weather.Ahead, x float64) { a.High = &x }},
		{"low", low, table.Temp, func(a *weather.Ahead, x float64) { a.Low = &x }},
		{"dew point", dew, table.Dew, func(a *weather.Ahead, x float64) { a.Dew = &x }},
	}
	var usual [3][leads]float64
	for l := range leads {
		for i, q := range quantities {
			usual[i][l], _ = spread(world, 24*l, 24*l+24, q.of)
		}
	}
	chance := weather.NewStream([32]byte{9}, 0, first, 999)
	o.Members = members
	var trials [3][leads]trial
	for k := range cases {
		in := weather.LeadIn{Now: now, Zone: cst, Root: [32]byte{2, byte(k), byte(k >> 8)}}
		for l := range leads {
			a := weather.Ahead{On: first.AddDays(l)}
			for i, q := range quantities {
				usual, s := usual[i][l], q.share[l]
				truth, other := q.of(day(world, k, l)), q.of(day(world, cases+k, l))
				q.into(&a, usual+(1-s*s)*(truth-usual)+s*math.Sqrt(1-s*s)*(other-usual))
			}
			in.Days = append(in.Days, a)
		}
		e := mustGenerate(t, c, o, in)
		for l := range leads {
			for i, q := range quantities {
				own, season := make([]float64, members), make([]float64, members)
				for m := range own {
					own[m], season[m] = q.of(day(e, m, l)), q.of(day(world, cases+(k+m)%cases, l))
				}
				trials[i][l].take(own, season, q.of(day(world, k, l)), chance.Uniform())
			}
		}
	}
	for i, q := range quantities {
		covered := 0.0
		for l := range leads {
			x := &trials[i][l]
			what := fmt.Sprintf("%s of lead day %d", q.name, l+1)
			p, skill := weather.RankTest(x.ranks, members, 10), 1-x.crps/x.usual
			t.Logf("%-22s p %.3f, within 80 %%: %.3f, skill %.2f, spread over error %.2f", what, p, x.covered/float64(cases), skill, math.Sqrt(x.spread/x.miss))
			covered += x.covered / float64(cases) / leads
			// Of three hundred, spread over error strays by a tenth of itself.
			if p <= 0.01 || skill <= 0 && l < 10 || math.Abs(math.Sqrt(x.spread/x.miss)-1) > 0.15 {
				t.Errorf("%s: p %.4f, skill %.3f, spread over error %.3f", what, p, skill, math.Sqrt(x.spread/x.miss))
			}
		}
		if covered < 0.80-slack || covered > 0.80+slack {
			t.Errorf("%s: %.3f of the truths lie within 80 %%", q.name, covered)
		}
	}
}

func (x *trial) take(own, season []float64, truth, u float64) {
	x.ranks = append(x.ranks, weather.Rank(own, truth, u))
	if weather.Covers(own, truth, 0.8) {
		x.covered++
	}
	x.crps += weather.CRPS(own, truth, true)
	x.usual += weather.CRPS(season, truth, true)
	s := sample{}
	for _, v := range own {
		s.add(v)
	}
	x.spread += s.sd() * s.sd() * s.n / (s.n - 1)
	x.miss += (s.mean() - truth) * (s.mean() - truth) / (1 + 1/s.n)
}

// Chances of rain made by the error table in reverse come true as often as the members are wet. A sign is right in a share a of
// the cases and anybody's guess in the others: then rain comes with c + a(1−c) where it says so and c − ac where not, c the
// season's chance, and the table has a forecaster who reads that sign say it a little too sharply, by 1/k.
func TestChancesOfRainComeTrue(t *testing.T) {
	const cases, members, leads = 200, 49, 9
	c, table := weather.BuiltIn(), weather.DefaultErrors()
	first := calendar.MustDay("2026-10-05")
	now := calendar.HourOf(first.Start(cst))
	o := weather.GenerateOptions{Start: now, Hours: 24 * leads, Members: 4 * cases, At: bondville}
	world := mustGenerate(t, c, o, weather.LeadIn{Now: now, Zone: cst, Root: [32]byte{11}})
	wet := func(m, l int) float64 { return float64(btoi(world.Summary(m, 24*l, 24*l+24).Wet())) }
	var usual [leads]float64
	for l := range leads {
		for m := range world.Members {
			usual[l] += wet(m, l) / float64(world.Members)
		}
	}
	chance := weather.NewStream([32]byte{12}, 0, first, 999)
	o.Members = members
	var said, season []weather.Chance
	for k := range cases {
		in := weather.LeadIn{Now: now, Zone: cst, Root: [32]byte{13, byte(k)}}
		for l := range leads {
			right := 0.5 * table.Rain[l]
			sign := wet(cases+k, l)
			if chance.Uniform() < right {
				sign = wet(k, l)
			}
			in.Days = append(in.Days, weather.Ahead{On: first.AddDays(l), Rain: ptr(usual[l] + right*(sign-usual[l])/table.Rain[l])})
		}
		e := mustGenerate(t, c, o, in)
		for l := range leads {
			own := 0.0
			for m := range e.Members {
				own += float64(btoi(e.Summary(m, 24*l, 24*l+24).Wet())) / members
			}
			came := wet(k, l) == 1
			said, season = append(said, weather.Chance{P: own, Came: came}), append(season, weather.Chance{P: usual[l], Came: came})
		}
	}
	if ours, theirs := weather.Brier(said), weather.Brier(season); ours >= 0.97*theirs {
		t.Errorf("Brier score %.4f, of the season's chance %.4f", ours, theirs)
	}
	for _, r := range weather.Reliability(said) {
		t.Logf("%.2f came %.2f of %d, allowed %.2f to %.2f", r.Forecast, r.Frequency, r.N, r.Low, r.High)
		// Days of one case go together, so a frequency strays further than independent days would.
		if slack := 0.03 + 1.5*(r.High-r.Low)/2; r.N >= 50 && math.Abs(r.Frequency-r.Forecast) > slack {
			t.Errorf("chances of %.2f came true in %.2f of %d", r.Forecast, r.Frequency, r.N)
		}
	}
}
