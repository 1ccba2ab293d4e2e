package hauling

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/capacity"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
	"threshday/test/published"
)

// steady is a long day of one field with huge buffers: one combine that fills them at buPerHour for so many hours, so many equal
// trucks, one place at miles.
func steady(buPerHour, hours float64, trucks int, payload, miles, loaded, empty float64) *Day {
	d := &Day{
		Combines: []Combine{{TankBu: 1e6, UnloadBuPerMin: 1e4, Tasks: []Task{{Until: 60 * hours, Acres: buPerHour * hours, AcresPerHour: buPerHour, BuPerAcre: 1}}}},
		Carts:    []Cart{{Bu: 1e6, UnloadBuPerMin: 1e4}},
		Fields:   []Field{{LbPerBu: 1, Miles: []float64{miles}, Lots: []Lot{{Bu: 1e9, Room: -1, Until: never}}}},
		Sites:    []Site{{Close: never, Pits: 1, BuPerHour: never, DayBu: never}},
		Work:     Work{CallAt: 1e-5},
	}
	for range trucks {
		d.Trucks = append(d.Trucks, Truck{PayloadLb: payload, LimitLb: payload, Loaded: loaded, Empty: empty, Until: never})
	}
	return d
}

func TestLongDaysRunAtTheCeilingOfTheChain(t *testing.T) {
	published.Each(t, "cycle", func(t *testing.T, r published.Row) {
		trip := capacity.Trip{LoadMin: r.Float("load"), QueueMin: r.Float("queue"), ScaleMin: r.Float("scale"), DumpMin: r.Float("dump"), TicketMin: r.Float("ticket")}
		rate, trucks, payload, hours := r.Float("bu_h"), r.Int("trucks"), r.Float("payload"), 400.0
		d := steady(rate, hours, trucks, payload, r.Float("miles"), r.Float("loaded"), r.Float("empty"))
		d.Work.SpotMin = trip.LoadMin
		s := &d.Sites[0]
		s.ScaleMin, s.DumpMin, s.TicketMin, s.Pits = trip.ScaleMin, trip.DumpMin, trip.TicketMin, trucks
		s.Lines = []Line{{From: math.Inf(-1), Wait: capacity.Wait{MedianMin: trip.QueueMin, GSD: 1, DayGSD: 1}}}
		o := guarded(t, NewRunner(d), Usual{})
		late := 0.0 // what was brought by the end of the hours
		for _, l := range o.Loads {
			if l.Dumped <= 60*hours {
				late += l.Bu
			}
		}
		r.Check("bu_h_kept", late/hours)
	})
}

// exponential is the luck of a pit and a road that are both memoryless.
type exponential struct{ road, dump []float64 }

func (e exponential) Road(_, nth int) float64              { return e.road[nth] }
func (e exponential) Line(int, int, capacity.Wait) float64 { return 0 }
func (e exponential) Dump(_, nth int) float64              { return e.dump[nth] }

func memoryless(n int, seed byte) []float64 {
	s := weather.NewStream([32]byte{seed}, 0, anyDay, 1)
	out := make([]float64, n)
	for i := range out {
		out[i] = -math.Log(s.Uniform())
	}
	return out
}

func TestAnOwnFleetAtOnePitIsTheClosedQueue(t *testing.T) {
	published.Each(t, "fleet", func(t *testing.T, r published.Row) {
		const hours = 8000
		trucks, away, dump := r.Int("trucks"), r.Float("away"), r.Float("dump")
		// The road is the time away: a mile a minute loaded, none back, and grain that never runs out.
		d := steady(500, hours, trucks, 100, away, 60, math.Inf(1))
		d.Sites[0].DumpMin, d.Work.CallAt = dump, 1e-4
		d.Combines[0].UnloadBuPerMin, d.Carts[0].UnloadBuPerMin = 1e3, 1e3 // minutes of a year leave fewer digits for a flow
		o := NewRunner(d).Run(exponential{memoryless(1<<16, 1), memoryless(1<<16, 2)})
		n, atPit := 0.0, 0.0
		for _, l := range o.Loads {
			if l.Dumped <= 60*hours && !l.Night {
				n++
				atPit += l.Dumped - l.Scaled
			}
		}
		r.Check("loads_h", n/hours)
		r.Check("at_pit", atPit/n)
		r.Check("idle", 1-n/hours*dump/60)
	})
}

func TestThePitServesAsTheSteadyQueuesDo(t *testing.T) {
	published.Each(t, "pits", func(t *testing.T, r published.Row) {
		const trucks = 400_000
		come, served := weather.NewStream([32]byte{3}, 0, anyDay, 1), weather.NewStream([32]byte{4}, 0, anyDay, 1)
		cs := r.Float("cs")
		var q queue
		q.reset(r.Int("pits"))
		now, waited := 0.0, 0.0
		for range trucks {
			now -= 60 / r.Float("arrivals") * math.Log(come.Uniform())
			hold := 60 / r.Float("served")
			if cs > 0 {
				hold *= served.Gamma(1/(cs*cs)) * cs * cs // mean 1, coefficient of variation cs
			}
			waited += q.serve(now, hold) - now
		}
		r.Check("wait_min", waited/trucks)
	})
}

func TestNoLongDayBeatsTheLeastLinkOfItsChain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const hours, payload, miles = 60.0, 900.0, 12.0
		field := rapid.Float64Range(300, 6000).Draw(t, "field")
		trucks, pits := rapid.IntRange(1, 6).Draw(t, "trucks"), rapid.IntRange(1, 2).Draw(t, "pits")
		trip := capacity.Trip{Distance: miles * units.Mile, Loaded: 45 * units.MilePerHour, Empty: 50 * units.MilePerHour, LoadMin: 10, ScaleMin: 5, DumpMin: rapid.Float64Range(4, 20).Draw(t, "dump"), TicketMin: 3}
		d := steady(field, hours, trucks, payload, miles, 45, 50)
		d.Work.SpotMin = trip.LoadMin
		s := &d.Sites[0]
		s.Pits, s.ScaleMin, s.DumpMin, s.TicketMin = pits, trip.ScaleMin, trip.DumpMin, trip.TicketMin
		brought := 0.0
		for _, l := range guarded(t, NewRunner(d), Usual{}).Loads {
			if !l.Night && l.Dumped <= 60*hours {
				brought += l.Bu
			}
		}
		least := capacity.Bottleneck(
			capacity.Link{Name: "field", BuPerHour: field},
			capacity.Link{Name: "trucks", BuPerHour: float64(trucks) * 60 * payload / trip.CycleMin()},
			capacity.Link{Name: "pits", BuPerHour: float64(pits) * 60 * payload / trip.DumpMin},
		)
		// The first and the last round of each truck are not whole ones.
		slack := payload * float64(trucks+pits)
		if most := least.BuPerHour * hours; brought > most+slack || brought < most-2*slack-most*0.02 {
			t.Fatalf("%.0f bu in %.0f hours, the %s passes %.0f", brought, hours, least.Name, most)
		}
	})
}
