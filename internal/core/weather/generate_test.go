package weather_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// drawn is a generation of some days from midnight of a date on the farm's clock, from the built-in climate.
func drawn(t testing.TB, day string, days, members int) (weather.GenerateOptions, weather.LeadIn) {
	t.Helper()
	zone := central(t)
	start := calendar.HourOf(calendar.MustDay(day).Start(zone))
	end, _ := calendar.MustDay(day).AddDays(days).Hours(zone)
	return weather.GenerateOptions{Start: start, Hours: int(end - start), Members: members, At: bondville},
		weather.LeadIn{Now: start, Zone: zone, Root: [32]byte{7}}
}

func TestDrawnMemberIsTheSameForAnyNumberAndOnAnyWorkers(t *testing.T) {
	o, in := drawn(t, "2026-09-14", 20, 50)
	few := mustGenerate(t, weather.BuiltIn(), o, in)
	o.Members = 120
	both := make([]*weather.Ensemble, 2)
	var wg sync.WaitGroup
	for i := range both {
		wg.Add(1)
		go func() {
			defer wg.Done()
			both[i], _ = weather.BuiltIn().Generate(o, in)
		}()
	}
	wg.Wait()
	for v := range weather.Var(weather.NVar) {
		if !slices.Equal(both[0].V[v], both[1].V[v]) {
			t.Fatalf("%s differs between two runs", v)
		}
		for m := range few.Members {
			if !slices.Equal(few.Row(v, m), both[0].Row(v, m)) {
				t.Fatalf("%s of member %d differs between 50 and 120 members", v, m)
			}
		}
	}
}

// Tomorrow's plan sees the same weather: a day's draws do not know on which day the plan was made.
func TestPlanningAgainDrawsTheSameWeather(t *testing.T) {
	o, in := drawn(t, "2026-09-14", 30, 40)
	today := mustGenerate(t, weather.BuiltIn(), o, in)
	late, again := drawn(t, "2026-09-16", 28, 40)
	morning := mustGenerate(t, weather.BuiltIn(), late, again)
	skip := int(late.Start - o.Start)
	other := 0
	for m := range today.Members {
		for d := 3; d < 28; d++ {
			a, b := today.Summary(m, skip+24*d, skip+24*d+24), morning.Summary(m, 24*d, 24*d+24)
			if a.Wet() != b.Wet() {
				other++
			} else if math.Abs(a.High-b.High) > 0.3 || math.Abs(a.Dew-b.Dew) > 0.3 {
				t.Fatalf("member %d, %d days on: high %.2f and %.2f, dew point %.2f and %.2f", m, d, a.High, b.High, a.Dew, b.Dew)
			}
		}
	}
	if other > 5 { // chains of wet and dry days that had not met yet
		t.Errorf("%d of %d days are wet in one plan and dry in the other", other, 40*25)
	}
	in.Root = [32]byte{8}
	if slices.Equal(mustGenerate(t, weather.BuiltIn(), o, in).Row(weather.TempC, 0), today.Row(weather.TempC, 0)) {
		t.Error("another seed gives the same weather")
	}
}

func TestForecastMovesMembersWithoutShufflingThem(t *testing.T) {
	o, in := drawn(t, "2026-10-05", 12, 300)
	before := mustGenerate(t, weather.BuiltIn(), o, in)
	for day := 6; day <= 8; day++ { // the dew point of an hour lies between two days'
		on := calendar.Day{Year: 2026, Month: 10, Date: day}
		in.Days = append(in.Days, weather.Ahead{On: on, High: ptr(26), Low: ptr(13), Dew: ptr(11), Wind: ptr(4)})
	}
	after := mustGenerate(t, weather.BuiltIn(), o, in)
	root := func(d weather.DayAir) float64 { return math.Sqrt(d.Wind) }
	for _, c := range []struct {
		name    string
		of      func(weather.DayAir) float64
		want, s float64
		tol     float64
	}{{"high", high, 26, .43, 0.2}, {"low", low, 13, .43, 0.2}, {"dew point", dew, 11, .50, 0.5}, {"root of wind", root, 2, .70, 0.03}} {
		mean, sd := spread(after, 48, 72, c.of)
		_, was := spread(before, 48, 72, c.of)
		if math.Abs(mean-c.want) > c.tol {
			t.Errorf("%s: members surround %.2f, want the forecast %.2f", c.name, mean, c.want)
		}
		if math.Abs(sd/was-c.s) > 0.05 {
			t.Errorf("%s: spread %.2f of the season's, want %.2f", c.name, sd/was, c.s)
		}
	}
	var x, y []float64
	for m := range before.Members {
		x = append(x, before.Summary(m, 48, 72).High)
		y = append(y, after.Summary(m, 48, 72).High)
	}
	if r := corr(x, y); r < 0.98 {
		t.Errorf("members' highs before and after the forecast correlate by %.3f: they were shuffled", r)
	}
}

