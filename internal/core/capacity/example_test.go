package capacity_test

import (
	"fmt"

	"threshday/internal/core/capacity"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

func ExampleWork_Rate() {
	w := capacity.Work{
		Pass:      capacity.Pass{Speed: 5 * units.MilePerHour, Width: 30 * units.Foot, Efficiency: 0.70},
		BuPerAcre: 240, CeilingBuPerHour: 2400,
	}
	r := w.Rate()
	fmt.Printf("%.1f ac/h, %.0f bu/h at %.2f mph, held by its %s\n", r.AcresPerHour, r.BuPerHour, r.Speed.MilesPerHour(), r.LimitedBy)
	// Output: 10.0 ac/h, 2400 bu/h at 3.93 mph, held by its ceiling
}

func ExampleRig_Check() {
	rig := capacity.Rig{
		Spacing: []units.Length{16 * units.Foot, 4 * units.Foot, 27 * units.Foot, 4 * units.Foot},
		Weights: []trade.Pounds{10000, 17000, 17000, 17000, 17000},
	}
	c, _ := rig.Check(capacity.FederalLimits())
	fmt.Println("gross", c.Gross, "legal", c.Legal)
	for _, g := range c.Groups {
		if !g.Legal {
			fmt.Println("axles", g.From, "to", g.To, "over", g.Feet, "ft carry", g.Weight, "of", g.Limit)
		}
	}
	// Output:
	// gross 78000 legal false
	// axles 2 to 5 over 35 ft carry 68000 of 65500
}

func ExampleTrip_CycleMin() {
	trip := capacity.DefaultTrip()
	trip.Distance, trip.QueueMin = 18*units.Mile, 20
	exact, whole := capacity.TrucksNeeded(610.91, trip.CycleMin(), 900)
	fmt.Printf("%.1f min; %.2f trucks, so %d; one alone keeps %.1f %%\n", trip.CycleMin(), exact, whole, 100*capacity.KeptBy(1, exact))
	// Output: 91.6 min; 1.04 trucks, so 2; one alone keeps 96.5 %
}

func ExampleLine_Steady() {
	q, _ := capacity.Line{ArrivalsPerHour: 16, ServedPerHour: 10, Pits: 2}.Steady()
	fmt.Printf("%.1f trucks in line, %.1f min\n", q.InLine, q.WaitMin)
	_, err := capacity.Line{ArrivalsPerHour: 21, ServedPerHour: 10, Pits: 2}.Steady()
	fmt.Println(err)
	// Output:
	// 2.8 trucks in line, 10.7 min
	// 21 trucks an hour come and 20 can be dumped: the line grows without end. Fewer trucks or more pits give it an end; for a few busy hours use the rush-hour sum.
}
