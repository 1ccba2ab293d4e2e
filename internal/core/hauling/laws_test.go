package hauling

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/capacity"
)

// guarded runs a day and checks after every event that no grain is lost and nothing is negative or over what it holds.
func guarded(t interface{ Fatalf(string, ...any) }, r *Runner, luck Luck) *Outcome {
	r.watch = func() {
		const tol = 1e-5
		stores := r.out.Delivered
		for k := range r.combines {
			c := &r.combines[k]
			if c.tank < -tol || c.tank > r.day.Combines[k].TankBu+tol {
				t.Fatalf("at %.2f min tank %d holds %.6f of %.0f bu", r.now, k, c.tank, r.day.Combines[k].TankBu)
			}
			if c.left < -tol {
				t.Fatalf("at %.2f min combine %d has %.6f bu left", r.now, k, c.left)
			}
			stores += c.tank
		}
		for i := range r.carts {
			if l := r.carts[i].level; l < -tol || l > r.holds(i)+tol {
				t.Fatalf("at %.2f min cart %d holds %.6f of %.0f bu", r.now, i, l, r.holds(i))
			}
			stores += r.carts[i].level
		}
		for i := range r.trucks {
			w := &r.trucks[i]
			if w.level < -tol || w.field >= 0 && w.level > r.day.Trucks[i].LimitLb/r.day.Fields[w.field].LbPerBu+tol {
				t.Fatalf("at %.2f min truck %d holds %.6f bu", r.now, i, w.level)
			}
			stores += w.level
		}
		if math.Abs(stores-r.out.CutBu) > tol {
			t.Fatalf("at %.2f min %.6f bu are cut, %.6f are somewhere", r.now, r.out.CutBu, stores)
		}
		for f := range r.fields {
			if r.fields[f].left < -tol {
				t.Fatalf("at %.2f min field %d has %.6f bu left", r.now, f, r.fields[f].left)
			}
		}
		for s := range r.places {
			if r.places[s].taken > r.day.Sites[s].DayBu+tol {
				t.Fatalf("at %.2f min place %d has taken %.3f of %.0f bu", r.now, s, r.places[s].taken, r.day.Sites[s].DayBu)
			}
			for n, left := range r.places[s].rooms {
				if left < -tol {
					t.Fatalf("at %.2f min room %d of place %d is overfilled by %.3f bu", r.now, n, s, -left)
				}
			}
		}
	}
	out := r.Run(luck)
	r.watch = nil
	return out
}

func someDay(t *rapid.T) *Day {
	d := &Day{Work: DefaultWork()}
	d.Work.SpotMin = rapid.Float64Range(0, 15).Draw(t, "spot")
	fields, sites := rapid.IntRange(1, 3).Draw(t, "fields"), rapid.IntRange(1, 3).Draw(t, "sites")
	for range sites {
		s := Site{
			Open: rapid.Float64Range(0, 500).Draw(t, "open"), Close: rapid.Float64Range(600, 1300).Draw(t, "close"), Pits: rapid.IntRange(1, 2).Draw(t, "pits"),
			ScaleMin: 5, DumpMin: rapid.Float64Range(3, 12).Draw(t, "dump"), TicketMin: 3, BuPerHour: rapid.SampledFrom([]float64{3000, 15000, never}).Draw(t, "receive"),
			DayBu: rapid.SampledFrom([]float64{2500, 9000, never}).Draw(t, "day"), Rooms: []float64{rapid.Float64Range(0, 5000).Draw(t, "room")},
		}
		if rapid.Bool().Draw(t, "line") {
			s.Lines = []Line{{From: 0, Wait: capacity.WaitAround(15)}, {From: 840, Wait: capacity.WaitAround(30)}}
		}
		d.Sites = append(d.Sites, s)
	}
	for range fields {
		f := Field{LbPerBu: rapid.SampledFrom([]float64{56, 60}).Draw(t, "lb")}
		for s := range sites {
			f.Miles = append(f.Miles, rapid.Float64Range(0.5, 40).Draw(t, "miles"))
			f.Lots = append(f.Lots, Lot{Site: s, Bu: rapid.Float64Range(0, 6000).Draw(t, "planned"), Room: rapid.IntRange(-1, 0).Draw(t, "bound"), Until: never})
		}
		d.Fields = append(d.Fields, f)
	}
	for range rapid.IntRange(1, 3).Draw(t, "combines") {
		c := Combine{TankBu: rapid.Float64Range(200, 450).Draw(t, "tank"), UnloadBuPerMin: 60 * rapid.Float64Range(2, 5).Draw(t, "unload")}
		at := 480.0
		for range rapid.IntRange(1, 3).Draw(t, "tasks") {
			task := Task{
				Field: rapid.IntRange(0, fields-1).Draw(t, "field"), From: at, Until: 1320, MoveMin: 20,
				Acres: rapid.Float64Range(1, 60).Draw(t, "acres"), AcresPerHour: rapid.Float64Range(3, 16).Draw(t, "rate"), BuPerAcre: rapid.Float64Range(40, 220).Draw(t, "yield"),
			}
			at += 60 * task.Acres / task.AcresPerHour
			c.Tasks = append(c.Tasks, task)
		}
		d.Combines = append(d.Combines, c)
	}
	for range rapid.IntRange(0, 2).Draw(t, "carts") {
		d.Carts = append(d.Carts, Cart{Bu: rapid.Float64Range(400, 1500).Draw(t, "cart"), UnloadBuPerMin: 480})
	}
	for range rapid.IntRange(1, 5).Draw(t, "trucks") {
		payload := rapid.Float64Range(25000, 55000).Draw(t, "payload")
		d.Trucks = append(d.Trucks, Truck{PayloadLb: payload, LimitLb: payload / capacity.LoadTo, Loaded: 45, Empty: 50, Until: rapid.SampledFrom([]float64{1000, 1380, never}).Draw(t, "shift")})
	}
	return d
}

