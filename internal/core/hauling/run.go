package hauling

import (
	"math"
	"slices"
)

// never is the time of an event that does not come.
var never = math.Inf(1)

// hair is a bushel count or a time too small to matter: what is left of rounding.
const hair = 1e-7

// mostEvents bounds a run: a harvest day has some thousands.
const mostEvents = 1_000_000

// A Runner runs a day again and again, without new memory once it has run.
type Runner struct {
	day      *Day
	luck     Luck
	now      float64
	combines []combine
	carts    []cart
	trucks   []truck
	fields   []field
	places   []place
	out      Outcome
	moved    bool   // a truck or a combine went somewhere since idle trucks last looked around
	watch    func() // after every event; nil: nobody watches
}

// NewRunner returns a runner of day, which must not change while it is used. Panics on a day that cannot run: no
// combine or truck, a task in a field that is none, a truck without a load.
func NewRunner(day *Day) *Runner {
	day.check()
	carts := len(day.Carts)
	if carts == 0 {
		carts = len(day.Combines)
	}
	r := &Runner{
		day: day, combines: make([]combine, len(day.Combines)), carts: make([]cart, carts), trucks: make([]truck, len(day.Trucks)),
		fields: make([]field, len(day.Fields)), places: make([]place, len(day.Sites)),
	}
	r.out.Idle = make([][Causes]float64, len(day.Combines))
	r.out.Acres, r.out.Uncut = make([]float64, len(day.Fields)), make([]float64, len(day.Fields))
	return r
}

func (d *Day) check() {
	if len(d.Combines) == 0 || len(d.Trucks) == 0 {
		panic("hauling: a day without combine or truck")
	}
	if !(d.Work.CallAt > 0) || d.Work.CallAt > 1 {
		panic("hauling: a combine calls at no part of its tank")
	}
	for _, c := range d.Combines {
		if !(c.TankBu > 0) || !(c.UnloadBuPerMin > 0) {
			panic("hauling: a combine without tank")
		}
		for _, t := range c.Tasks {
			if !(t.AcresPerHour > 0) || !(t.BuPerAcre > 0) || len(d.Fields[t.Field].Lots) == 0 || len(d.Fields[t.Field].Miles) != len(d.Sites) {
				panic("hauling: a task without grain or without a place for it")
			}
		}
	}
	for _, c := range d.Carts {
		if !(c.Bu > 0) || !(c.UnloadBuPerMin > 0) {
			panic("hauling: a cart that holds nothing")
		}
	}
	for _, t := range d.Trucks {
		if !(t.PayloadLb > 0) || t.LimitLb < t.PayloadLb || !(t.Loaded > 0) || !(t.Empty > 0) {
			panic("hauling: a truck without load or speed, or loaded over its limit")
		}
	}
	for _, s := range d.Sites {
		if s.Pits < 1 {
			panic("hauling: a place without a pit")
		}
	}
}

// A field is the state of one field.
type field struct {
	left float64 // bushels still to cut in tasks that are not over
	lots []float64
	why  Cause // that its last load found no place for
}

// Run runs the day under luck. The outcome belongs to the runner: the next run overwrites it.
func (r *Runner) Run(luck Luck) *Outcome {
	r.reset(luck)
	for range mostEvents {
		r.decide()
		if r.watch != nil {
			r.watch()
		}
		next := r.next()
		if next == never {
			r.close()
			return &r.out
		}
		r.advance(next)
		r.happen()
	}
	panic("hauling: a day without an end")
}

