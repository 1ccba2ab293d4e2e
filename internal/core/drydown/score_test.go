package drydown

import (
	"crypto/sha256"
	"flag"
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/weather"
)

// truths is how many invented fields a score is taken over.
var truths = flag.Int("truths", 12, "invented fields the filter is scored on")

// chance returns the stream of one use of one invented field.
func chance(use string, i int) *weather.Stream {
	s := weather.NewStream(sha256.Sum256([]byte(use)), i, calendar.Day{Year: 2000, Month: time.January, Date: 1}, 250)
	return &s
}

// A trial is an invented field: how it is believed, what it is, and what is read of it.
type trial struct {
	c     Case
	truth []float64 // field mean at the beginning of every cell since the record's start
}

// at returns the true field mean at the beginning of cell h.
func (tr *trial) at(h calendar.Hour) float64 { return tr.truth[h-tr.c.Record.Start] }

// newTrial invents field i from what is believed before any reading, errors of the model included, and has one device read it
// on some of the last days before a morning 5 to 30 days after the maturity expected (soybean: to 20).
func newTrial(record *Drivers, p Params, ripe calendar.Hour, i, readings int, device Device) *trial {
	x := chance("field "+p.Crop.String(), i)
	c := Case{Field: NewField(p, SomeUnevenness), Record: record, Ripe: &Ripening{Hour: ripe, SDDays: 3}}
	tr := &trial{c: c}
	truth := Chances{ShiftDays: 3 * x.Normal(), Kappa: p.KappaSD * x.Normal(), EMCWB: p.EMCSDWB * x.Normal(), LevelWB: p.MatureSDWB * x.Normal()}
	tr.run(truth, i)
	usual := TrustIn(device, GaugeWB)
	bias := usual.BiasSDWB * x.Normal()
	factor := math.Exp(scatterSD * x.Normal())
	days := 25.0
	if p.Crop == crop.Soybean {
		days = 15
	}
	tr.c.Now = ripe + 24*5 + calendar.Hour(24*days*x.Uniform())
	for k := range readings {
		at := tr.c.Now - calendar.Hour(4+30*k+int(20*x.Uniform()))
		r := Reading{ID: fmt.Sprint(k), At: at, Device: device, Name: "ours", Spots: 5, WB: tr.at(at)}
		own, other := c.Field.noise(r, TrustIn(device, r.WB), 0)
		r.WB = min(max(3, r.WB+bias+math.Sqrt(factor*own+other)*x.Normal()), 70)
		tr.c.Readings = append(tr.c.Readings, r)
	}
	return tr
}

func (tr *trial) run(truth Chances, i int) {
	c := &tr.c
	s := c.Field.Start(c.Record.Start, c.Ripe.Hour, truth)
	s.wanders(sha256.Sum256([]byte("truth of "+c.Field.Params.Crop.String())), i)
	out := NewTrack(c.Record.Start, c.Record.Hours, 1)
	tr.truth = append(tr.truth, c.Field.MeanWB(&s))
	c.Field.Run(c.Record, 0, &s, c.Record.End(), out)
	for _, wb := range out.MeanWB {
		tr.truth = append(tr.truth, float64(wb))
	}
}

// A score is how far forecasts missed, and how often the truth lay in the band.
type score struct {
	n                       float64
	squares, crps, inBand80 float64
}

// add scores the members x of one forecast against the truth.
func (s *score) add(x []float64, truth float64) {
	sorted := slices.Sorted(slices.Values(x))
	var mean, far, apart float64
	n := float64(len(x))
	for i, v := range sorted {
		mean += v / n
		far += math.Abs(v-truth) / n
		apart += v * (2*float64(i) - n + 1) / (n * n)
	}
	s.n++
	s.squares += (mean - truth) * (mean - truth)
	s.crps += far - apart
	if truth >= quantile(sorted, 0.1) && truth <= quantile(sorted, 0.9) {
		s.inBand80++
	}
}

