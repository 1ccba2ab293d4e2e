package weather_test

import (
	"errors"
	"math"
	"slices"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

const members = 100

// autumn is an ensemble of 40 days that begins five days before now, and the lead-in of that moment.
func autumn(t testing.TB) (*weather.Ensemble, weather.LeadIn) {
	t.Helper()
	e := mustResample(t, aRecord(2020, 2024), options(t, "2024-09-20", 40*24, members))
	zone := central(t)
	return e, weather.LeadIn{
		Now: calendar.HourOf(calendar.MustDay("2024-09-25").Start(zone)), Zone: zone, Root: [32]byte{7},
	}
}

func ptr(x float64) *float64 { return &x }

func mustLead(t testing.TB, e *weather.Ensemble, in weather.LeadIn) *weather.Ensemble {
	t.Helper()
	out, err := e.Lead(in)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// hoursOf returns a day's hours counted from the start of the ensemble.
func hoursOf(e *weather.Ensemble, in weather.LeadIn, day string) (first, end int) {
	a, b := calendar.MustDay(day).Hours(in.Zone)
	return int(a - e.Start), int(b - e.Start)
}

// spread returns mean and standard deviation of a day's quantity over the members.
func spread(e *weather.Ensemble, first, end int, of func(weather.DayAir) float64) (mean, sd float64) {
	n := float64(e.Members)
	for m := range e.Members {
		mean += of(e.Summary(m, first, end)) / n
	}
	for m := range e.Members {
		sd += math.Pow(of(e.Summary(m, first, end))-mean, 2) / n
	}
	return mean, math.Sqrt(sd)
}

func high(d weather.DayAir) float64 { return d.High }
func low(d weather.DayAir) float64  { return d.Low }
func dew(d weather.DayAir) float64  { return d.Dew }

func TestMembersSurroundTheForecastByItsError(t *testing.T) {
	e, in := autumn(t)
	first, end := hoursOf(e, in, "2024-09-27") // lead day 3
	day := calendar.MustDay("2024-09-27")
	in.Days = []weather.Ahead{{On: day, High: ptr(28), Low: ptr(14), Dew: ptr(9)}}
	out := mustLead(t, e, in)
	for _, c := range []struct {
		name     string
		of       func(weather.DayAir) float64
		want, s  float64
		tol, far float64
	}{
		{"high", high, 28, .43, 0.001, 0.001},
		{"low", low, 14, .43, 0.001, 0.001},
		{"dew point", dew, 9, .50, 0.4, 0.2}, // ramps to the days beside it
	} {
		mean, sd := spread(out, first, end, c.of)
		_, before := spread(e, first, end, c.of)
		if math.Abs(mean-c.want) > c.tol {
			t.Errorf("%s: mean of members %.3f, want the forecast %.1f", c.name, mean, c.want)
		}
		if math.Abs(sd-c.s*before) > c.far {
			t.Errorf("%s: spread %.3f, want %.2f of %.3f", c.name, sd, c.s, before)
		}
	}
}

func TestManualEntriesAreOneLeadDayWorse(t *testing.T) {
	e, in := autumn(t)
	first, end := hoursOf(e, in, "2024-09-26")
	said, err := weather.ManualDay{On: calendar.MustDay("2024-09-26"), High: 25, Low: 12}.Ahead()
	if err != nil {
		t.Fatal(err)
	}
	in.Days = []weather.Ahead{said}
	_, before := spread(e, first, end, high)
	_, sd := spread(mustLead(t, e, in), first, end, high)
	if want := .43 * before; math.Abs(sd-want) > 0.001 { // day 2 counts as day 3
		t.Errorf("spread of the high %.3f, want %.3f", sd, want)
	}
}

func TestHoursBeyondTheForecastAreUntouched(t *testing.T) {
	e, in := autumn(t)
	in.Days = []weather.Ahead{
		{On: calendar.MustDay("2024-09-25"), High: ptr(30), Low: ptr(15), Dew: ptr(10), Wind: ptr(6), Sky: ptr(0.1), Rain: ptr(0.9)},
		{On: calendar.MustDay("2024-11-20"), High: ptr(30)}, // not in the ensemble
		{On: calendar.MustDay("2024-10-15"), High: ptr(30)}, // too far ahead
	}
	out := mustLead(t, e, in)
	_, end := hoursOf(e, in, "2024-09-25")
	for m := range e.Members {
		for v := range weather.Var(weather.NVar) {
			if !slices.Equal(e.Row(v, m)[end:], out.Row(v, m)[end:]) {
				t.Fatalf("member %d: %s changed beyond the forecast", m, v)
			}
		}
	}
}

func TestObservedHoursAreCommonToAllMembers(t *testing.T) {
	e, in := autumn(t)
	in.Observed = aRecord(2024, 2024)
	out := mustLead(t, e, in)
	now := int(in.Now - e.Start)
	for v := range weather.Var(weather.NVar) {
		for m := range e.Members {
			for i := range now {
				want, _ := in.Observed.At(v, e.Start+calendar.Hour(i))
				if out.Row(v, m)[i] != float32(want) {
					t.Fatalf("member %d hour %d: %s %v, want the observed %v", m, i, v, out.Row(v, m)[i], want)
				}
			}
		}
	}
	first, end := hoursOf(e, in, "2024-09-25")
	_, before := spread(e, first, end, high)
	_, after := spread(out, first, end, high)
	if after > before {
		t.Errorf("today's highs spread %.2f after what was observed, %.2f before", after, before)
	}
	lateFirst, lateEnd := hoursOf(e, in, "2024-10-15")
	was, _ := spread(e, lateFirst, lateEnd, high)
	is, _ := spread(out, lateFirst, lateEnd, high)
	if math.Abs(was-is) > 0.01 {
		t.Errorf("three weeks on the mean high moved from %.2f to %.2f", was, is)
	}
}

func TestForecastWithinADayThatHasBegun(t *testing.T) {
	e, in := autumn(t)
	in.Observed = aRecord(2024, 2024)
	in.Now += 14 // two in the afternoon
	in.Days = []weather.Ahead{{On: calendar.MustDay("2024-09-25"), High: ptr(26), Low: ptr(11), Dew: ptr(8), Rain: ptr(0.6), Part: weather.Morning}}
	out := mustLead(t, e, in)
	now := int(in.Now - e.Start)
	_, end := hoursOf(e, in, "2024-09-25")
	wet := 0
	for m := range out.Members {
		rain := 0.0
		for i := now; i < end; i++ {
			rain += float64(out.Row(weather.RainMM, m)[i])
		}
		if rain >= weather.WetDayMM {
			wet++
		}
		if got, _ := in.Observed.At(weather.TempC, in.Now-1); out.Row(weather.TempC, m)[now-1] != float32(got) {
			t.Fatalf("member %d: the last observed hour was changed", m)
		}
	}
	if wet < 45 || wet > 65 {
		t.Errorf("%d members get rain in what is left of the day, want about 60", wet)
	}
}

// An ensemble that begins at six in the morning does not hold the night; the evening must not become as cold
// as the night that was forecast.
func TestEnsembleThatBeginsWithinADay(t *testing.T) {
	e, in := autumn(t)
	in.Now += 6
	e = e.From(in.Now)
	in.Days = []weather.Ahead{{On: calendar.MustDay("2024-09-25"), High: ptr(24), Low: ptr(-5)}}
	out := mustLead(t, e, in)
	_, end := hoursOf(e, in, "2024-09-25")
	mean, _ := spread(out, 0, end, high)
	coldest, _ := spread(out, 0, end, low)
	if math.Abs(mean-24) > 0.5 || coldest < 5 {
		t.Errorf("highs of the rest of the day %.1f, lows %.1f; want 24 and no cold of the night before", mean, coldest)
	}
}

func TestFromCutsNothingElse(t *testing.T) {
	e, in := autumn(t)
	cut := e.From(in.Now)
	skip := int(in.Now - e.Start)
	if cut.Start != in.Now || cut.End() != e.End() || cut.Note != e.Note {
		t.Errorf("from %d to %d, %q", cut.Start, cut.End(), cut.Note)
	}
	for m := range e.Members {
		for v := range weather.Var(weather.NVar) {
			if !slices.Equal(cut.Row(v, m), e.Row(v, m)[skip:]) || cut.Source[m] != e.Source[m] {
				t.Fatalf("member %d: %s differs", m, v)
			}
		}
	}
	mustPanic(t, "before the start", func() { e.From(e.Start - 1) })
	mustPanic(t, "after the end", func() { e.From(e.End()) })
}

func TestTwoForecastsForADayAreRefused(t *testing.T) {
	e, in := autumn(t)
	day := calendar.MustDay("2024-09-26")
	in.Days = []weather.Ahead{{On: day, High: ptr(20)}, {On: day, High: ptr(25)}}
	if _, err := e.Lead(in); !errors.Is(err, weather.ErrTwoForecasts) {
		t.Errorf("got %v", err)
	}
}

func TestPerfectForecastOfARecordIsFollowed(t *testing.T) {
	e, in := autumn(t)
	truth := aRecord(2024, 2024)
	from := int(in.Now - truth.Start)
	forecast := weather.NewSeries(in.Now, 5*24)
	for v := range forecast.V {
		copy(forecast.V[v], truth.V[v][from:])
		copy(forecast.From[v], truth.From[v][from:])
	}
	in.Days = weather.AheadOf(forecast, in.Zone)
	if len(in.Days) != 5 {
		t.Fatalf("%d days, want 5", len(in.Days))
	}
	out := mustLead(t, e, in)
	for _, said := range in.Days {
		first, end := hoursOf(e, in, said.On.String())
		if mean, _ := spread(out, first, end, high); math.Abs(mean-*said.High) > 0.001 {
			t.Errorf("%s: mean high %.2f, want %.2f", said.On, mean, *said.High)
		}
		wet := 0
		for m := range out.Members {
			if out.Summary(m, first, end).Wet() {
				wet++
			}
		}
		if rains := *said.Rain == 1; rains && wet < 85 || !rains && wet > 10 {
			t.Errorf("%s: %d members wet, chance %.0f", said.On, wet, *said.Rain)
		}
	}
}

// Whatever is said, no member has a dew point above its temperature, negative rain, or no number.
func TestLeadKeepsTheInvariants(t *testing.T) {
	e, in := autumn(t)
	e = truncate(e, 30)
	start := calendar.MustDay("2024-09-25")
	rapid.Check(t, func(r *rapid.T) {
		in := in
		in.Now += calendar.Hour(rapid.IntRange(-130, 40).Draw(r, "hours after midnight"))
		if rapid.Bool().Draw(r, "observed") {
			in.Observed = aRecord(2024, 2024)
		}
		for i := range rapid.IntRange(0, 12).Draw(r, "days") {
			low := rapid.Float64Range(-20, 25).Draw(r, "low")
			word := func(name string, words ...string) string { return rapid.SampledFrom(words).Draw(r, name) }
			d := weather.ManualDay{
				On: start.AddDays(i), Low: low, High: low + rapid.Float64Range(0, 25).Draw(r, "range"),
				Amount: weather.Amount(word("amount", "", "trace", "light", "medium", "heavy")),
				Part:   weather.Part(word("part", "", "any", "night", "morning", "afternoon", "evening")),
				Dew:    weather.Dew(word("dew", "", "unknown", "none", "light", "heavy")),
				Wind:   weather.Wind(word("wind", "", "calm", "light", "breezy", "windy")),
				Sky:    weather.Sky(word("sky", "", "clear", "part", "cloudy")),
			}
			if rapid.Bool().Draw(r, "chance given") {
				d.Chance = ptr(rapid.Float64Range(0, 1).Draw(r, "chance"))
			}
			said, err := d.Ahead()
			if err != nil {
				r.Fatal(err)
			}
			in.Days = append(in.Days, said)
		}
		out, err := e.Lead(in)
		if err != nil {
			r.Fatal(err)
		}
		for m := range out.Members {
			temp, dew, wind := out.Row(weather.TempC, m), out.Row(weather.DewC, m), out.Row(weather.WindMS, m)
			rain, sky, sun := out.Row(weather.RainMM, m), out.Row(weather.SkyFrac, m), out.Row(weather.SolarWM2, m)
			for i := range temp {
				ok := dew[i] <= temp[i] && wind[i] >= 0 && rain[i] >= 0 && sky[i] >= 0 && sky[i] <= 1 && sun[i] >= 0
				if !ok || math.IsInf(float64(temp[i]+dew[i]+wind[i]+rain[i]+sun[i]), 0) {
					r.Fatalf("member %d hour %d: t %v dew %v wind %v rain %v sky %v sun %v", m, i, temp[i], dew[i], wind[i], rain[i], sky[i], sun[i])
				}
			}
		}
	})
}

// truncate returns an ensemble of the first members.
func truncate(e *weather.Ensemble, n int) *weather.Ensemble {
	out := weather.NewEnsemble(e.Start, e.Hours, n)
	for m := range n {
		for v := range weather.Var(weather.NVar) {
			copy(out.Row(v, m), e.Row(v, m))
		}
	}
	copy(out.Source, e.Source)
	return out
}

func TestSameSeedSameBytesOnOneWorkerAndTwo(t *testing.T) {
	e, in := autumn(t)
	in.Observed = aRecord(2024, 2024)
	for i := range 7 {
		in.Days = append(in.Days, weather.Ahead{On: calendar.MustDay("2024-09-25").AddDays(i), High: ptr(22), Low: ptr(9), Rain: ptr(0.5), Amount: ptr(6), Part: weather.Evening})
	}
	alone := mustLead(t, e, in)
	var wg sync.WaitGroup
	both := make([]*weather.Ensemble, 2)
	for i := range both {
		wg.Go(func() { both[i], _ = e.Lead(in) })
	}
	wg.Wait()
	for i, got := range both {
		for v := range weather.Var(weather.NVar) {
			if got == nil || !slices.Equal(got.V[v], alone.V[v]) {
				t.Fatalf("worker %d: %s differs", i, v)
			}
		}
	}
	in.Root = [32]byte{8}
	if other := mustLead(t, e, in); slices.Equal(other.V[weather.RainMM], alone.V[weather.RainMM]) {
		t.Error("another seed gives the same rain")
	}
}

func BenchmarkLead(b *testing.B) {
	e, in := autumn(b)
	in.Observed = aRecord(2024, 2024)
	for i := range 10 {
		in.Days = append(in.Days, weather.Ahead{On: calendar.MustDay("2024-09-25").AddDays(i), High: ptr(22), Low: ptr(9), Dew: ptr(6), Wind: ptr(3), Sky: ptr(0.5), Rain: ptr(0.5), Amount: ptr(6)})
	}
	b.ReportAllocs()
	for b.Loop() {
		mustLead(b, e, in)
	}
}