func (r *Runner) reset(luck Luck) {
	d := r.day
	r.luck, r.now = luck, math.Inf(-1)
	for f := range r.fields {
		lots := r.fields[f].lots[:0]
		for range d.Fields[f].Lots {
			lots = append(lots, 0)
		}
		r.fields[f] = field{lots: lots, why: Closed}
		r.out.Acres[f], r.out.Uncut[f] = 0, 0
	}
	for i := range r.places {
		p := &r.places[i]
		p.pits.reset(d.Sites[i].Pits)
		*p = place{pits: p.pits, lastReady: math.Inf(-1), rooms: append(p.rooms[:0], d.Sites[i].Rooms...)}
	}
	start := never
	for k := range r.combines {
		r.combines[k] = combine{mode: combineDone, at: never, cart: -1}
		r.out.Idle[k] = [Causes]float64{}
		for _, t := range d.Combines[k].Tasks {
			r.fields[t.Field].left += t.Acres * t.BuPerAcre
			start = min(start, t.From)
		}
	}
	for i := range r.carts {
		r.carts[i] = cart{field: -1, at: never, only: -1, combine: -1}
		if len(d.Carts) == 0 {
			r.carts[i].only = i
		}
	}
	for i := range r.trucks {
		r.trucks[i] = truck{mode: truckIdle, field: -1, at: never, load: -1}
	}
	r.out = Outcome{Loads: r.out.Loads[:0], Acres: r.out.Acres, Uncut: r.out.Uncut, Idle: r.out.Idle}
	if start == never {
		return
	}
	r.now = start
	for k := range r.combines {
		r.nextTask(k, -1)
	}
}

// decide lets everybody who stands choose what to do, until nobody changes any more.
func (r *Runner) decide() {
	for changed := true; changed; {
		changed = false
		look := r.moved
		r.moved = false
		for i := range r.trucks {
			if r.trucks[i].mode != truckIdle || look {
				changed = r.decideTruck(i) || changed
			}
		}
		for i := range r.carts {
			changed = r.decideCart(i) || changed
		}
	}
}

// next returns when the next event comes.
func (r *Runner) next() float64 {
	next := never
	for k := range r.combines {
		next = min(next, r.combineNext(k))
	}
	for i := range r.carts {
		next = min(next, r.cartNext(i))
	}
	for i := range r.trucks {
		next = min(next, r.trucks[i].at)
	}
	return max(next, r.now)
}

// advance lets grain flow until then.
func (r *Runner) advance(then float64) {
	dt := then - r.now
	for k := range r.combines {
		c := &r.combines[k]
		if cause, stands := r.idle(k); stands {
			r.out.Idle[k][cause] += dt
		}
		if c.mode == combineCuts {
			t := r.task(k)
			bu := min(t.buPerMin()*dt, c.left)
			c.left -= bu
			c.tank += bu
			r.fields[t.Field].left -= bu
			r.out.CutBu += bu
			r.out.Acres[t.Field] += bu / t.BuPerAcre
		}
	}
	for i := range r.carts {
		c := &r.carts[i]
		switch c.mode {
		case cartFills:
			from := &r.combines[c.combine]
			bu := min(r.day.Combines[c.combine].UnloadBuPerMin*dt, from.tank, r.holds(i)-c.level)
			from.tank -= bu
			c.level += bu
		case cartDumps:
			to := &r.trucks[c.truck]
			bu := min(r.unloads(i)*dt, c.level, to.target-to.level)
			c.level -= bu
			to.level += bu
		default:
		}
	}
	r.now = then
}

// happen changes the state of whoever's event has come.
func (r *Runner) happen() {
	for i := range r.trucks {
		if r.trucks[i].at <= r.now {
			r.truckEvent(i)
		}
	}
	for i := range r.carts {
		r.cartEvent(i)
	}
	for k := range r.combines {
		r.combineEvent(k)
	}
}

// close takes stock of what stands overnight.
func (r *Runner) close() {
	for k := range r.combines {
		c := &r.combines[k]
		r.out.InTanks += c.tank
		if c.mode == combineDone {
			continue
		}
		r.giveUp(r.task(k), c.left)
		for _, t := range r.day.Combines[k].Tasks[c.task+1:] {
			r.giveUp(&t, t.Acres*t.BuPerAcre)
		}
	}
	for i := range r.carts {
		r.out.InCarts += r.carts[i].level
	}
	for i := range r.trucks {
		t := &r.trucks[i]
		if t.mode == truckLoads && t.level > 0 {
			r.night(i)
		}
		r.out.InTrucks += t.level
	}
	for _, l := range r.out.Loads {
		if !l.Night && !l.Turned {
			r.out.Last = max(r.out.Last, l.Dumped)
		}
	}
	// A load that was opened and never filled is none.
	r.out.Loads = slices.DeleteFunc(r.out.Loads, func(l Load) bool { return l.Bu <= hair })
}
