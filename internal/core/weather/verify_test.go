package weather_test

import (
	"math"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// kept are daily forecasts with errors of a known share of the climate's spread, as an archive keeps them.
func kept(t testing.TB, truth *weather.Series, days int, share func(lead int) float64, trust float64) []weather.Issue {
	t.Helper()
	c := weather.BuiltIn()
	s := weather.NewStream([32]byte{5}, 0, calendar.MustDay("2004-01-01"), 999)
	var out []weather.Issue
	for i := range days {
		today := calendar.MustDay("2004-08-01").AddDays(i)
		issue := weather.Issue{At: calendar.HourOf(today.Start(cst))}
		for lead := 1; lead <= 7; lead++ {
			on := today.AddDays(lead - 1)
			air := onDay(truth, on)
			if !air.Known {
				continue
			}
			off := func(k int) float64 { // the spread over dry and wet days alike differs by a few hundredths
				return share(lead) * math.Sqrt(0.7*c.Spread[0][k].On(on)+0.3*c.Spread[1][k].On(on)) * s.Normal()
			}
			chance := 0.3 + trust*(float64(btoi(air.Wet()))-0.3)
			if s.Uniform() < 0.5 { // half of what is said is noise
				chance = 0.3 + trust*(s.Uniform()-0.5)
			}
			issue.Days = append(issue.Days, weather.Ahead{
				On: on, High: ptr(air.High + off(0) + 1), Low: ptr(air.Low + off(1)), Dew: ptr(air.Dew + off(2)), Rain: ptr(chance),
			})
		}
		out = append(out, issue)
	}
	return out
}

func TestVerificationFindsTheErrorOfForecasts(t *testing.T) {
	truth := champaign(t)
	issues := kept(t, truth, 110, func(lead int) float64 { return 0.2 + 0.08*float64(lead) }, 0.6)
	v := weather.Verify(issues, truth, weather.BuiltIn(), cst)
	for lead := 1; lead <= 7; lead++ {
		l, want := v.Lead[lead-1], 0.2+0.08*float64(lead)
		if l.Low.N < 100 || math.Abs(l.Low.Share-want) > 0.25*want || math.Abs(l.Dew.Share-want) > 0.25*want {
			t.Errorf("lead day %d: %d days, share of low %.3f and dew point %.3f, want %.2f", lead, l.Low.N, l.Low.Share, l.Dew.Share, want)
		}
		if math.Abs(l.High.Bias-1) > 0.6 || l.High.MAE > l.High.RMSE || l.Low.RMSE < 0.8*want*4 {
			t.Errorf("lead day %d: bias of high %.2f, want 1; mean error %.2f, root mean square %.2f", lead, l.High.Bias, l.High.MAE, l.High.RMSE)
		}
		if l.Rain.Brier >= l.Rain.Usual || l.Rain.Trust < 0.3 || len(l.Rain.Chances) != l.Low.N {
			t.Errorf("lead day %d: Brier %.3f against %.3f, trust %.2f", lead, l.Rain.Brier, l.Rain.Usual, l.Rain.Trust)
		}
	}
	if v.Lead[7].Low.N != 0 {
		t.Error("lead day 8 was never forecast")
	}
}

func TestTheErrorTableIsLearnedAfterSixtyDays(t *testing.T) {
	truth := champaign(t)
	base := weather.DefaultErrors()
	wide := func(int) float64 { return 0.7 }
	few, learned := weather.Verify(kept(t, truth, 59, wide, 0.6), truth, weather.BuiltIn(), cst).Table(base)
	if few != base || learned != [4]int{} {
		t.Errorf("59 days changed the table: %v %+v", learned, few)
	}
	many, learned := weather.Verify(kept(t, truth, 110, wide, 0.6), truth, weather.BuiltIn(), cst).Table(base)
	if learned != [4]int{7, 7, 0, 7} {
		t.Fatalf("learned %v lead days of temperature, dew point, wind and rain; want 7, 7, 0, 7", learned)
	}
	for i := range weather.LongestLead {
		if i < 7 && math.Abs(many.Temp[i]-0.7) > 0.12 {
			t.Errorf("lead day %d: share %.2f, want about 0.7", i+1, many.Temp[i])
		}
		if many.Wind[i] != base.Wind[i] {
			t.Errorf("wind was never forecast, yet its table changed on lead day %d", i+1)
		}
		if i > 0 && (many.Temp[i] < many.Temp[i-1] || many.Dew[i] < many.Dew[i-1] || many.Rain[i] > many.Rain[i-1]) {
			t.Errorf("lead day %d is better than the day before", i+1)
		}
	}
}

// The first issue of a day counts, and a person's entry is used, and so verified, one lead day later.
func TestWhichForecastIsVerified(t *testing.T) {
	truth := champaign(t)
	on := calendar.MustDay("2004-09-03")
	air := onDay(truth, on)
	at := calendar.HourOf(calendar.MustDay("2004-09-02").Start(cst)) + 6
	issue := func(at calendar.Hour, off float64, late int) weather.Issue {
		return weather.Issue{At: at, Days: []weather.Ahead{{On: on, High: ptr(air.High + off), Late: late}}}
	}
	v := weather.Verify([]weather.Issue{issue(at+5, 9, 0), issue(at, 2, 0), issue(at+24, 3, 1)}, truth, weather.BuiltIn(), cst)
	if l := v.Lead[1].High; l.N != 2 || math.Abs(l.Bias-2.5) > 1e-5 {
		t.Errorf("lead day 2: %d forecasts, bias %.3f; want the first of 2 September and the entry of the 3rd", l.N, l.Bias)
	}
	if v.Lead[0].High.N != 0 {
		t.Error("an entry that counts as a day older was verified as today's")
	}
	gone := weather.Verify([]weather.Issue{issue(at, 2, 0)}, weather.NewSeries(truth.Start, 10), weather.BuiltIn(), cst)
	if gone.Lead[1].High.N != 0 {
		t.Error("a day that was not observed was verified")
	}
}
