package weather_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
	"threshday/test/published"
)

func TestTheCurveOfADay(t *testing.T) {
	published.Each(t, "daycurve", func(_ *testing.T, r published.Row) {
		c := weather.DayCurve{
			Low: r.Float("low"), High: r.Float("high"), NextLow: r.Float("next_low"),
			Rise: r.Float("rise"), Set: r.Float("set"), NextRise: r.Float("rise") + 24, Shape: weather.DefaultTempShape(),
		}
		r.Check("want", c.At(r.Float("t")))
	})
}

var illinois = weather.Station{At: &weather.Spot{Lat: 40, Lon: -88}, Standard: -6 * time.Hour}

// record draws some days of an autumn as a station writes them down.
func record(t *rapid.T) []weather.DayRecord {
	n := rapid.IntRange(3, 20).Draw(t, "days")
	out := make([]weather.DayRecord, n)
	for i := range out {
		low := rapid.Float64Range(-10, 20).Draw(t, "low")
		span := rapid.Float64Range(0, 20).Draw(t, "range")
		out[i] = weather.DayRecord{On: calendar.MustDay("2024-09-20").AddDays(i), Low: ptr(low), High: ptr(low + span)}
		if rapid.Bool().Draw(t, "wet") {
			out[i].Rain = ptr(rapid.Float64Range(0.1, 60).Draw(t, "rain"))
		} else {
			out[i].Rain = ptr(0.0)
		}
	}
	return out
}

// Hours of days keep what the days said: the total of rain, a temperature between the lows and highs around, and a
// dew point no higher. Nothing counts as observed.
func TestHoursKeepWhatTheDaysSaid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		days := record(t)
		s, _ := weather.FromDays(days, illinois)
		if s.Len() != 24*len(days) {
			t.Fatalf("%d hours of %d days", s.Len(), len(days))
		}
		for i, d := range days {
			rain := 0.0
			low, high := *d.Low, *d.High
			for _, beside := range days[max(0, i-1):min(len(days), i+2)] {
				low, high = min(low, *beside.Low), max(high, *beside.High)
			}
			for h := 24 * i; h < 24*i+24; h++ {
				temp, dew := float64(s.V[weather.TempC][h]), float64(s.V[weather.DewC][h])
				if !(temp > low-1e-4 && temp < high+1e-4) {
					t.Fatalf("day %d hour %d: %.3f outside %.3f to %.3f", i, h-24*i, temp, low, high)
				}
				if !(dew <= temp) {
					t.Fatalf("day %d hour %d: dew point %.2f above %.2f", i, h-24*i, dew, temp)
				}
				rain += float64(s.V[weather.RainMM][h])
			}
			if math.Abs(rain-*d.Rain) > 1e-4 {
				t.Fatalf("day %d: %.4f mm of %.4f", i, rain, *d.Rain)
			}
		}
		for v := range s.From {
			for h, from := range s.From[v] {
				if from != weather.Filled {
					t.Fatalf("%s of hour %d has origin %d", weather.Var(v), h, from)
				}
			}
		}
	})
}

func steady(n int) []weather.DayRecord {
	out := make([]weather.DayRecord, n)
	for i := range out {
		out[i] = weather.DayRecord{On: calendar.MustDay("2024-09-20").AddDays(i), Low: ptr(8.0), High: ptr(22.0), Rain: ptr(0.0)}
	}
	return out
}

func TestTheHighComesInTheAfternoonAndTheLowAtDawn(t *testing.T) {
	s, _ := weather.FromDays(steady(5), illinois)
	day := s.Summary(s.Start+48, s.Start+72)
	// 26 September at 40° N 88° W: the sun rises at 5:45 and stands highest at 11:43 standard time; the high comes
	// 2.07 h after, the low 0.54 h after sunrise. On the hour: 14 and 6, a little off both.
	if day.HighAt != 14 || day.LowAt != 6 || math.Abs(day.High-22) > 0.1 || math.Abs(day.Low-8) > 0.15 {
		t.Errorf("high %.2f at %d h, low %.2f at %d h", day.High, day.HighAt, day.Low, day.LowAt)
	}
}

