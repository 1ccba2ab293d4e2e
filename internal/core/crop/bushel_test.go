package crop_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/crop"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/test/published"
)

func TestBushelsMatchPublishedTable(t *testing.T) {
	published.Each(t, "bushel", func(t *testing.T, r published.Row) {
		k, known := crop.Parse(r.Text("crop"))
		if !known {
			t.Fatal("no such crop")
		}
		switch r.Text("quantity") {
		case "pounds":
			lb, ok := crop.BushelPounds(k)
			if ok != r.Has("want") {
				t.Errorf("bushel known: %v", ok)
			}
			r.Check("want", lb.Float())
		case "t/ha of 1 bu/ac":
			got, _ := crop.TonnesPerHectare(k, 1)
			r.Check("want", got)
		case "base":
			for _, b := range crop.UsualBases(k) {
				if b.Key == r.Text("source") && math.Abs(b.Moisture.Float()-r.Float("want")) <= r.Float("tol") {
					return
				}
			}
			t.Errorf("no base %s from that source among %v", r.Text("want"), crop.UsualBases(k))
		default:
			t.Fatal("no such quantity")
		}
	})
}

func TestEveryCropOffersABaseWithItsSource(t *testing.T) {
	for _, k := range crop.Kinds() {
		bases := crop.UsualBases(k)
		if len(bases) == 0 {
			t.Errorf("%s has no usual base", k)
		}
		for _, b := range bases {
			if b.Key == "" || b.Note == "" || b.Moisture < 800 || b.Moisture > 1600 {
				t.Errorf("%s: %+v", k, b)
			}
		}
	}
	if crop.UsualBases(crop.Unknown) != nil {
		t.Error("no crop has a base")
	}
}

func TestYieldConversionsUndoEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom([]crop.Kind{crop.Soybean, crop.Corn, crop.Barley, crop.Oats, crop.Canola}).Draw(t, "crop")
		bu := rapid.Float64Range(0, 400).Draw(t, "bu/ac")
		tonnes, ok := crop.TonnesPerHectare(k, bu)
		back, ok2 := crop.BushelsPerAcre(k, tonnes)
		if !ok || !ok2 || math.Abs(back-bu) > 1e-9*max(1, bu) {
			t.Fatalf("%s: %g bu/ac comes back as %g", k, bu, back)
		}
	})
}

func TestNoBushelIsInvented(t *testing.T) {
	for _, k := range []crop.Kind{crop.Unknown, crop.Sunflower, crop.Kind(200)} {
		if lb, ok := crop.BushelPounds(k); ok || lb != 0 {
			t.Errorf("%q has a bushel of %d lb", k, lb)
		}
		if _, ok := crop.Bushel(k); ok {
			t.Errorf("%q has a bushel", k)
		}
		if bu, ok := crop.Bushels(k, units.Tonne); ok || bu != 0 {
			t.Errorf("a tonne of %q is %g bushels", k, bu)
		}
		if _, ok := crop.TonnesPerHectare(k, 50); ok {
			t.Errorf("%q yields bushels", k)
		}
		if _, ok := crop.BushelsPerAcre(k, 3); ok {
			t.Errorf("%q yields bushels", k)
		}
	}
}

func TestNamesReadBack(t *testing.T) {
	for _, k := range crop.Kinds() {
		if got, ok := crop.Parse(k.String()); !ok || got != k {
			t.Errorf("%q reads back as %v", k, got)
		}
	}
	for _, s := range []string{"", "Corn", "maize"} {
		if k, ok := crop.Parse(s); ok {
			t.Errorf("%q is taken for %v", s, k)
		}
	}
	for _, c := range append(crop.WheatClasses(), crop.AnyWheat) {
		if got, ok := crop.ParseWheatClass(c.String()); !ok || got != c || c.Name() == "" {
			t.Errorf("%q reads back as %q", c, got)
		}
	}
	if c, ok := crop.ParseWheatClass("hrw"); ok {
		t.Errorf("hrw is taken for %v", c)
	}
	if crop.WheatClass(99).String() != "" || crop.WheatClass(99).Kernel() != crop.UnknownKernel {
		t.Error("a class that does not exist has a name")
	}
}

// The class table of the official standards. [cfr-810-wheat]
func TestClassesOfWheatHaveTheirKernel(t *testing.T) {
	want := map[crop.WheatClass]crop.Kernel{
		crop.AnyWheat: crop.UnknownKernel, crop.HRW: crop.HardKernel, crop.HRS: crop.HardKernel,
		crop.HDWH: crop.HardKernel, crop.SRW: crop.SoftKernel, crop.SWH: crop.SoftKernel, crop.DU: crop.DurumKernel,
	}
	for c, k := range want {
		if got := c.Kernel(); got != k {
			t.Errorf("%q: kernel %v, want %v", c, got, k)
		}
	}
}

func ExampleBushels() {
	lb := trade.Pounds(52_640)
	bu, _ := crop.Bushels(crop.Corn, units.Mass(lb.Float())*units.Pound)
	fmt.Printf("%.0f bu\n", bu)
	// Output: 940 bu
}
