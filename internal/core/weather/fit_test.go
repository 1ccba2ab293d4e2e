package weather_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
	"threshday/test/published"
)

// The published matrices of the United States follow from their correlations.
func TestStepOfPublishedCorrelations(t *testing.T) {
	m0 := weather.Matrix{{1, .633, .186, 0}, {.633, 1, -.193, 0}, {.186, -.193, 1, 0}, {0, 0, 0, 1}}
	m1 := weather.Matrix{{.621, .445, .087, 0}, {.563, .674, -.100, 0}, {.015, -.091, .251, 0}}
	step := weather.StepOf(m0, m1)
	published.Each(t, "step", func(_ *testing.T, r published.Row) {
		m := map[string]weather.Matrix{"A": step.A, "B": step.B}[r.Text("matrix")]
		r.Check("want", m[r.Int("row")][r.Int("column")])
	})
	settled := step.Covariance()
	for i := range m0 {
		for j := range m0 {
			if math.Abs(settled[i][j]-m0[i][j]) > 0.001 {
				t.Errorf("the recursion settles at %.4f for %d, %d; it was made from %.4f", settled[i][j], i, j, m0[i][j])
			}
		}
	}
}

// Whatever correlations a short record gives, the recursion made of them neither explodes nor fails: variances stay
// at or below the 1 they were made for.
func TestStepOfAnyCorrelations(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		var m0, m1 weather.Matrix
		for i := range m0 {
			m0[i][i] = 1
			for j := range i {
				m0[i][j] = rapid.Float64Range(-1, 1).Draw(r, "m0")
				m0[j][i] = m0[i][j]
			}
			for j := range m1[i] {
				m1[i][j] = rapid.Float64Range(-1, 1).Draw(r, "m1")
			}
		}
		settled := weather.StepOf(m0, m1).Covariance()
		for i := range settled {
			if !(settled[i][i] > 0 && settled[i][i] < 1.001) {
				r.Fatalf("variance of quantity %d goes to %v", i, settled[i][i])
			}
		}
	})
}

func TestRecursionOfARecord(t *testing.T) {
	step := mustFit(t, champaign(t), weather.FitOptions{}).Step[3]
	m0 := step.Covariance()
	m1 := product(step.A, m0)
	published.Each(t, "recursion", func(_ *testing.T, r published.Row) {
		m := map[string]weather.Matrix{"M0": m0, "M1": m1, "A": step.A, "B": step.B}[r.Text("matrix")]
		r.Check("want", m[r.Int("row")][r.Int("column")])
	})
}

func product(a, b weather.Matrix) (out weather.Matrix) {
	for i := range a {
		for j := range b {
			for k := range b {
				out[i][j] += a[i][k] * b[k][j]
			}
		}
	}
	return out
}

func TestThomsEstimate(t *testing.T) {
	published.Each(t, "thom", func(_ *testing.T, r published.Row) {
		r.Check("want", weather.ThomShape(r.Float("mean"), r.Float("mean_log")))
	})
}

// rainOf gathers a month's rain of some days.
type rainOf struct{ days, wet, sum, logs float64 }

func (r *rainOf) add(mm float64) {
	r.days++
	if mm >= weather.WetDayMM {
		r.wet++
		r.sum += mm
		r.logs += math.Log(mm)
	}
}

func (r *rainOf) mean() float64  { return r.sum / r.wet }
func (r *rainOf) shape() float64 { return weather.ThomShape(r.mean(), r.logs/r.wet) }

func TestRainOfRecords(t *testing.T) {
	days := map[string][]weather.DayRecord{"milwaukee": milwaukee(t)}
	hourly := champaign(t)
	for _, v := range weather.Days(hourly.Start, hourly.End(), cst) {
		if air := hourly.Summary(v.First, v.End); air.Known {
			days["champaign"] = append(days["champaign"], weather.DayRecord{On: v.Date, Rain: &air.Rain})
		}
	}
	fitted := map[string]*weather.Climate{
		"milwaukee": mustFitDays(t, days["milwaukee"], weather.FitOptions{}), "champaign": mustFit(t, hourly, weather.FitOptions{}),
	}
	published.Each(t, "climate", func(_ *testing.T, r published.Row) {
		month := r.Int("month")
		var own rainOf
		for _, d := range days[r.Text("station")] {
			if int(d.On.Month) == month {
				own.add(*d.Rain)
			}
		}
		fit := fitted[r.Text("station")].Rain[month-1]
		r.Check("want", map[string]float64{
			"wet": own.wet / own.days, "p11": fit.P11, "p01": fit.P01, "mean": fit.Mean, "thom": own.shape(),
		}[r.Text("quantity")])
	})
}

