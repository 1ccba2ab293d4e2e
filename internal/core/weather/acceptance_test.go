package weather_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// An autumnDay is one day of an autumn, recorded or drawn.
type autumnDay struct {
	month              int // 0 for September
	high, low, dew, mm float64
	root               float64 // of wind
}

func (d autumnDay) wet() bool { return d.mm >= weather.WetDayMM }

// autumnsOf are statistics of autumns, September to November.
type autumnsOf struct {
	values             map[string]*sample // "high 9", "wet 10", ...
	rain               [3]rainOf
	sinceWet, sinceDry [3]rainOf // days after a wet and after a dry one
}

// A sample is n numbers' mean and spread.
type sample struct{ n, sum, square float64 }

func (s *sample) add(x float64) { s.n++; s.sum += x; s.square += x * x }
func (s *sample) mean() float64 { return s.sum / s.n }
func (s *sample) sd() float64   { return math.Sqrt(max(0, s.square/s.n-s.mean()*s.mean())) }

func newAutumns() *autumnsOf { return &autumnsOf{values: map[string]*sample{}} }

func (a *autumnsOf) add(what string, month int, x float64) {
	key := fmt.Sprintf("%s %d", what, month+9)
	if a.values[key] == nil {
		a.values[key] = &sample{}
	}
	a.values[key].add(x)
}

// autumn takes the days of one autumn in order.
func (a *autumnsOf) autumn(days []autumnDay) {
	var total, highs, n [3]float64
	for i, d := range days {
		a.add("high", d.month, d.high)
		a.add("low", d.month, d.low)
		if !math.IsNaN(d.dew) {
			a.add("dew", d.month, d.dew)
		}
		a.rain[d.month].add(d.mm)
		if i > 0 && days[i-1].month == d.month {
			if days[i-1].wet() {
				a.sinceWet[d.month].add(d.mm)
			} else {
				a.sinceDry[d.month].add(d.mm)
			}
		}
		total[d.month] += d.mm
		highs[d.month] += d.high
		n[d.month]++
	}
	for m := range 3 {
		a.add("monthly rain", m, total[m])
		a.add("monthly high", m, highs[m]/n[m])
	}
	for first := 0; first < len(days); {
		end := first
		for end < len(days) && days[end].wet() == days[first].wet() {
			end++
		}
		if long := float64(end - first); first > 0 && end < len(days) {
			if days[first].wet() {
				a.add("wet spell", days[first].month, long)
			} else {
				a.add("dry spell", days[first].month, long)
				a.add("long dry spell", days[first].month, float64(btoi(long >= 7)))
			}
		}
		first = end
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// drawnAutumns draws autumns of a climate and hands out their days.
func drawnAutumns(t testing.TB, c *weather.Climate, at weather.Spot, n int) [][]autumnDay {
	t.Helper()
	start := calendar.HourOf(time.Date(2026, 9, 1, 0, 0, 0, 0, cst))
	e := mustGenerate(t, c, weather.GenerateOptions{Start: start, Hours: 91 * 24, Members: n, At: at}, weather.LeadIn{Now: start, Zone: cst, Root: [32]byte{3}})
	out := make([][]autumnDay, n)
	for m := range out {
		for k := range 91 {
			d := e.Summary(m, 24*k, 24*k+24)
			month := calendar.DayOf((start + calendar.Hour(24*k)).Start(), cst).Month
			out[m] = append(out[m], autumnDay{int(month) - 9, d.High, d.Low, d.Dew, d.Rain, math.Sqrt(d.Wind)})
		}
	}
	return out
}

// within fails where a drawn figure lies further from the recorded one than tol.
func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	t.Logf("%-22s drawn %8.3f recorded %8.3f", what, got, want)
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: drawn %.3f, recorded %.3f, allowed %.3f apart", what, got, want, tol)
	}
}

// Drawn autumns of Milwaukee are like the thirty behind them. [milwaukee-daily]
func TestDrawnAutumnsAreLikeThirtyRecordedOnes(t *testing.T) {
	record := milwaukee(t)
	recorded, drawn := newAutumns(), newAutumns()
	var autumn []autumnDay
	for _, d := range record {
		if month := int(d.On.Month) - 9; month >= 0 && month < 3 {
			autumn = append(autumn, autumnDay{month: month, high: *d.High, low: *d.Low, dew: math.NaN(), mm: *d.Rain})
		} else if autumn != nil {
			recorded.autumn(autumn)
			autumn = nil
		}
	}
	for _, days := range drawnAutumns(t, mustFitDays(t, record, weather.FitOptions{}), mitchell, 600) {
		drawn.autumn(days)
	}
	for m := range 3 {
		month := fmt.Sprintf(" %d", m+9)
		is, was := drawn, recorded
		mean := func(what string) (a, b float64) { return is.values[what+month].mean(), was.values[what+month].mean() }
		within(t, "P(wet)"+month, is.rain[m].wet/is.rain[m].days, was.rain[m].wet/was.rain[m].days, 0.015)
		within(t, "P11"+month, is.sinceWet[m].wet/is.sinceWet[m].days, was.sinceWet[m].wet/was.sinceWet[m].days, 0.02)
		within(t, "P01"+month, is.sinceDry[m].wet/is.sinceDry[m].days, was.sinceDry[m].wet/was.sinceDry[m].days, 0.015)
		within(t, "mm of a wet day"+month, is.rain[m].mean(), was.rain[m].mean(), 0.05*was.rain[m].mean())
		within(t, "shape"+month, is.rain[m].shape(), was.rain[m].shape(), 0.1*was.rain[m].shape())
		for _, what := range []string{"high", "low"} {
			a, b := mean(what)
			within(t, what+month, a, b, 0.3)
			sd := was.values[what+month].sd()
			within(t, "sd of "+what+month, is.values[what+month].sd(), sd, 0.08*sd)
		}
		a, b := mean("wet spell")
		within(t, "wet spell"+month, a, b, 0.06*b)
		a, b = mean("dry spell")
		within(t, "dry spell"+month, a, b, 0.1*b) // October's end sooner than a chain's with its own chances
		a, b = mean("long dry spell")
		within(t, "long dry spells"+month, a, b, 0.2*b)
		for _, what := range []string{"monthly rain", "monthly high"} {
			sd := was.values[what+month].sd()
			within(t, "sd of "+what+month, is.values[what+month].sd(), sd, 0.3*sd)
		}
	}
}

