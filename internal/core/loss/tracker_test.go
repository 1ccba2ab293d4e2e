package loss_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/loss"
)

// run feeds hours to a fresh tracker; a new day begins every 24 of them.
func run(r loss.Rules, hours ...loss.Hour) loss.Tracker {
	var t loss.Tracker
	for i, h := range hours {
		h.NewDay = h.NewDay || i%24 == 0
		t.Step(&r, h)
	}
	return t
}

// line returns n hours going from one moisture towards another, with so much rain and free water in each.
func line(n int, from, to, rainMM, freeMM float64) []loss.Hour {
	out := make([]loss.Hour, n)
	for i := range out {
		out[i] = loss.Hour{MoisturePct: from + (to-from)*float64(i+1)/float64(n), RainMM: rainMM, FreeMM: freeMM}
	}
	return out
}

func join(parts ...[]loss.Hour) []loss.Hour {
	var out []loss.Hour
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

func TestTrackerCountsWhatHappenedSinceRipe(t *testing.T) {
	soak := join(line(6, 12, 18, 1, 0.3), line(12, 18, 12.4, 0, 0))     // rain lifts six points, and back
	dew := join(line(10, 12, 14, 0, 0.15), line(8, 14, 12.2, 0, 0))     // heavy dew lifts two points, and back
	haze := join(line(10, 12, 14, 0, 0), line(8, 14, 12.2, 0, 0))       // humid air alone
	drizzle := join(line(4, 12, 14, 0.4, 0.2), line(8, 14, 12.2, 0, 0)) // some rain, two points
	fog := join(line(24, 12, 16, 0, 0.2), line(24, 16, 12.2, 0, 0))     // no rain, four points
	half := join(line(6, 12, 18, 1, 0.3), line(12, 18, 14, 0, 0), line(6, 14, 18, 1, 0.3), line(24, 18, 12, 0, 0))
	ripe := line(1, 12, 12, 0, 0)
	for _, c := range []struct {
		name     string
		hours    []loss.Hour
		days     float64
		cycles   float64
		wettings int
	}{
		{"green crop counts nothing", line(48, 40, 15, 2, 0.3), 0, 0, 0},
		{"the first hour at the threshold is day nought", line(1, 20, 13.5, 0, 0), 0, 0, 0},
		{"days run with the hours", join(ripe, line(36, 12, 12, 0, 0)), 1.5, 0, 0},
		{"days run on when the grain gets wet again", join(ripe, line(48, 12, 25, 0, 0)), 2, 0, 1},
		{"a soaking and back is one cycle", join(ripe, soak), 0.75, 1, 1},
		{"a soaking that has not dried is none yet", join(ripe, soak[:8]), 8.0 / 24, 0, 1},
		{"a heavy dew is a quarter", join(ripe, dew), 0.75, 0.25, 0},
		{"humid air with a dry plant is none", join(ripe, haze), 0.75, 0, 0},
		{"a shower of two points is a quarter, and wets", join(ripe, drizzle), 0.5, 0.25, 1},
		{"a fog of four points without rain is a quarter", join(ripe, fog), 2, 0.25, 0},
		{"rain again before it is dry counts twice", join(ripe, half), 2, 2, 2},
		{"two soakings apart are two wettings", join(ripe, soak, line(30, 12.4, 12, 0, 0), soak), 66.0 / 24, 2, 2},
		{"a long rain is one wetting", join(ripe, line(40, 12, 14.5, 2, 0.3)), 40.0 / 24, 0, 1},
		{"rain while ripening does not count", join(line(6, 30, 33, 3, 0.3), line(30, 33, 13, 0, 0)), 0, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := run(loss.DefaultRules(13.5), c.hours...)
			if math.Abs(got.DaysRipe()-c.days) > 1e-9 || got.Cycles() != c.cycles || got.Wettings() != c.wettings {
				t.Errorf("days %v, cycles %v, wettings %d; want %v, %v, %d",
					got.DaysRipe(), got.Cycles(), got.Wettings(), c.days, c.cycles, c.wettings)
			}
		})
	}
}

func TestADayCountsOneAndAHalfCyclesAtMost(t *testing.T) {
	r := loss.DefaultRules(13.5)
	short := join(line(2, 12, 16, 3, 0.3), line(2, 16, 12, 0, 0))
	day := join(line(1, 12, 12, 0, 0), short, short, short, short)
	if got := run(r, day...); got.Cycles() != 1.5 {
		t.Errorf("one day: %v cycles, want 1.5", got.Cycles())
	}
	two := join(day, line(7, 12, 12, 0, 0), short, short)
	if got := run(r, two...); got.Cycles() != 3 {
		t.Errorf("two days: %v cycles, want 3", got.Cycles())
	}
}

