package quantity_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/feeds/quantity"
)

// Each parser in base units: m, kg, m/s, °C, bu/ac of a 60 lb bushel, m³, s, hundred-thousandths of a dollar, percent.
var parsers = map[string]func(string) (float64, error){
	"length":   func(s string) (float64, error) { v, err := quantity.ParseLength("Width", s); return float64(v), err },
	"distance": func(s string) (float64, error) { v, err := quantity.ParseDistance("Way", s); return float64(v), err },
	"mass":     func(s string) (float64, error) { v, err := quantity.ParseMass("Gross", s); return float64(v), err },
	"speed":    func(s string) (float64, error) { v, err := quantity.ParseSpeed("Speed", s); return float64(v), err },
	"volume":   func(s string) (float64, error) { v, err := quantity.ParseVolume("Tank", s); return float64(v), err },
	"temp": func(s string) (float64, error) {
		v, err := quantity.ParseTemperature("High", s)
		return v.Celsius(), err
	},
	"time":    func(s string) (float64, error) { v, err := quantity.ParseDuration("Wait", s); return v.Seconds(), err },
	"price":   func(s string) (float64, error) { v, err := quantity.ParsePrice("Bid", s, "bu"); return float64(v), err },
	"miles":   func(s string) (float64, error) { return quantity.ParseMiles("Way", s) },
	"mph":     func(s string) (float64, error) { return quantity.ParseMilesPerHour("Loaded", s) },
	"minutes": func(s string) (float64, error) { return quantity.ParseMinutes("Queue", s) },
	"percent": func(s string) (float64, error) { return quantity.ParsePercent("Lodged", s) },
	"number":  func(s string) (float64, error) { return quantity.ParseNumber("Count", s) },
	"yield": func(s string) (float64, error) {
		y, err := quantity.ParseYield("Yield", s)
		return y.BushelsPerAcre(60 * units.Pound), err
	},
}

