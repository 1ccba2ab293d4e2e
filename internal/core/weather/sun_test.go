package weather_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
	"threshday/test/published"
)

func TestSunMatchesAlmanacs(t *testing.T) {
	published.Each(t, "sun", func(t *testing.T, r published.Row) {
		zone := time.FixedZone("local", r.Int("utc_offset")*3600)
		day := calendar.MustDay(r.Text("date"))
		got := weather.SunOn(day, weather.Spot{Lat: r.Float("lat"), Lon: r.Float("lon")})
		for _, event := range []struct {
			column string
			at     time.Time
		}{{"rise", got.Rise}, {"set", got.Set}} {
			if !r.Has(event.column) {
				continue
			}
			want, err := time.ParseInLocation("2006-01-02 15:04:05", day.String()+" "+r.Text(event.column), zone)
			if err != nil {
				t.Fatal(err)
			}
			if off := event.at.Sub(want).Abs(); off.Seconds() > r.Float("tol") {
				t.Errorf("%s: got %s, want %s [%s]", event.column, event.at.In(zone).Format(time.TimeOnly), r.Text(event.column), r.Text("source"))
			}
		}
	})
}

// elevationDeg is the height of the sun's centre by another, simpler theory, good to 0.01° from 1950 to 2050.
// [michalsky-1988]
func elevationDeg(t time.Time, at weather.Spot) float64 {
	rad := func(deg float64) float64 { return deg * math.Pi / 180 }
	n := float64(t.Unix())/86400 - 10957.5 // days since J2000.0
	mean := 280.460 + 0.9856474*n
	g := rad(357.528 + 0.9856003*n)
	lambda := rad(mean + 1.915*math.Sin(g) + 0.020*math.Sin(2*g))
	epsilon := rad(23.439 - 0.0000004*n)
	ascension := math.Atan2(math.Cos(epsilon)*math.Sin(lambda), math.Cos(lambda))
	decl := math.Asin(math.Sin(epsilon) * math.Sin(lambda))
	sidereal := 6.697375 + 0.0657098242*n + float64(t.Hour()) + float64(t.Minute())/60 + float64(t.Second())/3600
	hourAngle := rad(15*sidereal+at.Lon) - ascension
	sin := math.Sin(rad(at.Lat))*math.Sin(decl) + math.Cos(rad(at.Lat))*math.Cos(decl)*math.Cos(hourAngle)
	return math.Asin(sin) * 180 / math.Pi
}

func drawDay(t *rapid.T) calendar.Day {
	return calendar.MustDay("2000-01-01").AddDays(rapid.IntRange(0, 365*40).Draw(t, "day"))
}

func TestSunStandsAtTheHorizonByAnotherTheory(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := drawDay(t)
		at := weather.Spot{
			Lat: rapid.Float64Range(-60, 60).Draw(t, "lat"),
			Lon: rapid.Float64Range(-180, 180).Draw(t, "lon"),
		}
		sun := weather.SunOn(day, at)
		for _, event := range []time.Time{sun.Rise, sun.Set} {
			if e := elevationDeg(event, at); math.Abs(e+0.833) > 0.03 {
				t.Fatalf("%v: the sun stands at %.3f° at %v", day, e, event)
			}
		}
		if !sun.Rise.Before(sun.Noon) || !sun.Noon.Before(sun.Set) {
			t.Fatalf("%v: rise %v, noon %v, set %v", day, sun.Rise, sun.Noon, sun.Set)
		}
		meanNoon := time.Date(day.Year, day.Month, day.Date, 12, 0, 0, 0, time.UTC).
			Add(time.Duration(-at.Lon * 4 * float64(time.Minute)))
		if off := sun.Noon.Sub(meanNoon).Abs(); off > 17*time.Minute {
			t.Fatalf("%v: noon is %v off the mean sun's", day, off)
		}
	})
}

func TestPolarDaysSayWhyThereIsNoSunrise(t *testing.T) {
	for _, c := range []struct {
		day            string
		lat            float64
		night, allDay  bool
		risesAndItSets bool
	}{
		{"2026-06-21", 70, false, true, false},
		{"2026-12-21", 70, true, false, false},
		{"2026-06-21", -70, true, false, false},
		{"2026-12-21", -70, false, true, false},
		{"2026-06-21", 90, false, true, false},
		{"2026-12-21", 90, true, false, false},
		{"2026-03-25", 70, false, false, true},
		{"2026-06-21", 0, false, false, true},
	} {
		got := weather.SunOn(calendar.MustDay(c.day), weather.Spot{Lat: c.lat, Lon: 20})
		if got.NeverRises != c.night || got.NeverSets != c.allDay || (!got.Rise.IsZero() && !got.Set.IsZero()) != c.risesAndItSets {
			t.Errorf("%s at %g°: %+v", c.day, c.lat, got)
		}
	}
}

func TestSunNowherePanics(t *testing.T) {
	day := calendar.MustDay("2026-06-21")
	for _, at := range []weather.Spot{{Lat: 91}, {Lon: 200}, {Lat: math.NaN()}} {
		mustPanic(t, "a place off the Earth", func() { weather.SunOn(day, at) })
	}
}

func ExampleSunOn() {
	zone := time.FixedZone("CDT", -5*3600)
	sun := weather.SunOn(calendar.MustDay("2026-10-15"), weather.Spot{Lat: 42, Lon: -93.6})
	for _, event := range []time.Time{sun.Rise, sun.Set} {
		fmt.Println(event.Round(time.Minute).In(zone).Format("15:04"))
	}
	// Output:
	// 07:27
	// 18:33
}

func BenchmarkSunOn(b *testing.B) {
	b.ReportAllocs()
	day := calendar.MustDay("2026-10-15")
	for b.Loop() {
		if weather.SunOn(day, weather.Spot{Lat: 42, Lon: -93.6}).NeverSets {
			b.Fatal("polar day at 42°")
		}
	}
}
