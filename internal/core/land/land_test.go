package land_test

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/land"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
	"threshday/test/published"
)

// polygon reads "lat lon;lat lon|lat lon;..." with a bar between rings.
func polygon(t *testing.T, text string) land.Polygon {
	t.Helper()
	var p land.Polygon
	for _, ring := range strings.Split(text, "|") {
		var r land.Ring
		for _, pair := range strings.Split(ring, ";") {
			lat, lon, ok := strings.Cut(pair, " ")
			y, err1 := strconv.ParseFloat(lat, 64)
			x, err2 := strconv.ParseFloat(lon, 64)
			if !ok || err1 != nil || err2 != nil {
				t.Fatalf("not a point: %q", pair)
			}
			r = append(r, land.Point{Lat: y, Lon: x})
		}
		p = append(p, r)
	}
	return p
}

func TestFieldsMeasureAsGeodesicPolygons(t *testing.T) {
	published.Each(t, "area", func(t *testing.T, r published.Row) {
		p := polygon(t, r.Text("rings"))
		m, err := p.Measure()
		if err != nil {
			t.Fatal(err)
		}
		want, limit := r.Float("square_meters"), r.Float("rel")
		if off := math.Abs(m.Area.SquareMeters()-want) / want; off > max(limit, 0.001/want) {
			t.Errorf("%s: %.4f m², want %.3f, off by %.2g", r.Text("name"), m.Area.SquareMeters(), want, off)
		}
		if off := math.Abs(m.Area.Acres()-r.Float("acres")) / r.Float("acres"); off > max(limit, 1e-8) {
			t.Errorf("%s: %.6f acres, want %s", r.Text("name"), m.Area.Acres(), r.Text("acres"))
		}
		r.Check("perimeter_m", m.Perimeter.Meters())
	})
}

func TestDistances(t *testing.T) {
	published.Each(t, "distance", func(t *testing.T, r published.Row) {
		a, b := land.Point{Lat: r.Float("lat1"), Lon: r.Float("lon1")}, land.Point{Lat: r.Float("lat2"), Lon: r.Float("lon2")}
		d, ok := land.Distance(a, b)
		if !ok {
			t.Fatal("did not settle")
		}
		r.Check("meters", d.Meters())
		if r.Has("miles") && math.Abs(d.Miles()-r.Float("miles")) > 5e-6 {
			t.Errorf("%v miles, want %s", d.Miles(), r.Text("miles"))
		}
		if back, ok := land.Distance(b, a); !ok || math.Abs(float64(back-d)) > 1e-6 {
			t.Errorf("there %v, back %v", d, back)
		}
	})
	published.Each(t, "degree", func(t *testing.T, r published.Row) {
		// A hundred-thousandth of a degree: the curve does not show.
		const part = 1e-5
		at := land.Point{Lat: r.Float("lat"), Lon: -93}
		north, ok1 := land.Distance(land.Point{Lat: at.Lat - part/2, Lon: at.Lon}, land.Point{Lat: at.Lat + part/2, Lon: at.Lon})
		east, ok2 := land.Distance(at, land.Point{Lat: at.Lat, Lon: at.Lon + part})
		if !ok1 || !ok2 || math.Abs(float64(north)/part-r.Float("north")) > 0.001 || math.Abs(float64(east)/part-r.Float("east")) > 0.001 {
			t.Errorf("%v north, %v east", float64(north)/part, float64(east)/part)
		}
	})
}

func TestPointsOppositeOnTheGlobeAreNotAnswered(t *testing.T) {
	if d, ok := land.Distance(land.Point{}, land.Point{Lat: 0.5, Lon: 179.7}); ok {
		t.Errorf("settled at %v", d)
	}
	if _, ok := land.Distance(land.Point{Lat: math.NaN()}, land.Point{}); ok {
		t.Error("NaN is a place")
	}
}