func TestMissingDaysAreBridgedOrStayMissing(t *testing.T) {
	days := steady(12)
	days[3].High = nil // a gap that is bridged
	days[7].High, days[8].High, days[9].High = nil, nil, nil
	days[5].Rain = nil
	s, filled := weather.FromDays(days, illinois)
	known := func(v weather.Var, day int) bool {
		_, ok := s.At(v, s.Start+calendar.Hour(24*day+14))
		return ok
	}
	for _, c := range []struct {
		v    weather.Var
		day  int
		want bool
	}{{weather.TempC, 3, true}, {weather.TempC, 8, false}, {weather.TempC, 11, true}, {weather.RainMM, 5, false}, {weather.RainMM, 6, true}} {
		if got := known(c.v, c.day); got != c.want {
			t.Errorf("%s of day %d known: %v, want %v", c.v, c.day, got, c.want)
		}
	}
	rules := map[string]bool{}
	for _, f := range filled {
		rules[f.Rule] = f.Assumed
	}
	for _, rule := range []string{"temp_c.days-bridged", "temp_c.from-days", "dew_c.drawn", "wind_ms.none", "sky_frac.from-range"} {
		if assumed, ok := rules[rule]; !ok || !assumed {
			t.Errorf("%s is not told as an assumption", rule)
		}
	}
}

// Where nothing tells humidity, nights are damp as often as they are: Td − Tmin of −2.6, −0.2 and 0.7 °C on 55, 32 and
// 13 of a hundred nights [champaign-hourly] have a mean of −1.40 °C.
func TestDewIsDrawnAsOftenAsNightsHaveIt(t *testing.T) {
	days := steady(2000)
	s, _ := weather.FromDays(days, illinois)
	off := 0.0
	for i := range days {
		off += float64(s.V[weather.DewC][24*i+12]) - 8
	}
	if off /= float64(len(days)); math.Abs(off+1.40) > 0.1 {
		t.Errorf("mean dew point %.3f °C from the low, want -1.40 within three standard errors, 0.1", off)
	}
}

func TestDewPointsThatWereMeasuredAreKept(t *testing.T) {
	days := steady(4)
	for i := range days {
		days[i].Dew = ptr(float64(i))
	}
	s, _ := weather.FromDays(days, illinois)
	for _, c := range []struct{ hour, want float64 }{{36, 1}, {48, 1.5}, {60, 2}} {
		if got := float64(s.V[weather.DewC][int(c.hour)]); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("hour %.0f: %.3f, want %.1f", c.hour, got, c.want)
		}
	}
}

// A range of 12 °C lets through 0.16·√12 = 0.554 of the sun above the air ([fao-56] eq. 50), 0.739 of a clear sky's
// 0.75, which is a cover of (1−0.739)·1.5 = 0.392.
func TestCloudFromTheRangeOfADay(t *testing.T) {
	days := steady(3)
	for i := range days {
		days[i].High = ptr(20.0)
	}
	s, _ := weather.FromDays(days, illinois)
	if got := float64(s.V[weather.SkyFrac][36]); math.Abs(got-0.392) > 0.001 {
		t.Errorf("cover %.4f, want 0.392", got)
	}
}

func TestTheSameDaysGiveTheSameHours(t *testing.T) {
	days := steady(30)
	for i := range days {
		days[i].Rain = ptr(float64(i % 4))
	}
	a, _ := weather.FromDays(days, illinois)
	days[0], days[29] = days[29], days[0]
	b, _ := weather.FromDays(days, illinois)
	for v := range a.V {
		for i := range a.V[v] {
			if a.V[v][i] != b.V[v][i] {
				t.Fatalf("%s of hour %d: %v and %v", weather.Var(v), i, a.V[v][i], b.V[v][i])
			}
		}
	}
}

func BenchmarkFromDays(b *testing.B) {
	days := steady(365)
	b.ReportAllocs()
	for b.Loop() {
		weather.FromDays(days, illinois)
	}
}