func (s *score) rmse() float64  { return math.Sqrt(s.squares / s.n) }
func (s *score) share() float64 { return s.inBand80 / s.n }
func (s *score) String() string {
	return fmt.Sprintf("off by %.2f, CRPS %.3f, %.0f in 100 in the band of 80", s.rmse(), s.crps/s.n, 100*s.share())
}

// kalmanMembers returns field means from members of the filter: now, and ahead hours later in the weather that came.
func (tr *trial) kalmanMembers(tb testing.TB, i, n int, ahead calendar.Hour) (now, later []float64) {
	tb.Helper()
	post, _, err := Assimilate(tr.c)
	if err != nil {
		tb.Fatal(err)
	}
	for _, s := range post.States(sha256.Sum256([]byte(fmt.Sprint("members ", i))), n) {
		now = append(now, tr.c.Field.MeanWB(&s))
		tr.c.Field.Run(tr.c.Record, 0, &s, tr.c.Now+ahead, nil)
		later = append(later, tr.c.Field.MeanWB(&s))
	}
	return now, later
}

// A particle is one story of a field and its meter.
type particle struct {
	s    State
	bias float64
}

// particleMembers returns the same from a bootstrap particle filter of n particles: drawn from what is believed before any
// reading, weighed by every reading, resampled systematically when half of them count for nothing, their rate, equilibrium
// and bias then shrunk to their mean and jittered as [liu-west-2001].
func (tr *trial) particleMembers(i, n int, ahead calendar.Hour) (now, later []float64) {
	c := &tr.c
	p := &c.Field.Params
	x := chance("particles", i)
	parts := make([]particle, n)
	weights := make([]float64, n)
	for k := range parts {
		ch := Chances{ShiftDays: c.Ripe.SDDays * x.Normal(), Kappa: p.KappaSD * x.Normal(), EMCWB: p.EMCSDWB * x.Normal(), LevelWB: p.MatureSDWB * x.Normal()}
		parts[k] = particle{c.Field.Start(c.Record.Start, c.Ripe.Hour, ch), handheldBias * x.Normal()}
		parts[k].s.wanders(sha256.Sum256([]byte(fmt.Sprint("wander ", i))), k)
		weights[k] = 1 / float64(n)
	}
	readings := slices.Clone(c.Readings)
	slices.SortFunc(readings, func(a, b Reading) int { return int(a.At - b.At) })
	for round, r := range readings {
		trust := TrustIn(r.Device, r.WB)
		own, other := c.Field.noise(r, trust, 0)
		sd := math.Sqrt(own + other)
		var sum float64
		for k := range parts {
			q := &parts[k]
			c.Field.Run(c.Record, 0, &q.s, r.At, nil)
			z := (r.WB - c.Field.MeanWB(&q.s) - q.bias) / sd
			weights[k] *= math.Pow(1+z*z/4, -2.5) / sd // Student's t of 4 degrees
			sum += weights[k]
		}
		var squares float64
		for k := range weights {
			weights[k] /= sum
			squares += weights[k] * weights[k]
		}
		if 1/squares < float64(n)/2 {
			parts = resample(parts, weights, x)
			for k := range parts {
				weights[k] = 1 / float64(n)
				parts[k].s.wanders(sha256.Sum256([]byte(fmt.Sprint("wander ", i, round))), k)
			}
			jitter(parts, x)
		}
	}
	for k := range parts {
		c.Field.Run(c.Record, 0, &parts[k].s, c.Now, nil)
	}
	for _, q := range resample(parts, weights, x) {
		now = append(now, c.Field.MeanWB(&q.s))
		c.Field.Run(c.Record, 0, &q.s, c.Now+ahead, nil)
		later = append(later, c.Field.MeanWB(&q.s))
	}
	return now, later
}