func drawn(sites, draw int) *Drawn {
	d := NewDrawn(sites)
	d.Draw([32]byte{1, 2, 3}, draw, anyDay)
	return d
}

func TestNoGrainIsLostAtAnyEvent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := someDay(t)
		o := guarded(t, NewRunner(d), drawn(len(d.Sites), rapid.IntRange(0, 1000).Draw(t, "draw")))
		const tol = 1e-4
		sum := o.Delivered + o.InTrucks + o.InCarts + o.InTanks
		if math.Abs(sum-o.CutBu) > tol {
			t.Fatalf("cut %.4f bu, delivered and overnight %.4f", o.CutBu, sum)
		}
		delivered, night := 0.0, 0.0
		for _, l := range o.Loads {
			if l.Night || l.Turned {
				night += l.Bu
				continue
			}
			delivered += l.Bu
			s := &d.Sites[l.Site]
			if l.Scaled > s.Close || l.Scaled < s.Open {
				t.Fatalf("a load is weighed at %.1f, the place takes grain from %.1f to %.1f", l.Scaled, s.Open, s.Close)
			}
			if !(l.Began <= l.Left && l.Left < l.Scaled && l.Scaled < l.Dumped && l.Dumped < l.Back) {
				t.Fatalf("a load's times are out of order: %+v", l)
			}
			if w := d.Trucks[l.Truck].Until; l.Left > w {
				t.Fatalf("a truck sets out at %.1f, after its last trip at %.1f", l.Left, w)
			}
		}
		if math.Abs(delivered-o.Delivered) > tol || math.Abs(night-o.InTrucks) > tol {
			t.Fatalf("loads add up to %.4f delivered and %.4f overnight, the day has %.4f and %.4f", delivered, night, o.Delivered, o.InTrucks)
		}
		for f := range d.Fields {
			planned := 0.0
			for _, c := range d.Combines {
				for _, k := range c.Tasks {
					if k.Field == f {
						planned += k.Acres
					}
				}
			}
			if math.Abs(o.Acres[f]+o.Uncut[f]-planned) > tol {
				t.Fatalf("field %d: %.5f acres cut and %.5f not, %.5f planned", f, o.Acres[f], o.Uncut[f], planned)
			}
		}
	})
}

var anyDay = calendar.Day{Year: 2031, Month: 10, Date: 1}

func TestATruckIsInOnePlaceAndRunsAreRepeatable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := someDay(t)
		r, luck := NewRunner(d), drawn(len(d.Sites), 7)
		first := r.Run(luck).clone()
		r.Run(Usual{}) // another day between the two
		if again := r.Run(luck).clone(); !reflect.DeepEqual(first, again) {
			t.Fatalf("the same luck brings\n%+v\nand then\n%+v", first, again)
		}
		free := make([]float64, len(d.Trucks))
		for _, l := range first.Loads {
			if l.Began < free[l.Truck] {
				t.Fatalf("truck %d is loaded at %.2f and back at %.2f", l.Truck, l.Began, free[l.Truck])
			}
			if free[l.Truck] = never; !l.Night && !l.Turned {
				free[l.Truck] = l.Back
			}
		}
	})
}