func corr(x, y []float64) float64 {
	n := float64(len(x))
	var mx, my, xx, yy, xy float64
	for i := range x {
		mx, my = mx+x[i]/n, my+y[i]/n
	}
	for i := range x {
		xx += (x[i] - mx) * (x[i] - mx)
		yy += (y[i] - my) * (y[i] - my)
		xy += (x[i] - mx) * (y[i] - my)
	}
	return xy / math.Sqrt(xx*yy)
}

// What a forecast said fades as the climate forgets: no day is thrown back to the usual at once.
func TestForecastFadesWhereItEnds(t *testing.T) {
	o, in := drawn(t, "2026-10-05", 12, 400)
	usual := mustGenerate(t, weather.BuiltIn(), o, in)
	for i := range 3 {
		mean, _ := spread(usual, 24*i, 24*i+24, high)
		low, _ := spread(usual, 24*i, 24*i+24, low)
		in.Days = append(in.Days, weather.Ahead{On: calendar.MustDay("2026-10-05").AddDays(i), High: ptr(mean + 8), Low: ptr(low + 8)})
	}
	warm := mustGenerate(t, weather.BuiltIn(), o, in)
	last := 8.0
	for d := 3; d < 10; d++ {
		a, _ := spread(warm, 24*d, 24*d+24, high)
		b, _ := spread(usual, 24*d, 24*d+24, high)
		if above := a - b; above < 0.2*last-0.1 || above > last {
			t.Errorf("day %d: %.2f °C above the usual, the day before %.2f", d+1, above, last)
		}
		last = a - b
	}
	if last > 1 {
		t.Errorf("a week after the forecast members are still %.2f °C warmer", last)
	}
}

// A forecast low without a word of dew makes a damp warm night, as in the climate.
func TestWhatIsNotForecastFollows(t *testing.T) {
	o, in := drawn(t, "2026-10-05", 4, 300)
	usual, _ := spread(mustGenerate(t, weather.BuiltIn(), o, in), 24, 48, dew)
	in.Days = []weather.Ahead{{On: calendar.MustDay("2026-10-06"), High: ptr(28), Low: ptr(18)}} // 9 °C warmer than usual
	warm, _ := spread(mustGenerate(t, weather.BuiltIn(), o, in), 24, 48, dew)
	if warm-usual < 6 || warm-usual > 12 {
		t.Errorf("the dew point rises by %.1f °C with a night 9 °C warmer", warm-usual)
	}
}

func TestChanceOfRainIsMetAndWetDaysStillFollowWetDays(t *testing.T) {
	o, in := drawn(t, "2026-10-05", 6, 2000)
	chances := []float64{0.6, 0.3, 0.7, 0.5}
	for i, p := range chances {
		in.Days = append(in.Days, weather.Ahead{On: calendar.MustDay("2026-10-05").AddDays(i), Rain: ptr(p)})
	}
	e := mustGenerate(t, weather.BuiltIn(), o, in)
	wet := func(m, d int) bool { return e.Summary(m, 24*d, 24*d+24).Wet() }
	table := weather.DefaultErrors()
	for d, p := range chances {
		n, after, afterWet := 0.0, 0.0, 0.0
		for m := range e.Members {
			if wet(m, d) {
				n++
			}
			if d > 0 && wet(m, d-1) {
				after++
				if wet(m, d) {
					afterWet++
				}
			}
		}
		want := 0.32 + table.Rain[d]*(p-0.32) // October days near Champaign are wet in 32 of 100
		if got := n / float64(e.Members); math.Abs(got-want) > 0.035 {
			t.Errorf("day %d: %.3f of the members wet, want %.3f", d+1, got, want)
		}
		if d > 0 && afterWet/after < want+0.03 {
			t.Errorf("day %d: %.3f wet after a wet day, %.3f over all: persistence is lost", d+1, afterWet/after, want)
		}
	}
}

func TestAmountAndPartOfTheDayOfForecastRain(t *testing.T) {
	o, in := drawn(t, "2026-10-05", 3, 2000)
	in.Days = []weather.Ahead{{On: calendar.MustDay("2026-10-06"), Rain: ptr(0.9), Amount: ptr(20), Part: weather.Morning}}
	e := mustGenerate(t, weather.BuiltIn(), o, in)
	var total, wet, morning float64
	for m := range e.Members {
		d := e.Summary(m, 24, 48)
		if !d.Wet() {
			continue
		}
		wet++
		total += d.Rain
		if e.Summary(m, 24+6, 24+18).Rain > 0.7*d.Rain {
			morning++
		}
	}
	if mean := total / wet; mean < 17 || mean > 22 { // 0.95 of 20 mm and 0.05 of the season's 7
		t.Errorf("mean rain of wet members %.1f mm, want about 19", mean)
	}
	if morning/wet < 0.75 {
		t.Errorf("%.2f of the wet members rain in the morning", morning/wet)
	}
}

