package weather_test

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// Whatever is said and seen, no member has a dew point above its temperature, rain below zero, or no number, and on days of
// 23 and 25 hours no more than on others.
func TestDrawnMembersKeepTheInvariants(t *testing.T) {
	record := champaign(t)
	climates := []*weather.Climate{weather.BuiltIn(), mustFitDays(t, milwaukee(t), weather.FitOptions{})}
	zone := central(t)
	rapid.Check(t, func(r *rapid.T) {
		first := calendar.MustDay(rapid.SampledFrom([]string{"2005-03-11", "2005-10-28", "2026-03-06", "2026-10-30", "2004-12-29"}).Draw(r, "from"))
		start := calendar.HourOf(first.Start(zone))
		o := weather.GenerateOptions{
			Start: start + calendar.Hour(rapid.IntRange(0, 30).Draw(r, "begins")), Hours: rapid.IntRange(1, 200).Draw(r, "hours"), Members: 3,
			At: weather.Spot{Lat: rapid.Float64Range(25, 60).Draw(r, "lat"), Lon: rapid.Float64Range(-105, -75).Draw(r, "lon")},
		}
		in := weather.LeadIn{Now: start + calendar.Hour(rapid.IntRange(-60, 100).Draw(r, "now")), Zone: zone, Root: [32]byte{byte(rapid.IntRange(0, 255).Draw(r, "root"))}}
		if rapid.Bool().Draw(r, "observed") {
			in.Observed = record
		}
		maybe := func(name string, lo, hi float64) *float64 {
			if rapid.Bool().Draw(r, name+" said") {
				return ptr(rapid.Float64Range(lo, hi).Draw(r, name))
			}
			return nil
		}
		for i := range rapid.IntRange(0, 8).Draw(r, "days") {
			in.Days = append(in.Days, weather.Ahead{
				On: first.AddDays(i), High: maybe("high", -20, 40), Low: maybe("low", -30, 25), Dew: maybe("dew", -40, 30), Wind: maybe("wind", 0, 15),
				Sky: maybe("sky", 0, 1), Rain: maybe("rain", 0, 1), Amount: maybe("amount", 0, 80), Late: rapid.IntRange(0, 3).Draw(r, "late"),
				Part: rapid.SampledFrom([]weather.Part{"", weather.AnyTime, weather.Night, weather.Morning, weather.Afternoon, weather.Evening}).Draw(r, "part"),
			})
		}
		checkHours(r, mustGenerate(t, rapid.SampledFrom(climates).Draw(r, "climate"), o, in))
	})
}

func checkHours(t interface{ Fatalf(string, ...any) }, e *weather.Ensemble) {
	for m := range e.Members {
		temp, dew, wind := e.Row(weather.TempC, m), e.Row(weather.DewC, m), e.Row(weather.WindMS, m)
		rain, sky, solar := e.Row(weather.RainMM, m), e.Row(weather.SkyFrac, m), e.Row(weather.SolarWM2, m)
		for h := range e.Hours {
			switch {
			case !(dew[h] <= temp[h]):
				t.Fatalf("member %d hour %d: dew point %v above %v", m, h, dew[h], temp[h])
			case !(temp[h] > -70 && temp[h] < 60 && dew[h] > -90):
				t.Fatalf("member %d hour %d: %v °C, dew point %v", m, h, temp[h], dew[h])
			case !(rain[h] >= 0 && rain[h] < 400), !(wind[h] >= 0 && wind[h] < 60), !(sky[h] >= 0 && sky[h] <= 1), !(solar[h] >= 0 && solar[h] < 1400):
				t.Fatalf("member %d hour %d: rain %v, wind %v, cloud %v, sun %v", m, h, rain[h], wind[h], sky[h], solar[h])
			}
		}
	}
}

// A small ensemble, to a hundredth, is the same everywhere and from release to release; a change here is a change of every plan.
func TestDrawnHoursAreTheKnownOnes(t *testing.T) {
	o, in := drawn(t, "2026-10-30", 5, 10)
	in.Days = []weather.Ahead{{On: calendar.MustDay("2026-10-31"), High: ptr(14), Low: ptr(3), Rain: ptr(0.4), Amount: ptr(6), Sky: ptr(0.7)}}
	e := mustGenerate(t, weather.BuiltIn(), o, in)
	sum := sha256.New()
	for v := range e.V {
		for _, x := range e.V[v] {
			var b [8]byte
			binary.LittleEndian.PutUint64(b[:], uint64(int64(math.Round(100*float64(x)))))
			sum.Write(b[:])
		}
	}
	const want = "84e9dfa8b9efbd439c757fdfe7691d1b3c7ac5b0449a7c5b87f82e425dec7ff3"
	if got := hex.EncodeToString(sum.Sum(nil)); got != want {
		t.Errorf("hash %s, want %s", got, want)
	}
}

func BenchmarkGenerateTwoWeeks(b *testing.B) { benchmarkGenerate(b, 14, 100) }
func BenchmarkGenerateASeason(b *testing.B)  { benchmarkGenerate(b, 90, 200) }

func benchmarkGenerate(b *testing.B, days, members int) {
	o, in := drawn(b, "2026-09-01", days, members)
	c := weather.BuiltIn()
	b.ReportAllocs()
	for b.Loop() {
		mustGenerate(b, c, o, in)
	}
}

func BenchmarkFit(b *testing.B) {
	record := champaign(b)
	b.ReportAllocs()
	for b.Loop() {
		mustFit(b, record, weather.FitOptions{})
	}
}