// Conversions use the exact factors of NIST Handbook 44, appendix C, worked by hand where the digits show it.
func TestQuantitiesCarryTheirUnit(t *testing.T) {
	for _, c := range []struct {
		kind, text string
		want       float64
		rule       string // of the refusal; empty: accepted
	}{
		{"length", "35ft", 10.668, ""},
		{"length", "35 FT", 10.668, ""},
		{"length", "10.7m", 10.7, ""},
		{"length", "30in", 0.762, ""},
		{"length", "75cm", 0.75, ""},
		{"length", "13ft6in", 4.1148, ""},
		{"length", "13 ft 6 in", 4.1148, ""},
		{"length", "13'", 3.9624, ""},
		{"length", "35", 0, "unit.missing"},
		{"length", "-35ft", 0, "number.range"},
		{"length", "35yd", 0, "unit.unknown"},
		{"length", "ft", 0, "number.form"},
		{"length", "wide", 0, "number.form"},
		{"length", "1e3ft", 0, "unit.unknown"},
		{"length", "10,7m", 0, "number.form"},
		{"length", "13ft14in", 0, "number.form"},
		{"length", "13ft6", 0, "number.form"},
		{"length", "13ft-6in", 0, "number.form"},
		{"length", "", 0, "number.form"},
		{"length", "NaNft", 0, "number.form"},
		{"length", "35mph", 0, "unit.unknown"},
		{"distance", "18mi", 28968.192, ""},
		{"distance", "29km", 29000, ""},
		{"distance", "18", 0, "unit.missing"},
		{"miles", "18mi", 18, ""},
		{"miles", "1.609344km", 1, ""},
		{"miles", "18", 0, "unit.missing"},
		{"mph", "45mph", 45, ""},
		{"mph", "72.42048km/h", 45, ""},
		{"minutes", "12min", 12, ""},
		{"minutes", "90s", 1.5, ""},
		{"mass", "80000lb", 36287.3896, ""},
		{"mass", "80,000 lbs", 36287.3896, ""},
		{"mass", "36.3t", 36300, ""},
		{"mass", "450kg", 450, ""},
		{"mass", "8,0000lb", 0, "number.form"},
		{"mass", "80000", 0, "unit.missing"},
		{"mass", "40ton", 0, "unit.unknown"},
		{"speed", "4.5mph", 2.01168, ""},
		{"speed", "7.2km/h", 2, ""},
		{"speed", "2m/s", 2, ""},
		{"speed", "4.5", 0, "unit.missing"},
		{"volume", "100gal", 0.3785411784, ""},
		{"volume", "378.5411784L", 0.3785411784, ""},
		{"volume", "1000ft3", 28.316846592, ""},
		{"volume", "1.5m3", 1.5, ""},
		{"temp", "77F", 25, ""},
		{"temp", "25C", 25, ""},
		{"temp", "-40 °F", -40, ""},
		{"temp", "32f", 0, ""},
		{"temp", "77", 0, "unit.missing"},
		{"temp", "300K", 0, "unit.unknown"},
		{"temp", "-460F", 0, "number.range"},
		{"temp", "warm", 0, "number.form"},
		{"time", "12min", 720, ""},
		{"time", "1.5h", 5400, ""},
		{"time", "45s", 45, ""},
		{"time", "1h30min", 5400, ""},
		{"time", "1 h 30 min", 5400, ""},
		{"time", "12", 0, "unit.missing"},
		{"time", "-5min", 0, "number.range"},
		{"time", "-1h30min", 0, "number.form"},
		{"time", "9000h", 0, "number.range"},
		{"time", "3weeks", 0, "unit.unknown"},
		{"yield", "55bu/ac", 55, ""},
		{"yield", "55 bu/acre", 55, ""},
		{"yield", "3.7t/ha", 55.0177124998817, ""}, // 3700 kg / 0.45359237 / 60 lb / (10000/4046.8564224) acres
		{"yield", "3700kg/ha", 55.0177124998817, ""},
		{"yield", "3300lb/ac", 55, ""},
		{"yield", "55", 0, "unit.missing"},
		{"yield", "55bu/ha", 0, "unit.unknown"},
		{"yield", "-55bu/ac", 0, "number.range"},
		{"yield", "-3t/ha", 0, "number.range"},
		{"yield", "5,5t/ha", 0, "number.form"},
		{"price", "$9.87", 987000, ""},
		{"price", "$9.8725/bu", 987250, ""},
		{"price", "$0.00125", 125, ""},
		{"price", "-35c", -35000, ""},
		{"price", "−35¢", -35000, ""},
		{"price", "-$0.35", -35000, ""},
		{"price", "35c / bu", 35000, ""},
		{"price", "$1,250.00", 125000000, ""},
		{"price", "9.87", 0, "unit.missing"},
		{"price", "$9.87/t", 0, "unit.unknown"},
		{"price", "$9.8725001", 0, "price.precision"},
		{"price", "$x", 0, "price.form"},
		{"price", "free", 0, "price.form"},
		{"price", "", 0, "price.form"},
		{"percent", "12", 12, ""},
		{"percent", "12.5 %", 12.5, ""},
		{"percent", "a lot", 0, "percent.form"},
		{"number", "1,250.5", 1250.5, ""},
		{"number", "+7", 7, ""},
		{"number", "-0", 0, ""},
		{"number", "0x10", 0, "number.form"},
		{"number", "--7", 0, "number.form"},
		{"number", "7.", 0, "number.form"},
		{"number", ".7", 0, "number.form"},
		{"number", "1e9", 0, "number.form"},
		{"number", "Inf", 0, "number.form"},
		{"number", strings.Repeat("9", 309), 0, "number.form"}, // 1e309 is no float64
		{"number", ",280", 0, "number.form"},
		{"number", "1,2345", 0, "number.form"},
		{"number", strings.Repeat("9", 401), 0, "number.form"},
	} {
		t.Run(c.kind+" "+c.text, func(t *testing.T) {
			got, err := parsers[c.kind](c.text)
			var refusal *problem.InputError
			if errors.As(err, &refusal) {
				if refusal.Rule != c.rule {
					t.Errorf("refused by %q, want %q: %v", refusal.Rule, c.rule, err)
				}
				if refusal.Label == "" || refusal.Want == "" {
					t.Errorf("%q says too little", err)
				}
				return
			}
			if err != nil || c.rule != "" {
				t.Fatalf("got %v, %v, want a refusal by %q", got, err, c.rule)
			}
			if math.Abs(got-c.want) > 1e-6*math.Abs(c.want)+1e-12 {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

// What is written is what a person would write.
func TestQuantitiesAreWrittenInTheirShortestUnit(t *testing.T) {
	metric, err := quantity.ParseYield("Yield", "3.7t/ha")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ got, want string }{
		{quantity.FormatLength(35 * units.Foot), "35ft"},
		{quantity.FormatLength(31 * units.Inch), "31in"},
		{quantity.FormatLength(10.7), "10.7m"},
		{quantity.FormatLength(13.5 * units.Foot), "13.5ft"},
		{quantity.FormatDistance(18 * units.Mile), "18mi"},
		{quantity.FormatDistance(29 * units.Kilometer), "29km"},
		{quantity.FormatMass(80000 * units.Pound), "80000lb"},
		{quantity.FormatMass(36.3 * units.Tonne), "36.3t"},
		{quantity.FormatSpeed(4.5 * units.MilePerHour), "4.5mph"},
		{quantity.FormatSpeed(7.2 * units.KilometerPerHour), "7.2km/h"},
		{quantity.FormatTemperature(units.Fahrenheit(77)), "77F"},
		{quantity.FormatTemperature(units.Fahrenheit(71)), "71F"},
		{quantity.FormatTemperature(units.Celsius(24.5)), "24.5C"},
		{quantity.FormatDuration(12 * time.Minute), "12min"},
		{quantity.FormatDuration(90 * time.Minute), "90min"},
		{quantity.FormatDuration(2 * time.Hour), "2h"},
		{quantity.FormatDuration(45 * time.Second), "45s"},
		{quantity.FormatYield(55, 60*units.Pound), "55bu/ac"},
		{quantity.FormatYield(55, 0), "55bu/ac"},
		{quantity.FormatYield(metric.BushelsPerAcre(60*units.Pound), 60*units.Pound), "3.7t/ha"},
		{quantity.FormatPrice(987000), "$9.87"},
		{quantity.FormatPrice(987250), "$9.8725"},
		{quantity.FormatPrice(-35000), "-35c"},
		{quantity.FormatPrice(-135000), "-$1.35"},
		{quantity.FormatPrice(0), "$0"},
		{quantity.FormatPrice(18000000), "$180"},
		{quantity.FormatPercent(12.5), "12.5%"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

// Writing and reading gives the same bits, whatever the number.
func TestEveryQuantitySurvivesThePaper(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(0, 1e6).Draw(t, "x")
		same := func(what, text string, want, got float64, err error) {
			if err != nil || got != want {
				t.Errorf("%s %v is written %q and read as %v, %v", what, want, text, got, err)
			}
		}
		for what, format := range map[string]func(float64) string{
			"length":   func(x float64) string { return quantity.FormatLength(units.Length(x)) },
			"distance": func(x float64) string { return quantity.FormatDistance(units.Length(x)) },
			"mass":     func(x float64) string { return quantity.FormatMass(units.Mass(x)) },
			"speed":    func(x float64) string { return quantity.FormatSpeed(units.Speed(x)) },
			"volume":   func(x float64) string { return quantity.FormatVolume(units.Volume(x)) },
			"miles":    quantity.FormatMiles,
			"mph":      quantity.FormatMilesPerHour,
			"minutes":  quantity.FormatMinutes,
			"yield":    func(x float64) string { return quantity.FormatYield(x, 60*units.Pound) },
			"percent":  quantity.FormatPercent,
			"number":   quantity.FormatNumber,
		} {
			got, err := parsers[what](format(x))
			same(what, format(x), x, got, err)
		}
		c := units.Celsius(rapid.Float64Range(-60, 60).Draw(t, "c"))
		got, err := quantity.ParseTemperature("High", quantity.FormatTemperature(c))
		same("temperature", quantity.FormatTemperature(c), c.Celsius(), got.Celsius(), err)
		p := trade.Price(rapid.Int64Range(-1e10, 1e10).Draw(t, "p"))
		price, err := quantity.ParsePrice("Bid", quantity.FormatPrice(p), "bu")
		same("price", quantity.FormatPrice(p), float64(p), float64(price), err)
		d := time.Duration(rapid.Int64Range(0, int64(1000*time.Hour)).Draw(t, "d"))
		wait, err := quantity.ParseDuration("Wait", quantity.FormatDuration(d))
		same("time", quantity.FormatDuration(d), float64(d), float64(wait), err)
	})
}

// Whatever is typed, a parser gives a finite value that survives the paper, or an InputError that repeats it shortly.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"35ft", "13ft6in", "77F", "-35c", "$9.8725/bu", "3.7t/ha", "12.5%", "1h30min", "10,7m", "NaN", "٣ft", "1e9"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for name, parse := range parsers {
			v, err := parse(s)
			var refusal *problem.InputError
			if err != nil && !errors.As(err, &refusal) {
				t.Fatalf("%s %q: %v is no InputError", name, s, err)
			}
			if err != nil && (refusal.Rule == "" || refusal.Want == "" || len([]rune(refusal.Got)) > 60) {
				t.Errorf("%s %q is refused as %+v", name, s, refusal)
			}
			if err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
				t.Errorf("%s %q is read as %v", name, s, v)
			}
		}
	})
}

func ExampleParseLength() {
	_, err := quantity.ParseLength("Width", "35")
	fmt.Println(err)
	// Output: Width is "35"; accepted: a length with its unit, as 35ft, 10.7m or 30in. Write the unit after the number: 35ft or 35m.
}
