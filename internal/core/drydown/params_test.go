package drydown_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

func TestEveryCoefficientIsNamedAndMayBeChanged(t *testing.T) {
	for _, k := range modelled {
		p := params(t, k)
		published := 0
		seen := map[string]bool{}
		for _, c := range p.Coefficients() {
			if c.Name == "" || c.Says == "" || c.Source == "" || seen[c.Name] {
				t.Errorf("%s: %+v", k, c)
			}
			seen[c.Name] = true
			if c.Value < c.Low || c.Value > c.High {
				t.Errorf("%s: the default of %s, %v, is outside %v to %v", k, c.Name, c.Value, c.Low, c.High)
			}
			if c.Published() {
				published++
			}
			to := (c.Low + c.High) / 2
			changed, err := p.With(c.Name, to)
			if err != nil {
				t.Errorf("%s: %v", k, err)
			}
			for _, after := range changed.Coefficients() {
				if after.Name == c.Name && after.Value != to {
					t.Errorf("%s: %s is %v after it was set to %v", k, c.Name, after.Value, to)
				}
			}
		}
		if published < 4 {
			t.Errorf("%s: %d coefficients have a source, want the curve and dent at least", k, published)
		}
	}
	if _, ok := drydown.DefaultParams(crop.Barley, crop.AnyWheat); ok {
		t.Error("barley has no model, but parameters")
	}
}

func TestACoefficientOutOfRangeSaysWhatIsAccepted(t *testing.T) {
	p := params(t, crop.Soybean)
	for name, value := range map[string]float64{"kw": -1, "m0": 600, "rc": math.NaN(), "speed": 1} {
		same, err := p.With(name, value)
		var input *problem.InputError
		if !errors.As(err, &input) || input.Want == "" {
			t.Errorf("%s = %v: %v", name, value, err)
		}
		if same != p {
			t.Errorf("%s = %v was kept", name, value)
		}
	}
	if _, err := drydown.DefaultCornHeat().With("heat-late", 99); err == nil || !strings.Contains(err.Error(), "0 to 20") {
		t.Errorf("%v", err)
	}
	if c, err := drydown.DefaultSoybeanDates().With("r7-sd", 4); err != nil || c.SDDays != 4 {
		t.Errorf("%v", err)
	}
}

func TestARecordWithAGapIsRefusedByTheHour(t *testing.T) {
	p := params(t, crop.Soybean)
	s := weather.NewSeries(0, 48)
	for h := range calendar.Hour(48) {
		for v, x := range map[weather.Var]float64{weather.TempC: 15, weather.DewC: 8, weather.WindMS: 2, weather.RainMM: 0, weather.SolarWM2: 100} {
			if v != weather.DewC || h != 30 {
				s.Set(v, h, x, weather.Observed)
			}
		}
	}
	_, _, err := drydown.FromRecord(p, s, 0, 48)
	var input *problem.InputError
	if !errors.As(err, &input) || !strings.Contains(err.Error(), "dew_c at 1970-01-02 06:00Z") {
		t.Fatalf("%v", err)
	}
	d, assumed, err := drydown.FromRecord(p, s, 0, 30)
	if err != nil || assumed != 30 || !d.Covers(0, 30) || d.Covers(0, 31) {
		t.Errorf("thirty whole hours: %d skies assumed, %v", assumed, err)
	}
}

// A single stratum of soybean at R7 through a clear mid-September day.
func ExamplePlain() {
	p, _ := drydown.DefaultParams(crop.Soybean, crop.AnyWheat)
	hours := drydown.Plain(p, one(24, september), 0, 0, 24, 60)
	fmt.Printf("%.2f %%\n", hours[23].WB)
	// Output: 56.10 %
}

func TestSpotsForMatchesTheFormula(t *testing.T) {
	// n = (1.96·sd/points)², rounded up. [drydown-reference]
	for _, c := range []struct {
		sd, points float64
		want       int
	}{{1, 0.5, 16}, {0.6, 0.5, 6}, {1, 1, 4}} {
		if got := drydown.SpotsFor(c.sd, c.points); got != c.want {
			t.Errorf("%v points for %v: %d spots, want %d", c.points, c.sd, got, c.want)
		}
	}
}

func TestNamesAreReadAsRecordsWriteThem(t *testing.T) {
	for _, name := range []string{"meter", "bite", "combine", "ticket"} {
		if d, ok := drydown.ParseDevice(name); !ok || d.String() != name {
			t.Errorf("device %q is %v, %v", name, d, ok)
		}
	}
	for _, name := range []string{"", "even", "some", "uneven"} {
		if _, ok := drydown.ParseEvenness(name); !ok {
			t.Errorf("evenness %q", name)
		}
	}
	for _, name := range []string{"", "whole", "low", "knob"} {
		if _, ok := drydown.ParseZone(name); !ok {
			t.Errorf("zone %q", name)
		}
	}
	_, device := drydown.ParseDevice("scale")
	_, even := drydown.ParseEvenness("flat")
	_, zone := drydown.ParseZone("north")
	if device || even || zone {
		t.Error("an unknown name was taken")
	}
}
