package capacity_test

import (
	"errors"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/capacity"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/test/published"
)

func pounds(r published.Row, column string) trade.Pounds { return trade.Pounds(r.Int(column)) }

func feet(ft ...float64) []units.Length {
	out := make([]units.Length, len(ft))
	for i, f := range ft {
		out[i] = units.Length(f) * units.Foot
	}
	return out
}

func TestBridgeFormula(t *testing.T) {
	published.Each(t, "formula", func(t *testing.T, r published.Row) {
		limit, raw := capacity.BridgeFormula(r.Int("feet"), r.Int("axles"))
		r.CheckExact("want", limit.Float())
		r.Check("raw", raw)
	})
}

func TestGroupsOfAxles(t *testing.T) {
	published.Each(t, "groups", func(t *testing.T, r published.Row) {
		var spacing []float64
		for _, s := range strings.Fields(r.Text("spacing_ft")) {
			ft, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatal(err)
			}
			spacing = append(spacing, ft)
		}
		rig := capacity.Rig{Spacing: feet(spacing...), Weights: make([]trade.Pounds, len(spacing)+1)}
		got, err := rig.Check(capacity.FederalLimits())
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range got.Groups {
			if g.From == 1 && g.To == len(rig.Weights) {
				r.CheckExact("want", g.Limit.Float())
				r.CheckText("rule", g.Rule)
			}
		}
	})
}

// semi is the five-axle combination of the pamphlet: 12 ft, tandem, trailer, tandem, 51 ft in all.
func semi(weights ...trade.Pounds) capacity.Rig {
	return capacity.Rig{Spacing: feet(12, 4, 31, 4), Weights: weights}
}

func TestAFullSemiIsLegalToThePound(t *testing.T) {
	got, err := semi(12000, 17000, 17000, 17000, 17000).Check(capacity.FederalLimits())
	if err != nil || !got.Legal || got.Gross != 80000 || got.GrossLimit != 80000 {
		t.Errorf("%+v, %v", got, err)
	}
	if len(got.Axles) != 5 || len(got.Groups) != 10 {
		t.Errorf("%d axles, %d groups", len(got.Axles), len(got.Groups))
	}
	got, err = semi(12000, 17000, 17001, 17000, 17000).Check(capacity.FederalLimits())
	if err != nil || got.Legal {
		t.Errorf("a pound over: %+v, %v", got, err)
	}
	for _, g := range got.Groups {
		if over := g.From <= 2 && g.To == 3 && g.From == 2 || g.From == 2 && g.To == 5 || g.From == 1 && g.To == 5; g.Legal == over {
			t.Errorf("axles %d to %d: %d of %d, legal %v", g.From, g.To, g.Weight, g.Limit, g.Legal)
		}
	}
}

func TestAnInnerGroupCanFailWhileTheGrossIsFine(t *testing.T) {
	// The pamphlet's case: 78,000 lb on 51 ft passes as a whole, but axles 2 to 5 lie only 35 ft apart.
	rig := capacity.Rig{Spacing: feet(16, 4, 27, 4), Weights: []trade.Pounds{10000, 17000, 17000, 17000, 17000}}
	got, err := rig.Check(capacity.FederalLimits())
	if err != nil || got.Legal || got.Gross > got.GrossLimit {
		t.Fatalf("%+v, %v", got, err)
	}
	for _, g := range got.Groups {
		if inner := g.From == 2 && g.To == 5; g.Legal == inner {
			t.Errorf("axles %d to %d: %d of %d", g.From, g.To, g.Weight, g.Limit)
		}
		if g.From == 2 && g.To == 5 && (g.Limit != 65500 || g.Feet != 35) {
			t.Errorf("inner bridge %d lb over %d ft", g.Limit, g.Feet)
		}
	}
}

