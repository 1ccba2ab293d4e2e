package hauling_test

import (
	"fmt"
	"math"

	"threshday/internal/core/capacity"
	"threshday/internal/core/hauling"
)

// One combine in corn with a cart and one truck, and an elevator 18 miles off: the cart fills up while the truck is
// away, and the combine stands.
func ExampleRunner_Run() {
	day := &hauling.Day{
		Combines: []hauling.Combine{{
			TankBu: 350, UnloadBuPerMin: 240,
			Tasks: []hauling.Task{{From: 540, Until: 1200, Acres: 40, AcresPerHour: 9.67, BuPerAcre: 200}},
		}},
		Carts:  []hauling.Cart{{Bu: 1000, UnloadBuPerMin: 480}},
		Trucks: []hauling.Truck{{PayloadLb: 51900, LimitLb: 53500, Loaded: 45, Empty: 50, Until: math.Inf(1)}},
		Fields: []hauling.Field{{LbPerBu: 56, Miles: []float64{18}, Lots: []hauling.Lot{{Bu: 8000, Room: -1, Until: math.Inf(1)}}}},
		Sites: []hauling.Site{{
			Open: 420, Close: 1140, Pits: 1, ScaleMin: 5, DumpMin: 6, TicketMin: 3, BuPerHour: 6000, DayBu: math.Inf(1),
			Lines: []hauling.Line{{Wait: capacity.WaitAround(20)}},
		}},
		Work: hauling.DefaultWork(),
	}
	o := hauling.NewRunner(day).Run(hauling.Usual{})
	clock := func(m float64) string { return fmt.Sprintf("%02d:%02d", int(m)/60, int(m)%60) }
	for _, l := range o.Loads[:2] {
		fmt.Printf("%.0f bu leave %s, at the scale %s, back %s\n", l.Bu, clock(l.Left), clock(l.Scaled), clock(l.Back))
	}
	idle, by := o.IdleMin()
	fmt.Printf("%.0f bu delivered, the combine stands %.0f min, %.0f of them for want of the truck\n", o.Delivered, idle, by[hauling.TruckAway])
	// Output:
	// 927 bu leave 09:44, at the scale 10:28, back 11:07
	// 927 bu leave 11:17, at the scale 12:01, back 12:40
	// 5561 bu delivered, the combine stands 417 min, 358 of them for want of the truck
}