// oneLot makes d a day of one field whose grain all goes to one place in equal trucks.
func oneLot(d *Day) {
	d.Fields = d.Fields[:1]
	d.Fields[0].Lots = []Lot{{Site: d.Fields[0].Lots[0].Site, Bu: 1e6, Room: -1, Until: never}}
	for k := range d.Combines {
		for n := range d.Combines[k].Tasks {
			d.Combines[k].Tasks[n].Field = 0
		}
	}
	for i := range d.Trucks {
		d.Trucks[i] = d.Trucks[0]
	}
}

// better returns d with a truck more, and d with half the line.
func better(d *Day) []*Day {
	truck, line := *d, *d
	truck.Trucks = append(slices.Clone(d.Trucks), d.Trucks[0])
	line.Sites = slices.Clone(d.Sites)
	for i := range line.Sites {
		line.Sites[i].Lines = slices.Clone(line.Sites[i].Lines)
		for n := range line.Sites[i].Lines {
			line.Sites[i].Lines[n].Wait.MedianMin /= 2
		}
	}
	return []*Day{&truck, &line}
}

// One place takes the grain of one field. With several, a truck more lets a far place be reached that was given up for a
// near one before, which brings fewer bushels to where the plan wants them: there is no such law.
func TestATruckMoreOrAShorterLineBringsNoLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := someDay(t)
		oneLot(d)
		luck := drawn(len(d.Sites), rapid.IntRange(0, 1000).Draw(t, "draw"))
		before := NewRunner(d).Run(luck).Delivered
		tol := d.Trucks[0].LimitLb/d.Fields[0].LbPerBu + hair // at closing time the last load may be another
		for n, b := range better(d) {
			if after := NewRunner(b).Run(luck).Delivered; after < before-tol {
				t.Fatalf("change %d: %.1f bu instead of %.1f", n, after, before)
			}
		}
	})
	rapid.Check(t, func(t *rapid.T) { // one combine, one cart, nothing closes: exactly
		d := someDay(t)
		oneLot(d)
		d.Combines = d.Combines[:1]
		d.Combines[0].Tasks = d.Combines[0].Tasks[:1]
		d.Carts = d.Carts[:min(len(d.Carts), 1)]
		for i := range d.Trucks {
			d.Trucks[i].Until = never
		}
		for i := range d.Sites {
			d.Sites[i].Close, d.Sites[i].DayBu = never, never
		}
		luck := drawn(len(d.Sites), rapid.IntRange(0, 1000).Draw(t, "draw"))
		before := NewRunner(d).Run(luck)
		by, cut := before.Last, before.Delivered
		for n, b := range better(d) {
			after := NewRunner(b).Run(luck)
			if after.Delivered < cut-1e-6 || after.Delivered == cut && after.Last > by+1e-6 {
				t.Fatalf("change %d: %.1f bu by %.2f instead of %.1f by %.2f", n, after.Delivered, after.Last, cut, by)
			}
		}
	})
}

func TestATruckInLineAtClosingComesHome(t *testing.T) {
	d := steady(600, 2, 1, 900, 10, 40, 40)
	d.Sites[0].Close, d.Sites[0].DumpMin = 200, 6
	d.Sites[0].Lines = []Line{{From: math.Inf(-1), Wait: capacity.Wait{MedianMin: 10, GSD: 1.5, DayGSD: 1}}}
	o := guarded(t, NewRunner(d), slow{})
	if len(o.Loads) != 1 || !o.Loads[0].Turned || o.Loads[0].Back != 215 {
		t.Errorf("the day's loads are %+v, want one, turned away at 200 and home at 215", o.Loads)
	}
	if o.Delivered != 0 || o.InTrucks < 900-1e-6 {
		t.Errorf("%.0f bu delivered and %.0f overnight, want none and what was in line", o.Delivered, o.InTrucks)
	}
}

// slow is a line of three hours.
type slow struct{ Usual }

func (slow) Line(int, int, capacity.Wait) float64 { return 180 }
