package loss_test

import (
	"fmt"

	"threshday/internal/core/crop"
	"threshday/internal/core/loss"
	"threshday/internal/core/units"
)

// Beans three wet-dry cycles and a fortnight past ripe, at 11 %.
func Example() {
	m, _ := loss.Default(crop.Soybean)
	stand := loss.Stand{DaysRipe: 14, Cycles: 3, MoisturePct: 11, LodgedPct: 5}
	p10, p50, p90 := loss.DefaultSpread().Band(m, stand)
	fmt.Printf("lost %.2g %%, 10 to 90 %%: %.2g to %.2g\n", p50.TotalPct(), p10.TotalPct(), p90.TotalPct())
	// Output: lost 7 %, 10 to 90 %: 6 to 9.2
}

func ExampleCounts_Loss() {
	seed, _ := loss.DefaultSeed(crop.Soybean)
	lost, _, err := loss.Counts{
		Ahead: 1, Header: 9, Behind: 21,
		Cut: 30 * units.Foot, Spread: 5 * units.Foot,
		PerSqFt: loss.SeedsPerSqFt(60, seed.PerPound),
	}.Loss()
	fmt.Printf("%.2f before, %.2f header, %.2f machine bu/ac, %v\n", lost.Pre, lost.Header, lost.Machine, err)
	// Output: 0.25 before, 2.00 header, 0.50 machine bu/ac, <nil>
}