func resample(parts []particle, weights []float64, x *weather.Stream) []particle {
	out := make([]particle, len(parts))
	step := 1 / float64(len(parts))
	u, sum, j := step*x.Uniform(), weights[0], 0
	for k := range out {
		for sum < u && j < len(parts)-1 {
			j++
			sum += weights[j]
		}
		out[k] = parts[j]
		u += step
	}
	return out
}

func jitter(parts []particle, x *weather.Stream) {
	const shrink = 0.98
	for _, at := range []func(*particle) *float64{
		func(q *particle) *float64 { return &q.s.factor }, func(q *particle) *float64 { return &q.s.emcShift }, func(q *particle) *float64 { return &q.bias },
	} {
		var mean, squares float64
		for k := range parts {
			v := *at(&parts[k])
			mean += v / float64(len(parts))
			squares += v * v / float64(len(parts))
		}
		sd := math.Sqrt(max(0, squares-mean*mean))
		for k := range parts {
			v := at(&parts[k])
			*v = mean + shrink*(*v-mean) + math.Sqrt(1-shrink*shrink)*sd*x.Normal()
		}
	}
}

// scores returns how forecasts of invented fields do, now and five days on in the weather that came, after so many readings.
func scores(tb testing.TB, k crop.Kind, fields, readings int, d Device, members func(tr *trial, i int, ahead calendar.Hour) (now, later []float64)) (now, later score) {
	tb.Helper()
	p, _ := DefaultParams(k, crop.AnyWheat)
	const ahead = 24 * 5
	for i := range fields {
		record := recordedAutumn(tb, p, 2003+i%3)
		tr := newTrial(record, p, record.Start+24*18, i, readings, d)
		x, y := members(tr, i, ahead)
		now.add(x, tr.at(tr.c.Now))
		later.add(y, tr.at(tr.c.Now+ahead))
	}
	return now, later
}

// Fields invented from the model's own beliefs: this and the next say whether the filter does with its readings what can be
// done, and whether its bands are as wide as they should be, not whether the beliefs are right. -truths 150 takes some
// minutes; its figures stand in the decision record.
func TestTheFilterScoresLikeManyParticles(t *testing.T) {
	t.Parallel()
	for _, k := range []crop.Kind{crop.Corn, crop.Soybean} {
		for _, readings := range []int{2, 4} {
			now, later := scores(t, k, *truths, readings, Meter, func(tr *trial, i int, ahead calendar.Hour) ([]float64, []float64) {
				return tr.kalmanMembers(t, i, 200, ahead)
			})
			for _, n := range []int{300, 3000} {
				manyNow, manyLater := scores(t, k, *truths, readings, Meter, func(tr *trial, i int, ahead calendar.Hour) ([]float64, []float64) {
					return tr.particleMembers(i, n, ahead)
				})
				t.Logf("%s, %d readings, now:    filter %v; %d particles %v", k, readings, &now, n, &manyNow)
				t.Logf("%s, %d readings, 5 days: filter %v; %d particles %v", k, readings, &later, n, &manyLater)
				if n == 3000 && (now.crps > 1.1*manyNow.crps || later.crps > 1.1*manyLater.crps) {
					t.Errorf("%s, %d readings: the filter falls behind", k, readings)
				}
			}
		}
	}
}

func TestTheBandOfEightyHoldsAboutEighty(t *testing.T) {
	t.Parallel()
	for _, k := range []crop.Kind{crop.Corn, crop.Soybean} {
		for _, readings := range []int{2, 4} {
			now, later := scores(t, k, 150, readings, Meter, func(tr *trial, i int, ahead calendar.Hour) ([]float64, []float64) {
				return tr.kalmanMembers(t, i, 100, ahead)
			})
			t.Logf("%s, %d readings: now %v; 5 days %v", k, readings, &now, &later)
			for _, s := range []score{now, later} {
				if s.share() < 0.75 || s.share() > 0.85 {
					t.Errorf("%s, %d readings: %.0f in 100 lie in the band of 80", k, readings, 100*s.share())
				}
			}
		}
	}
}