// A record that lacks dew point and wind takes them from the built-in climate, the dew point as far from the low as there.
func TestClimateOfARecordWithoutHumidity(t *testing.T) {
	c, spare := mustFitDays(t, milwaukee(t), weather.FitOptions{}), weather.BuiltIn()
	october := calendar.MustDay("2026-10-15")
	for status := range 2 {
		got := c.Usual[status][2].On(october) - c.Usual[status][1].On(october)
		want := spare.Usual[status][2].On(october) - spare.Usual[status][1].On(october)
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("dew point lies %.2f °C from the low, in the built-in climate %.2f", got, want)
		}
	}
	if c.Usual[0][3] != spare.Usual[0][3] || c.Sun != spare.Sun || c.Hours != spare.Hours {
		t.Error("wind, sun and hours are not the built-in climate's")
	}
	if c.First != 1961 || c.Last != 1990 || c.Days != 10957 || c.BuiltIn {
		t.Errorf("%d days from %d to %d, built in: %v", c.Days, c.First, c.Last, c.BuiltIn)
	}
}

// Hours made of days lack what the days lack: the climate fitted to them is that of the days.
func TestClimateOfHoursMadeOfDays(t *testing.T) {
	st := weather.Station{At: &mitchell, Standard: -6 * time.Hour}
	record := milwaukee(t)[:10*365]
	hours, _ := weather.FromDays(record, st)
	made, err := weather.Fit(hours, st, weather.FitOptions{})
	if err != nil {
		t.Fatal(err)
	}
	plain := mustFitDays(t, record, weather.FitOptions{})
	if made.Hours != weather.BuiltIn().Hours || made.Usual[0][3] != weather.BuiltIn().Usual[0][3] {
		t.Error("hours and wind, which were not measured, are not the built-in climate's")
	}
	for m := range made.Rain {
		if math.Abs(made.Rain[m].P11-plain.Rain[m].P11) > 0.01 || math.Abs(made.Rain[m].Mean-plain.Rain[m].Mean) > 0.05 {
			t.Errorf("rain of month %d: %+v, of the days %+v", m+1, made.Rain[m], plain.Rain[m])
		}
	}
	october := calendar.MustDay("2026-10-15")
	if a, b := made.Usual[0][0].On(october), plain.Usual[0][0].On(october); math.Abs(a-b) > 0.3 {
		t.Errorf("usual high %.2f, of the days %.2f", a, b)
	}
}

func TestRecentYearsCountMore(t *testing.T) {
	record := milwaukee(t)
	for i := range record { // the last ten years are 5 °C warmer
		if record[i].On.Year > 1980 {
			*record[i].High += 5
			*record[i].Low += 5
		}
	}
	usual := func(halfLife float64) float64 {
		return mustFitDays(t, record, weather.FitOptions{HalfLife: halfLife}).Usual[0][0].On(calendar.MustDay("2026-10-15"))
	}
	alike, recent := usual(0), usual(5)
	// Weights of 2^(-age/5) leave the years before 1981 a quarter of the whole, a third of years counted alike.
	if warmer := recent - alike; warmer < 1.5 || warmer > 3 {
		t.Errorf("with recent years counting more the usual high is %.2f °C higher; want about 5 × (3/4 − 1/3) = 2.1", warmer)
	}
}

func TestExcludedYearsAreNotFitted(t *testing.T) {
	record := champaign(t)
	without := mustFit(t, record, weather.FitOptions{Exclude: []int{2007}})
	changed := champaign(t)
	for i := range changed.V[weather.TempC] {
		if calendar.DayOf((changed.Start+calendar.Hour(i)).Start(), cst).Year == 2007 {
			changed.V[weather.TempC][i] += 30
			changed.V[weather.RainMM][i] = 0
		}
	}
	if again := mustFit(t, changed, weather.FitOptions{Exclude: []int{2007}}); *again != *without {
		t.Error("the climate changes with a year that is excluded")
	}
	if without.Last != 2006 {
		t.Errorf("last year %d", without.Last)
	}
}

func TestFitSaysWhatARecordLacks(t *testing.T) {
	record := milwaukee(t)
	dry := milwaukee(t)
	for i := range dry {
		*dry[i].Rain = 0
	}
	for name, c := range map[string]struct {
		days []weather.DayRecord
		say  string
	}{
		"nothing":        {nil, "0 days of January"},
		"a year":         {record[:365], "31 days of January"},
		"no December":    {withoutMonth(record, time.December), "0 days of December"},
		"never any rain": {dry, "0 wet days"},
	} {
		_, err := weather.FitDays(c.days, weather.Station{}, weather.FitOptions{})
		if !errors.Is(err, weather.ErrNoClimate) || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s: %v, want it to say %q", name, err, c.say)
		}
	}
}

func withoutMonth(days []weather.DayRecord, month time.Month) (out []weather.DayRecord) {
	for _, d := range days {
		if d.On.Month != month {
			out = append(out, d)
		}
	}
	return out
}

func ExampleRainMonth_Wet() {
	october := weather.RainMonth{P01: 0.236, P11: 0.486} // Milwaukee [milwaukee-daily]
	fmt.Printf("%.3f of the days are wet\n", october.Wet())
	// Output: 0.315 of the days are wet
}
