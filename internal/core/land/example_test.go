package land_test

import (
	"fmt"

	"threshday/internal/core/land"
	"threshday/internal/core/units"
)

func ExamplePolygon_Measure() {
	field := land.Polygon{{{42, -93.5}, {42, -93.495}, {42.005, -93.495}, {42.005, -93.5}}}
	m, err := field.Measure()
	fmt.Printf("%.2f acres, %.0f ft around, %v\n", m.Area.Acres(), m.Perimeter.Feet(), err)
	// Output: 56.85 acres, 6362 ft around, <nil>
}

func ExampleDistance() {
	d, ok := land.Distance(land.Point{Lat: 42, Lon: -93.5}, land.Point{Lat: 42.05, Lon: -93.62})
	fmt.Printf("%.2f miles, %v\n", d.Miles(), ok)
	// Output: 7.07 miles, true
}

func ExampleCompare() {
	width, gate := 16*units.Foot, 14*units.Foot
	c := land.Compare(land.Machine{Width: &width}, land.Way{Width: &gate})
	fmt.Println("width:", c.Width)
	fmt.Println("height:", c.Height)
	// Output:
	// width: too narrow
	// height: not known
}