func TestBoundariesThatCannotBeUsed(t *testing.T) {
	const square = "42 -93;42 -92.99;42.01 -92.99;42.01 -93"
	for _, c := range []struct{ name, rings, rule string }{
		{"no point at all", "", "boundary.empty"},
		{"two points", "42 -93;42 -92;42 -93", "boundary.points"},
		{"latitude and longitude swapped", "-93 42;-92.99 42;-92.99 42.01", "boundary.range"},
		{"not a number", "NaN -93;42 -92.99;42.01 -93", "boundary.range"},
		{"a state", "40 -100;40 -98;42 -98", "boundary.span"},
		{"across the antimeridian", "42 179.99;42 -179.99;42.01 179.99", "boundary.span"},
		{"a bow tie", "42 -93;42.01 -92.99;42 -92.99;42.01 -93", "boundary.crossing"},
		{"a figure of eight that meets in a point", "42 -93;42.01 -92.99;42.02 -93;42.02 -92.98;42.01 -92.99;42 -92.98", "boundary.crossing"},
		{"a side on a side", "42 -93;42 -92.99;42.01 -92.99;42 -92.995;42.01 -93", "boundary.crossing"},
		{"a hole across the boundary", square + "|42.005 -92.995;42.005 -92.985;42.006 -92.985", "boundary.crossing"},
		{"a hole outside", square + "|42.005 -92.97;42.005 -92.96;42.006 -92.965", "boundary.hole"},
		{"a hole in a hole", square + "|42.002 -92.998;42.002 -92.992;42.008 -92.992;42.008 -92.998|42.004 -92.996;42.004 -92.994;42.006 -92.995", "boundary.hole"},
		{"a hole around a hole", square + "|42.004 -92.996;42.004 -92.994;42.006 -92.995|42.002 -92.998;42.002 -92.992;42.008 -92.992;42.008 -92.998", "boundary.hole"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var p land.Polygon
			if c.rings != "" {
				p = polygon(t, c.rings)
			}
			var bad *problem.InputError
			if _, err := p.Measure(); !errors.As(err, &bad) || bad.Rule != c.rule {
				t.Errorf("%v, want %s", err, c.rule)
			}
		})
	}
}

func TestHowARingIsWrittenDoesNotMatter(t *testing.T) {
	base, err := polygon(t, "42 -93;42 -92.99;42.01 -92.985;42.012 -93").Measure()
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"closed":                  "42 -93;42 -92.99;42.01 -92.985;42.012 -93;42 -93",
		"the other way round":     "42.012 -93;42.01 -92.985;42 -92.99;42 -93",
		"another start":           "42.01 -92.985;42.012 -93;42 -93;42 -92.99",
		"a point twice":           "42 -93;42 -92.99;42 -92.99;42.01 -92.985;42.012 -93",
		"a point on a meridian":   "42 -93;42 -92.99;42.01 -92.985;42.012 -93;42.006 -93",
		"points crowded together": "42.012 -93;42.0119 -93;42.0118 -93;42.0117 -93;42 -93;42 -92.99;42.01 -92.985",
	} {
		m, err := polygon(t, text).Measure()
		if err != nil || math.Abs(float64(m.Area/base.Area)-1) > 1e-9 || math.Abs(float64(m.Perimeter-base.Perimeter)) > 1e-3 {
			t.Errorf("%s: %+v, want %+v, %v", name, m, base, err)
		}
	}
}

func TestAFieldIsTheSumOfItsParts(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		lat, lon := rapid.Float64Range(-60, 60).Draw(rt, "lat"), rapid.Float64Range(-170, 170).Draw(rt, "lon")
		h, w := rapid.Float64Range(0.001, 0.02).Draw(rt, "h"), rapid.Float64Range(0.001, 0.02).Draw(rt, "w")
		cut := rapid.Float64Range(0.1, 0.9).Draw(rt, "cut")
		box := func(lat0, lat1 float64) land.Polygon {
			return land.Polygon{{{lat0, lon}, {lat0, lon + w}, {lat1, lon + w}, {lat1, lon}}}
		}
		area := func(p land.Polygon) float64 {
			m, err := p.Measure()
			if err != nil {
				rt.Fatal(err)
			}
			return m.Area.SquareMeters()
		}
		whole, south, north := area(box(lat, lat+h)), area(box(lat, lat+h*cut)), area(box(lat+h*cut, lat+h))
		if math.Abs(whole-south-north) > 1e-9*whole+1e-6 {
			rt.Fatalf("%v and %v are not %v", south, north, whole)
		}
	})
}