func TestAxlesThatCannotBeUsedAreNamed(t *testing.T) {
	for _, c := range []struct {
		rig  capacity.Rig
		rule string
	}{
		{capacity.Rig{}, "axle.count"},
		{capacity.Rig{Spacing: feet(10), Weights: []trade.Pounds{1, 2, 3}}, "axle.count"},
		{capacity.Rig{Spacing: feet(-1), Weights: []trade.Pounds{1, 2}}, "axle.spacing"},
		{capacity.Rig{Spacing: feet(101), Weights: []trade.Pounds{1, 2}}, "axle.spacing"},
		{capacity.Rig{Spacing: feet(10), Weights: []trade.Pounds{1, -2}}, "axle.weight"},
	} {
		var bad *problem.InputError
		if _, err := c.rig.Check(capacity.FederalLimits()); !errors.As(err, &bad) || bad.Rule != c.rule {
			t.Errorf("%+v: %v, want %s", c.rig, err, c.rule)
		}
	}
}

func TestMaxLoadFillsTheFirstLimit(t *testing.T) {
	split := capacity.Split{
		Spacing: feet(12, 4, 31, 4), Tare: []trade.Pounds{10000, 5000, 5000, 3000, 3000},
		Part: []float64{0.02, 0.24, 0.24, 0.25, 0.25},
	}
	load, by, err := split.MaxLoad(capacity.FederalLimits())
	if err != nil || load != 50000 || by != "axles 2 to 3" { // (34,000 - 10,000) / 0.48
		t.Errorf("%d by %s, %v", load, by, err)
	}
	split.Part = []float64{0.5, 0.5, 0, 0, 0.1}
	var bad *problem.InputError
	if _, _, err := split.MaxLoad(capacity.FederalLimits()); !errors.As(err, &bad) || bad.Rule != "axle.split" {
		t.Errorf("parts of 1.1: %v", err)
	}
	split.Part, split.Tare[1] = []float64{0, 0.25, 0.25, 0.25, 0.25}, 21000
	if _, _, err := split.MaxLoad(capacity.FederalLimits()); !errors.As(err, &bad) || bad.Rule != "axle.tare" {
		t.Errorf("empty and over: %v", err)
	}
}

func TestMaxLoadIsTheLastLegalPound(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(2, 7).Draw(rt, "axles")
		split := capacity.Split{Tare: make([]trade.Pounds, n), Part: make([]float64, n)}
		for i := range n - 1 {
			split.Spacing = append(split.Spacing, units.Length(rapid.IntRange(20, 400).Draw(rt, "inches"))*units.Inch)
			split.Part[i] = 1 / float64(n)
		}
		split.Part[n-1] = 1 / float64(n)
		for i := range split.Tare {
			split.Tare[i] = trade.Pounds(rapid.IntRange(1000, 6000).Draw(rt, "tare"))
		}
		load, _, err := split.MaxLoad(capacity.FederalLimits())
		if err != nil {
			rt.Fatal(err)
		}
		// Parts of a pound stand on an axle: whole multiples of the number of axles are exact.
		full := load - load%trade.Pounds(n)
		for _, c := range []struct {
			more trade.Pounds
			want bool
		}{{0, true}, {trade.Pounds(n), false}} {
			rig := capacity.Rig{Spacing: split.Spacing, Weights: make([]trade.Pounds, n)}
			for i := range rig.Weights {
				rig.Weights[i] = split.Tare[i] + (full+c.more)/trade.Pounds(n)
			}
			if got, err := rig.Check(capacity.FederalLimits()); err != nil || got.Legal != c.want {
				rt.Fatalf("%d lb of at most %d: legal %v, %v", full+c.more, load, got.Legal, err)
			}
		}
	})
}

func TestMoreRoomNeverCarriesLess(t *testing.T) {
	for n := 2; n <= 9; n++ {
		for ft := 1; ft < 100; ft++ {
			here, raw := capacity.BridgeFormula(ft, n)
			next, _ := capacity.BridgeFormula(ft+1, n)
			if next < here || here%500 != 0 || here.Float()-raw > 250 || raw-here.Float() > 250 || here.Float()-raw == 250 {
				t.Errorf("%d axles over %d ft: %d from %v, then %d", n, ft, here, raw, next)
			}
		}
	}
}

func BenchmarkBridgeCheck(b *testing.B) {
	rig := semi(12000, 17000, 17000, 17000, 17000)
	limits := capacity.FederalLimits()
	b.ReportAllocs()
	for range b.N {
		if got, err := rig.Check(limits); err != nil || !got.Legal {
			b.Fatal(err)
		}
	}
}