func TestATrackerToldItsPastGoesOnFromThere(t *testing.T) {
	r := loss.DefaultRules(13.5)
	told := loss.Since(10, 2.25, 3, 12)
	for _, h := range join(line(6, 12, 18, 1, 0.3), line(18, 18, 12, 0, 0)) {
		told.Step(&r, h)
	}
	if told.DaysRipe() != 11 || told.Cycles() != 3.25 || told.Wettings() != 4 {
		t.Errorf("days %v, cycles %v, wettings %d", told.DaysRipe(), told.Cycles(), told.Wettings())
	}
}

func TestLossBeforeHarvestNeverFalls(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		name := rapid.SampledFrom(modelled).Draw(rt, "crop")
		m := model(t, name)
		r := loss.DefaultRules(m.RipeAtPct())
		k := rapid.Float64Range(0, 4).Draw(rt, "k")
		var now loss.Tracker
		moisture, pre, total := rapid.Float64Range(8, 40).Draw(rt, "start"), 0.0, 0.0
		steps := rapid.SliceOfN(rapid.Float64Range(-2, 2), 1, 400).Draw(rt, "steps")
		for i, step := range steps {
			moisture = min(max(moisture+step, 5), 45)
			rain := max(0, step-1) * 5
			now.Step(&r, loss.Hour{MoisturePct: moisture, RainMM: rain, FreeMM: rain / 10, NewDay: i%24 == 0})
			if got := m.At(now.Stand(moisture), k).PrePct; got < pre {
				rt.Fatalf("hour %d: fell from %v to %v", i, pre, got)
			} else {
				pre = got
			}
			if now.Cycles() < total {
				rt.Fatalf("hour %d: cycles fell", i)
			}
			total = now.Cycles()
		}
		if days := math.Ceil(float64(len(steps)) / 24); total > 1.5*days {
			rt.Fatalf("%v cycles in %v days", total, days)
		}
	})
}

func TestSproutRiskWarnsByHowLongGrainWasWet(t *testing.T) {
	rules := loss.DefaultSproutRules()
	for _, c := range []struct {
		name  string
		hours []loss.Hour
		tempC float64
		white bool
		want  loss.SproutRisk
	}{
		{"dry", line(200, 13, 12, 0, 0), 20, false, loss.SproutLow},
		{"a short wetting", line(11, 19, 19, 1, 0.3), 20, false, loss.SproutLow},
		{"half a day over 18 %", line(12, 19, 19, 1, 0.3), 20, false, loss.SproutWatch},
		{"the same in white wheat", line(12, 19, 19, 1, 0.3), 20, true, loss.SproutHigh},
		{"a day and a half over 20 %", line(36, 21, 21, 1, 0.3), 5, false, loss.SproutHigh},
		{"three wet mild days", line(96, 16, 16, 0.2, 0.3), 15, false, loss.SproutHigh},
		{"three wet cold days", line(96, 16, 16, 0.2, 0.3), 5, false, loss.SproutLow},
		{"three wet hot days", line(96, 16, 16, 0.2, 0.3), 28, true, loss.SproutLow},
		{"two wet mild days", join(line(48, 16, 16, 0.2, 0.3), line(72, 13, 13, 0, 0)), 15, false, loss.SproutLow},
	} {
		t.Run(c.name, func(t *testing.T) {
			var w loss.SproutWatchdog
			for i, h := range c.hours {
				h.NewDay = i%24 == 0
				w.Step(&rules, h, c.tempC)
			}
			if got := w.Risk(c.white); got != c.want || (got.Say() == "") != (c.want == loss.SproutLow) {
				t.Errorf("risk %s (%q), want %s", got, got.Say(), c.want)
			}
		})
	}
}

func TestSteppingAllocatesNothing(t *testing.T) {
	r := loss.DefaultRules(13.5)
	var now loss.Tracker
	m, _ := loss.DefaultSoybean().With("shatter-at-13", 2.5)
	var kept float64
	if n := testing.AllocsPerRun(100, func() {
		now.Step(&r, loss.Hour{MoisturePct: 13, RainMM: 1, FreeMM: 0.2})
		kept += m.At(now.Stand(13), 1.2).Kept()
	}); n != 0 {
		t.Errorf("%v allocations a step", n)
	}
	if !(kept > 0) {
		t.Error("nothing kept")
	}
}

func BenchmarkTrackerStep(b *testing.B) {
	r := loss.DefaultRules(13.5)
	hours := join(line(12, 12, 17, 0.5, 0.3), line(12, 17, 12, 0, 0))
	var now loss.Tracker
	b.ReportAllocs()
	for i := range b.N {
		now.Step(&r, hours[i%24])
	}
	if b.N > 1000 && now.Cycles() == 0 {
		b.Fatal("counted nothing")
	}
}

func BenchmarkSoybeanAt(b *testing.B) {
	var m loss.Model = loss.DefaultSoybean()
	s := loss.Stand{DaysRipe: 14, Cycles: 3, MoisturePct: 11, LodgedPct: 5}
	var sum float64
	b.ReportAllocs()
	for range b.N {
		sum += m.At(s, 1).Kept()
	}
	if !(sum > 0) {
		b.Fatal("kept nothing")
	}
}
