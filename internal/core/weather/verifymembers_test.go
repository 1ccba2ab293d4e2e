package weather_test

import (
	"math"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// Members around forecasts that are as wrong as their table says beat the climate on the first days and lie around the
// truth as they should; on days nobody forecast they are the climate. [champaign-hourly]
func TestMembersAreScoredAgainstTheClimate(t *testing.T) {
	truth := champaign(t)
	table := weather.DefaultErrors()
	issues := kept(t, truth, 40, func(lead int) float64 { return table.Temp[lead-1] }, 0.9)
	for i := range issues {
		for k := range issues[i].Days {
			*issues[i].Days[k].High-- // kept is a degree off
		}
	}
	done := 0
	trial := weather.MemberTrial{
		Climate: mustFit(t, truth, weather.FitOptions{Exclude: []int{2004}}), At: bondville, Zone: cst, Root: [32]byte{8}, Members: 39,
		Done: func(int, int) { done++ },
	}
	got, err := weather.VerifyMembers(issues, truth, trial)
	if err != nil {
		t.Fatal(err)
	}
	if done != len(issues) {
		t.Errorf("told of %d of %d", done, len(issues))
	}
	for lead, least := range map[int]float64{1: 0.4, 2: 0.35, 4: 0.2} {
		l := got[lead-1]
		for name, m := range map[string]weather.MemberScore{"high": l.High, "low": l.Low, "dew point": l.Dew} {
			if skill, ok := m.Skill(); !ok || m.N < 35 || skill < least || math.Abs(m.Covered-0.8) > 0.18 || m.P < 1e-4 {
				t.Errorf("%s of lead day %d: %+v, skill %.2f; want %.2f at least", name, lead, m, skill, least)
			}
		}
		if l.Rain.Brier >= l.Rain.Climate || len(l.Rain.Chances) != l.High.N {
			t.Errorf("rain of lead day %d: %.3f against %.3f", lead, l.Rain.Brier, l.Rain.Climate)
		}
	}
	if l := got[0]; l.CutHours.CRPS >= l.CutHours.Climate || l.Window.Brier > l.Window.Climate {
		t.Errorf("today's hours to cut %.2f against %.2f, windows %.3f against %.3f", l.CutHours.CRPS, l.CutHours.Climate,
			l.Window.Brier, l.Window.Climate)
	}
	if skill, _ := got[13].High.Skill(); math.Abs(skill) > 0.15 {
		t.Errorf("the fourteenth day, which nobody forecast, has a skill of %.2f", skill)
	}
}

func TestMembersOfUnknownDaysAreNotScored(t *testing.T) {
	truth := champaign(t)
	issues := kept(t, truth, 3, func(int) float64 { return 0.3 }, 0.9)
	got, err := weather.VerifyMembers(issues, weather.NewSeries(0, 24), weather.MemberTrial{Climate: weather.BuiltIn(), At: bondville, Zone: cst, Members: 9})
	if err != nil || got[0].High.N != 0 {
		t.Errorf("%+v, %v", got[0], err)
	}
	defer func() {
		if recover() == nil {
			t.Error("ranks of ten members fill ten bins evenly?")
		}
	}()
	_, _ = weather.VerifyMembers(issues, truth, weather.MemberTrial{Climate: weather.BuiltIn(), At: bondville, Zone: cst, Members: 10})
}

func TestOneSeriesOverAnother(t *testing.T) {
	low, top := weather.NewSeries(10, 4), weather.NewSeries(12, 4)
	for h := range 4 {
		low.Set(weather.TempC, low.Start+calendar.Hour(h), 1, weather.Observed)
		top.Set(weather.DewC, top.Start+calendar.Hour(h), 2, weather.Observed)
	}
	top.Set(weather.TempC, 13, 3, weather.Filled)
	both := low.Over(top)
	if both.Start != 10 || both.End() != 16 {
		t.Fatalf("from %d to %d", both.Start, both.End())
	}
	for h, want := range map[calendar.Hour]float64{10: 1, 12: 1, 13: 3} {
		if x, ok := both.At(weather.TempC, h); !ok || x != want {
			t.Errorf("hour %d: %v %v, want %v", h, x, ok, want)
		}
	}
	if _, ok := both.At(weather.TempC, 15); ok {
		t.Error("a temperature that neither has")
	}
	if _, ok := both.At(weather.DewC, 11); ok {
		t.Error("a dew point that neither has")
	}
	if low.Over(nil) != low || (*weather.Series)(nil).Over(top) != top {
		t.Error("one alone is itself")
	}
}