func TestDistancesObeyTheTriangle(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		point := func(name string) land.Point {
			return land.Point{Lat: rapid.Float64Range(25, 50).Draw(rt, name+" lat"), Lon: rapid.Float64Range(-125, -65).Draw(rt, name+" lon")}
		}
		a, b, c := point("a"), point("b"), point("c")
		ab, ok1 := land.Distance(a, b)
		bc, ok2 := land.Distance(b, c)
		ac, ok3 := land.Distance(a, c)
		if !ok1 || !ok2 || !ok3 || float64(ac) > float64(ab+bc)+1e-3 {
			rt.Fatalf("%v, %v, %v", ab, bc, ac)
		}
	})
}

func TestStatedAcresAreDoubtedBeyondTwoPercent(t *testing.T) {
	for _, c := range []struct {
		stated float64
		ok     bool
	}{{0, true}, {100, true}, {98.1, true}, {97, false}, {103, false}} {
		f, ok := land.Differs(100*units.Acre, c.stated)
		if ok != c.ok || (f.Say == "") != c.ok {
			t.Errorf("100 acres measured, %v stated: %v, %q", c.stated, ok, f.Say)
		}
	}
}

func TestClearanceNeverSaysSafe(t *testing.T) {
	length := func(ft float64) *units.Length { l := units.Length(ft) * units.Foot; return &l }
	mass := func(lb float64) *units.Mass { m := units.Mass(lb) * units.Pound; return &m }
	combine := land.Machine{Width: length(16), Height: length(13), Weight: mass(48000)}
	for _, c := range []struct {
		name string
		m    land.Machine
		w    land.Way
		want land.Clearance
		no   bool
	}{
		{"nothing known of the way", combine, land.Way{}, land.Clearance{Width: land.NotKnown, Height: land.NotKnown, Weight: land.NotKnown}, false},
		{"nothing known of the machine", land.Machine{}, land.Way{Width: length(20)}, land.Clearance{Width: land.NotKnown, Height: land.NotKnown, Weight: land.NotKnown}, false},
		{"wide enough by the figures", combine, land.Way{Width: length(20)}, land.Clearance{Width: land.AsEntered, Height: land.NotKnown, Weight: land.NotKnown}, false},
		{"as wide as the gate", combine, land.Way{Width: length(16)}, land.Clearance{Width: land.TooNarrow, Height: land.NotKnown, Weight: land.NotKnown}, true},
		{"under a low line", combine, land.Way{Height: length(12.5)}, land.Clearance{Width: land.NotKnown, Height: land.TooLow, Weight: land.NotKnown}, true},
		{"over a posted bridge", combine, land.Way{Limit: mass(40000)}, land.Clearance{Width: land.NotKnown, Height: land.NotKnown, Weight: land.TooHeavy}, true},
		{"at the posted limit", combine, land.Way{Limit: mass(48000)}, land.Clearance{Width: land.NotKnown, Height: land.NotKnown, Weight: land.AsEntered}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := land.Compare(c.m, c.w)
			if got != c.want || got.Refuses() != c.no {
				t.Errorf("%+v, refuses %v", got, got.Refuses())
			}
			for _, v := range []land.Verdict{got.Width, got.Height, got.Weight} {
				if strings.Contains(strings.ToLower(string(v)), "safe") {
					t.Errorf("says %q", v)
				}
			}
		})
	}
	for _, c := range land.Cautions() {
		if c.Rule == "" || c.Say == "" || c.Key == "" {
			t.Errorf("%+v", c)
		}
	}
}

func TestRoadsAreLongerThanTheLine(t *testing.T) {
	low, high := land.RoadGuess(10 * units.Mile)
	if math.Abs(low.Miles()-12.5) > 1e-9 || math.Abs(high.Miles()-13.5) > 1e-9 {
		t.Errorf("%v to %v miles", low.Miles(), high.Miles())
	}
}

func BenchmarkMeasureWalkedBoundary(b *testing.B) {
	const n = 2000
	ring := make(land.Ring, n)
	for i := range ring {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		ring[i] = land.Point{Lat: 41 + 0.004*sin, Lon: -95 + 0.005*cos}
	}
	p := land.Polygon{ring}
	b.ReportAllocs()
	for range b.N {
		if _, err := p.Measure(); err != nil {
			b.Fatal(err)
		}
	}
}
