package hauling

import (
	"testing"

	"threshday/internal/core/capacity"
)

// farmDay is a day of 4 combines, 3 carts and 8 trucks in two fields of corn and one of soybeans, about 60 loads.
func farmDay() *Day {
	d := &Day{Work: DefaultWork()}
	task := func(field int, from, acres, rate, bu float64) Task {
		return Task{Field: field, From: from, Until: 1320, MoveMin: 35, Acres: acres, AcresPerHour: rate, BuPerAcre: bu}
	}
	d.Combines = []Combine{
		{TankBu: 410, UnloadBuPerMin: 280, Tasks: []Task{task(0, 480, 80, 16, 210), task(2, 900, 60, 16, 190)}},
		{TankBu: 410, UnloadBuPerMin: 280, Tasks: []Task{task(0, 480, 80, 16, 210), task(2, 900, 60, 16, 190)}},
		{TankBu: 350, UnloadBuPerMin: 240, Tasks: []Task{task(1, 600, 90, 15, 58)}},
		{TankBu: 300, UnloadBuPerMin: 180, Tasks: []Task{task(1, 600, 60, 9, 58), task(2, 1000, 20, 9, 190)}},
	}
	for range 3 {
		d.Carts = append(d.Carts, Cart{Bu: 1100, UnloadBuPerMin: 480})
	}
	for range 8 {
		d.Trucks = append(d.Trucks, Truck{PayloadLb: 51900, LimitLb: 53500, Loaded: 45, Empty: 50, Until: 1380})
	}
	line := func(m float64) []Line {
		return []Line{{From: 0, Wait: capacity.WaitAround(m)}, {From: 840, Wait: capacity.WaitAround(2 * m)}}
	}
	d.Sites = []Site{
		{Open: 420, Close: 1140, Pits: 2, ScaleMin: 5, DumpMin: 6, TicketMin: 3, BuPerHour: 10000, DayBu: never, Lines: line(12)},
		{Open: 360, Close: 1200, Pits: 1, ScaleMin: 6, DumpMin: 6, TicketMin: 4, BuPerHour: 15000, DayBu: never, Lines: line(20)},
		{Open: 0, Close: never, Pits: 1, DumpMin: 8, BuPerHour: 6000, DayBu: 30000},
	}
	d.Fields = []Field{
		{LbPerBu: 56, Miles: []float64{6, 22, 2}, Lots: []Lot{{Site: 0, Bu: 15000, Room: -1, Until: never}, {Site: 2, Bu: 20000, Room: -1, Until: never}}},
		{LbPerBu: 60, Miles: []float64{9, 34, 3}, Lots: []Lot{{Site: 1, Bu: 9000, Room: -1, Until: never}}},
		{LbPerBu: 56, Miles: []float64{4, 25, 5}, Lots: []Lot{{Site: 0, Bu: 9000, Room: -1, Until: never}, {Site: 2, Bu: 20000, Room: -1, Until: never}}},
	}
	return d
}

func TestARunTakesNoNewMemory(t *testing.T) {
	r, luck := NewRunner(farmDay()), drawn(3, 1)
	r.Run(luck)
	if got := testing.AllocsPerRun(5, func() { r.Run(luck) }); got > 0 {
		t.Errorf("a run takes %.0f allocations, want none", got)
	}
}

// BenchmarkFarmDay runs one draw of the day.
func BenchmarkFarmDay(b *testing.B) {
	r, luck := NewRunner(farmDay()), drawn(3, 1)
	o := r.Run(luck)
	b.ReportMetric(float64(len(o.Loads)), "loads")
	b.ReportAllocs()
	for b.Loop() {
		r.Run(luck)
	}
}

// BenchmarkAhead is the day under 200 lucks.
func BenchmarkAhead(b *testing.B) {
	d := farmDay()
	lucks := make([]*Drawn, 200)
	for i := range lucks {
		lucks[i] = drawn(3, i)
	}
	b.ReportAllocs()
	for b.Loop() {
		Ahead(d, len(lucks), func(i int) Luck { return lucks[i] })
	}
}
