package weather_test

import (
	"bytes"
	"flag"
	"fmt"
	"go/format"
	"os"
	"testing"

	"threshday/internal/core/weather"
)

var update = flag.Bool("update", false, "write the built-in climate anew")

// The built-in climate is the fit to the record near Champaign, to the digits it is written with. [champaign-hourly]
func TestTheBuiltInClimateIsThatOfItsRecord(t *testing.T) {
	fitted := mustFit(t, champaign(t), weather.FitOptions{Name: "central Illinois"})
	fitted.BuiltIn = true
	text := []byte(builtInText(fitted))
	source, err := format.Source(text)
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile("builtin.go", source, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if have, err := os.ReadFile("builtin.go"); err != nil || !bytes.Equal(have, source) {
		t.Errorf("builtin.go is not the fit to the record (%v); run the test with -update and read the difference", err)
	}
}

func builtInText(c *weather.Climate) string {
	var b bytes.Buffer
	p := func(format string, args ...any) { fmt.Fprintf(&b, format, args...) }
	p("package weather\n\n")
	p("// BuiltIn returns the climate of central Illinois, fitted to five years of hourly weather near Champaign: what a plan stands on\n")
	p("// where no record is loaded. It is not the farm's own place, and whoever uses it says so. The test that fits it writes it.\n")
	p("// [champaign-hourly]\nfunc BuiltIn() *Climate {\n\treturn &Climate{\n")
	p("\t\tName: %q, First: %d, Last: %d, Days: %d, BuiltIn: true,\n\t\tRain: [12]RainMonth{\n", c.Name, c.First, c.Last, c.Days)
	for _, m := range c.Rain {
		p("\t\t\t{P01: %.3f, P11: %.3f, Mean: %.2f, Shape: %.3f},\n", m.P01, m.P11, m.Mean, m.Shape)
	}
	p("\t\t},\n")
	for _, part := range []struct {
		name   string
		values [2][4]weather.Yearly
	}{{"Usual", c.Usual}, {"Spread", c.Spread}} {
		p("\t\t%s: [2][quantities]Yearly{\n", part.name)
		for _, status := range part.values {
			p("\t\t\t{\n")
			for _, y := range status {
				p("\t\t\t\t{%s},\n", list(y[:], "%.3f"))
			}
			p("\t\t\t},\n")
		}
		p("\t\t},\n")
	}
	p("\t\tStep: [4]Step{\n")
	for _, s := range c.Step {
		p("\t\t\t{\n")
		for _, m := range []struct {
			name   string
			values weather.Matrix
		}{{"A", s.A}, {"B", s.B}} {
			p("\t\t\t\t%s: Matrix{\n", m.name)
			for _, row := range m.values {
				p("\t\t\t\t\t{%s},\n", list(row[:], "%.3f"))
			}
			p("\t\t\t\t},\n")
		}
		p("\t\t\t},\n")
	}
	p("\t\t},\n\t\tSun: SunLaw{\n\t\t\tUsual: [2]Yearly{{%s}, {%s}},\n", list(c.Sun.Usual[0][:], "%.4f"), list(c.Sun.Usual[1][:], "%.4f"))
	p("\t\t\tBy: [2][quantities]float64{{%s}, {%s}},\n", list(c.Sun.By[0][:], "%.4f"), list(c.Sun.By[1][:], "%.4f"))
	p("\t\t\tSD: [2]float64{%s}, Lag: %.3f,\n\t\t},\n\t\tHours: DayShape{\n", list(c.Sun.SD[:], "%.4f"), c.Sun.Lag)
	for _, part := range []struct {
		name   string
		values [2][24]float64
	}{{"Wind", c.Hours.Wind}, {"Dew", c.Hours.Dew}} {
		p("\t\t\t%s: [2][24]float64{\n", part.name)
		for _, row := range part.values {
			p("\t\t\t\t{%s},\n", list(row[:], "%.2f"))
		}
		p("\t\t\t},\n")
	}
	p("\t\t},\n\t}\n}\n")
	return b.String()
}

func list(x []float64, layout string) string {
	var b bytes.Buffer
	for i, v := range x {
		if i > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, layout, v)
	}
	return b.String()
}
