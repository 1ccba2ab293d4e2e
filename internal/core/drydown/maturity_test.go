package drydown_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
	"threshday/test/published"
)

func TestMaturityMatchesPublishedFigures(t *testing.T) {
	corn, soybean := drydown.DefaultCornHeat(), drydown.DefaultSoybeanDates()
	published.Each(t, "maturity", func(t *testing.T, r published.Row) {
		switch r.Text("quantity") {
		case "heat":
			r.Check("want", drydown.HeatUnits(units.Fahrenheit(r.Float("a")), units.Fahrenheit(r.Float("b"))))
		case "need":
			r.Check("want", corn.Need(calendar.MustDay(r.Text("b")), r.Float("a")))
		case "soybean-planting":
			r.Check("want", soybean.Delay(calendar.MustDay(r.Text("b")))-soybean.Delay(calendar.MustDay(r.Text("a"))))
		case "soybean-rm":
			r.Check("want", soybean.DaysPerGroup*(r.Float("b")-r.Float("a")))
		default:
			t.Fatal("no such quantity")
		}
	})
}

func ExampleHeatUnits() {
	fmt.Printf("%.1f\n", drydown.HeatUnits(units.Fahrenheit(88), units.Fahrenheit(58)))
	fmt.Printf("%.1f\n", drydown.HeatUnits(units.Fahrenheit(61), units.Fahrenheit(41)))
	// Output:
	// 22.0
	// 5.5
}

// warmDays returns n days from planting of 20 heat units each, the first seen of them recorded.
func warmDays(planted calendar.Day, n, seen int) []drydown.DayRange {
	out := make([]drydown.DayRange, n)
	for i := range out {
		out[i] = drydown.DayRange{Day: planted.AddDays(i), High: units.Fahrenheit(82), Low: units.Fahrenheit(58), From: weather.Filled}
		if i < seen {
			out[i].From = weather.Observed
		}
	}
	return out
}

func TestBlackLayerCountsHeatFromPlanting(t *testing.T) {
	planted := calendar.MustDay("2031-04-25")
	c := drydown.DefaultCornHeat()
	m, err := c.BlackLayer(planted, 111, warmDays(planted, 150, 150))
	if err != nil {
		t.Fatal(err)
	}
	if want := planted.AddDays(133); m.Day != want { // 2680 = 134 days of 20
		t.Errorf("black layer on %s, want %s", m.Day, want)
	}
	if want := 0.05 * 2680 / 20; m.SDDays < want-1e-9 || m.SDDays > want+1e-9 {
		t.Errorf("give or take %.3f days, want %.3f", m.SDDays, want)
	}
	unseen, err := c.BlackLayer(planted, 111, warmDays(planted, 150, 100))
	if err != nil {
		t.Fatal(err)
	}
	if unseen.Day != m.Day || unseen.SDDays <= m.SDDays {
		t.Errorf("with days to come %s ± %.2f, want the same day and a wider spread than %.2f", unseen.Day, unseen.SDDays, m.SDDays)
	}
}

func TestBlackLayerSaysWhichWeatherIsMissing(t *testing.T) {
	planted := calendar.MustDay("2031-04-25")
	c := drydown.DefaultCornHeat()
	days := warmDays(planted, 150, 150)
	gap := append(append([]drydown.DayRange(nil), days[:40]...), days[41:]...)
	for name, given := range map[string][]drydown.DayRange{"none": nil, "too short": days[:60], "gap": gap} {
		_, err := c.BlackLayer(planted, 111, given)
		var input *problem.InputError
		if !errors.As(err, &input) || input.Rule != "maturity.corn.weather" {
			t.Fatalf("%s: %v", name, err)
		}
		for _, word := range []string{"2031-", "2680", "Import", "enter"} {
			if !strings.Contains(err.Error(), word) {
				t.Errorf("%s: %q does not say %q", name, err, word)
			}
		}
	}
	if _, err := c.BlackLayer(planted, 2.8, days); err == nil || !strings.Contains(err.Error(), "70 to 130") {
		t.Errorf("a soybean group was taken for corn: %v", err)
	}
}

func TestSoybeanDatesStartFromTheNearestAnchor(t *testing.T) {
	s := drydown.DefaultSoybeanDates()
	anchors := []drydown.SoybeanAnchor{
		{RelativeMaturity: 3.6, Planted: calendar.MustDay("2031-05-25"), Mature: calendar.MustDay("2031-09-28")},
		{RelativeMaturity: 2.5, Planted: calendar.MustDay("2030-05-01"), Mature: calendar.MustDay("2030-09-05")},
	}
	m, err := s.R7(calendar.MustDay("2031-05-11"), 2.8, anchors)
	if err != nil {
		t.Fatal(err)
	}
	if want := calendar.MustDay("2031-09-13"); m.Day != want { // three days of group, five of planting
		t.Errorf("R7 on %s, want %s (%v)", m.Day, want, m.How)
	}
	if _, err := s.R7(calendar.MustDay("2031-05-11"), 2.8, nil); err == nil || !strings.Contains(err.Error(), "planting date") {
		t.Errorf("no anchor: %v", err)
	}
	if _, err := s.R7(calendar.MustDay("2031-05-11"), 28, anchors); err == nil {
		t.Error("group 28 was accepted")
	}
}

func TestOwnersDateSaysWhatIsAssumed(t *testing.T) {
	sd := 1.5
	day := calendar.MustDay("2031-09-14")
	if m := drydown.OwnerMaturity(day, &sd); m.SDDays != sd || len(m.How) != 1 {
		t.Errorf("told: %+v", m)
	}
	if m := drydown.OwnerMaturity(day, nil); m.SDDays != drydown.AssumedOwnerSDDays || !strings.Contains(strings.Join(m.How, " "), "assumed") {
		t.Errorf("not told: %+v", m)
	}
}

func TestStagesOfOtherCropsAreRefused(t *testing.T) {
	if _, _, err := drydown.ToMaturity(crop.Corn, drydown.R7); err == nil || !strings.Contains(err.Error(), "black-layer") {
		t.Errorf("R7 of corn: %v", err)
	}
	if days, _, err := drydown.ToMaturity(crop.Soybean, drydown.R8); err != nil || days != -9 {
		t.Errorf("R8 of soybean: %v days, %v", days, err)
	}
	if _, _, err := drydown.ToMaturity(crop.Wheat, drydown.RipeStage); err != nil {
		t.Error(err)
	}
}