// Drawn days of Champaign go together as recorded ones do, within a day and from day to day. [champaign-hourly]
func TestDrawnDaysGoTogetherAsRecorded(t *testing.T) {
	c := mustFit(t, champaign(t), weather.FitOptions{})
	step := c.Step[3]
	m0 := step.Covariance()
	m1 := product(step.A, m0)
	var z [][4]float64 // standardised by the climate, one autumn after the other
	var breaks []bool
	for _, days := range drawnAutumns(t, c, bondville, 300) {
		for k, d := range days {
			on := calendar.MustDay("2026-09-01").AddDays(k)
			status := btoi(d.wet())
			var x [4]float64
			for i, v := range [4]float64{d.high, d.low, d.dew, d.root} {
				x[i] = (v - c.Usual[status][i].On(on)) / math.Sqrt(c.Spread[status][i].On(on))
			}
			z, breaks = append(z, x), append(breaks, k == 0)
		}
	}
	names := [4]string{"high", "low", "dew point", "root of wind"}
	for i := range 4 {
		for j := range 4 {
			var today, other, late, before []float64
			for k := range z {
				today, other = append(today, z[k][i]), append(other, z[k][j])
				if !breaks[k] {
					late, before = append(late, z[k][i]), append(before, z[k-1][j])
				}
			}
			if j > i {
				within(t, names[i]+" with "+names[j], corr(today, other), m0[i][j], 0.05)
			}
			within(t, names[i]+" after "+names[j], corr(late, before), m1[i][j], 0.05)
		}
	}
}

// Hours of drawn autumns are damp, dry and windy as often as recorded ones, hour by hour. [champaign-hourly]
func TestDrawnHoursAreDampAsOftenAsRecorded(t *testing.T) {
	record := champaign(t)
	var recorded, drawn clockHours
	for year := 2003; year <= 2007; year++ {
		start := calendar.HourOf(time.Date(year, 9, 1, 0, 0, 0, 0, cst))
		first := int(start - record.Start)
		recorded.add(func(v weather.Var) []float32 { return record.V[v][first : first+91*24] })
		recorded.harvest(record.HarvestDays(weather.Days(start, start+91*24, cst)))
	}
	start := calendar.HourOf(time.Date(2026, 9, 1, 0, 0, 0, 0, cst))
	e := mustGenerate(t, mustFit(t, record, weather.FitOptions{}), weather.GenerateOptions{Start: start, Hours: 91 * 24, Members: 100, At: bondville},
		weather.LeadIn{Now: start, Zone: cst, Root: [32]byte{4}})
	for m := range e.Members {
		drawn.add(func(v weather.Var) []float32 { return e.Row(v, m) })
		drawn.harvest(e.HarvestDays(m, weather.Days(start, e.End(), cst)))
	}
	for h := range 24 {
		at := fmt.Sprintf(" at %02d", h)
		within(t, "humidity of 0.90"+at, drawn.humid[h].mean(), recorded.humid[h].mean(), 0.07)
		within(t, "humidity"+at, drawn.rh[h].mean(), recorded.rh[h].mean(), 0.05)
		within(t, "wind"+at, drawn.wind[h].mean(), recorded.wind[h].mean(), 0.3)
		within(t, "sun"+at, drawn.sun[h].mean(), recorded.sun[h].mean(), 40)
	}
	within(t, "hours to cut in", drawn.cut.mean(), recorded.cut.mean(), 0.5)
	within(t, "sd of hours to cut in", drawn.cut.sd(), recorded.cut.sd(), 0.5)
	within(t, "days with a window", drawn.window.mean(), recorded.window.mean(), 0.05)
	within(t, "hour of dew off", drawn.dewOff.mean(), recorded.dewOff.mean(), 0.7)
}

// clockHours are statistics by hour of the day.
type clockHours struct {
	humid, rh, wind, sun [24]sample
	cut, window, dewOff  sample
}

func (a *clockHours) add(row func(weather.Var) []float32) {
	temp, dew, wind, solar := row(weather.TempC), row(weather.DewC), row(weather.WindMS), row(weather.SolarWM2)
	for i := range temp {
		rh := weather.RelativeHumidity(float64(temp[i]), float64(dew[i]))
		if math.IsNaN(rh) {
			continue
		}
		a.humid[i%24].add(float64(btoi(rh >= 0.9)))
		a.rh[i%24].add(rh)
		a.wind[i%24].add(float64(wind[i]))
		a.sun[i%24].add(float64(solar[i]))
	}
}

func (a *clockHours) harvest(days []weather.HarvestDay) {
	for _, d := range days {
		a.cut.add(float64(d.Hours))
		a.window.add(float64(btoi(d.Window)))
		if d.DewOff >= 0 {
			a.dewOff.add(float64(d.DewOff))
		}
	}
}