// Observed hours stand in every member; the members set out from them and forget them.
func TestMembersSetOutFromWhatWasObserved(t *testing.T) {
	record := champaign(t)
	o, in := drawn(t, "2005-10-05", 25, 200)
	usual := mustGenerate(t, weather.BuiltIn(), o, in)
	o.Start -= 48
	o.Hours += 48
	in.Observed, in.Now = record, in.Now+10
	e := mustGenerate(t, weather.BuiltIn(), o, in)
	now := int(in.Now - e.Start)
	for v := range weather.Var(weather.NVar) {
		for m := range e.Members {
			for h := range now {
				if x, ok := record.At(v, e.Start+calendar.Hour(h)); ok && e.Row(v, m)[h] != float32(x) {
					t.Fatalf("%s of member %d in observed hour %d: %v, want %v", v, m, h, e.Row(v, m)[h], x)
				}
			}
		}
	}
	last, _ := record.At(weather.TempC, in.Now-1)
	_, near := hourSpread(e, now)
	_, far := hourSpread(e, now+24*15)
	mean, _ := hourSpread(e, now)
	if math.Abs(mean-last) > 3 || near > 0.6*far {
		t.Errorf("the first hour: mean %.1f after %.1f, spread %.2f against %.2f two weeks on", mean, last, near, far)
	}
	a, _ := spread(e, 48+24*20, 48+24*21, high)
	b, _ := spread(usual, 24*20, 24*21, high)
	if math.Abs(a-b) > 0.3 {
		t.Errorf("three weeks on the mean high is %.2f, without what was observed %.2f", a, b)
	}
	if !strings.Contains(e.Note, "observed up to 2005-10-05 10:00") {
		t.Errorf("the note does not say what was observed: %s", e.Note)
	}
}

func hourSpread(e *weather.Ensemble, hour int) (mean, sd float64) {
	for m := range e.Members {
		mean += float64(e.Row(weather.TempC, m)[hour]) / float64(e.Members)
	}
	for m := range e.Members {
		sd += math.Pow(float64(e.Row(weather.TempC, m)[hour])-mean, 2) / float64(e.Members)
	}
	return mean, math.Sqrt(sd)
}

// A record that ended long ago says nothing of now.
func TestAnOldRecordIsNotTakenForObserved(t *testing.T) {
	o, in := drawn(t, "2026-10-05", 5, 300)
	plain := mustGenerate(t, weather.BuiltIn(), o, in)
	in.Observed = champaign(t)
	e := mustGenerate(t, weather.BuiltIn(), o, in)
	for v := range e.V {
		if !slices.Equal(plain.V[v], e.V[v]) {
			t.Fatalf("%s differs", weather.Var(v))
		}
	}
	if plain.Note != e.Note || strings.Contains(e.Note, "observed") {
		t.Error(e.Note)
	}
}

func TestBuiltInClimateSaysSo(t *testing.T) {
	o, in := drawn(t, "2026-10-05", 2, 3)
	if note := mustGenerate(t, weather.BuiltIn(), o, in).Note; !strings.Contains(note, "not from a record of this place") {
		t.Error(note)
	}
	o, in = drawn(t, "2026-10-05", 2, 3)
	note := mustGenerate(t, mustFit(t, champaign(t), weather.FitOptions{}), o, in).Note
	if !strings.Contains(note, "1818 recorded days, 2003 to 2007") {
		t.Error(note)
	}
	note = mustGenerate(t, mustFit(t, champaign(t), weather.FitOptions{Exclude: []int{2004, 2012}}), o, in).Note
	if !strings.Contains(note, "2003 to 2007 without 2004") {
		t.Error(note)
	}
	in.Days = []weather.Ahead{{On: calendar.MustDay("2026-10-05"), High: ptr(20)}, {On: calendar.MustDay("2026-10-05"), High: ptr(25)}}
	if _, err := weather.BuiltIn().Generate(o, in); !errors.Is(err, weather.ErrTwoForecasts) {
		t.Errorf("got %v", err)
	}
}

// A day of 23 or 25 hours has its low in the morning and its high in the afternoon like any other.
func TestDrawnDaysOfTheChangeOfClocks(t *testing.T) {
	for _, c := range []struct {
		day   string
		hours int
	}{{"2026-03-08", 23}, {"2026-11-01", 25}} {
		o, in := drawn(t, c.day, 1, 400)
		if o.Hours != c.hours {
			t.Fatalf("%s: %d hours", c.day, o.Hours)
		}
		e := mustGenerate(t, weather.BuiltIn(), o, in)
		var temp [25]float64
		for m := range e.Members {
			for h, x := range e.Row(weather.TempC, m) {
				temp[h] += float64(x) / float64(e.Members)
			}
		}
		coldest, warmest := 0, 0
		for h := range c.hours {
			if temp[h] < temp[coldest] {
				coldest = h
			}
			if temp[h] > temp[warmest] {
				warmest = h
			}
		}
		if coldest < 4 || coldest > 8 || warmest < 13 || warmest > 17 {
			t.Errorf("%s: coldest in hour %d, warmest in hour %d", c.day, coldest, warmest)
		}
	}
}
