package hauling

// What a cart does.
type cartMode uint8

const (
	cartIdle  cartMode = iota // free to answer a call
	cartGoes                  // to a combine
	cartFills                 //
	cartRuns                  // to the truck
	cartWaits                 // at the truck's place, for one
	cartDumps                 //
	cartBacks                 // a combine's own tank, back to its crop
	cartMoves                 // to another field, empty
)

type cart struct {
	mode    cartMode
	field   int // whose grain it holds, or where it stands; -1: in the yard
	at      float64
	level   float64
	combine int // it goes to or fills from
	truck   int // it dumps into
	from    uint64
	only    int // the one combine whose tank it is; -1: a cart
}

func (r *Runner) holds(i int) float64 {
	if k := r.carts[i].only; k >= 0 {
		return r.day.Combines[k].TankBu
	}
	return r.day.Carts[i].Bu
}

func (r *Runner) unloads(i int) float64 {
	if k := r.carts[i].only; k >= 0 {
		return r.day.Combines[k].UnloadBuPerMin
	}
	return r.day.Carts[i].UnloadBuPerMin
}

// cartNext returns when cart i has its next event.
func (r *Runner) cartNext(i int) float64 {
	c := &r.carts[i]
	switch c.mode {
	case cartGoes, cartRuns, cartBacks, cartMoves:
		return c.at
	case cartFills:
		k := c.combine
		out := r.day.Combines[k].UnloadBuPerMin
		next := r.now + (r.holds(i)-c.level)/out
		if in := r.cutting(k); out > in {
			next = min(next, r.now+r.combines[k].tank/(out-in))
		}
		return next
	case cartDumps:
		t := &r.trucks[c.truck]
		return r.now + min(c.level, t.target-t.level)/r.unloads(i)
	default:
		return never
	}
}

// cutting returns what flows into the tank of combine k, bu/min.
func (r *Runner) cutting(k int) float64 {
	if r.combines[k].mode != combineCuts {
		return 0
	}
	return r.task(k).buPerMin()
}

// cartEvent looks what has become of cart i.
func (r *Runner) cartEvent(i int) {
	c := &r.carts[i]
	switch c.mode {
	case cartGoes:
		if c.at <= r.now {
			c.mode, c.at = cartFills, never
			c.from |= 1 << uint(c.combine%64) //nolint:gosec // never negative
			r.combines[c.combine].cart = i
		}
	case cartFills:
		k := c.combine
		tank := &r.combines[k]
		if full := r.holds(i)-c.level <= hair; !full && tank.tank > hair {
			return
		}
		tank.cart, tank.called = -1, false
		c.mode, c.combine = cartIdle, -1
		if tank.tank >= r.day.Work.CallAt*r.day.Combines[k].TankBu {
			r.call(k)
		}
	case cartRuns:
		if c.at <= r.now {
			c.mode, c.at = cartWaits, never
		}
	case cartDumps:
		r.dumped(i)
	case cartBacks:
		if c.at <= r.now {
			c.mode, c.at = cartIdle, never
			r.cutOn(c.only)
		}
	case cartMoves:
		if c.at <= r.now {
			c.mode, c.at = cartIdle, never
		}
	default:
	}
}

// cutOn lets combine k go on that carried its own tank to the truck.
func (r *Runner) cutOn(k int) {
	c := &r.combines[k]
	c.called, c.mode = false, combineCuts
	if c.left == 0 {
		r.finish(k)
	}
}

// dumped ends the dumping of cart i when it is empty or the truck is full.
func (r *Runner) dumped(i int) {
	c := &r.carts[i]
	t := &r.trucks[c.truck]
	full := t.target-t.level <= hair
	if !full && c.level > hair {
		return
	}
	if full {
		r.depart(c.truck)
	}
	r.leaveTruck(i)
}

// leaveTruck frees cart i from the truck it dumped into: back to work, or on to the next truck.
func (r *Runner) leaveTruck(i int) {
	c := &r.carts[i]
	c.truck = -1
	if c.level <= hair {
		c.level, c.from = 0, 0
	}
	c.mode = cartWaits
	if c.level > 0 && r.mustDump(i) {
		return
	}
	c.mode = cartIdle
	if c.only >= 0 {
		c.mode, c.at = cartBacks, r.now+r.day.Work.RunMin
	}
}

// mustDump reports whether cart i has to go to a truck before it can do anything else.
func (r *Runner) mustDump(i int) bool {
	c := &r.carts[i]
	switch {
	case c.level <= hair:
		return false
	case c.only >= 0, r.holds(i)-c.level <= hair, r.gathered(c.field):
		return true
	}
	open := r.open(c.field)
	if open < 0 {
		return c.level >= r.usualLoad(c.field)-hair
	}
	return c.level >= r.trucks[open].target-r.trucks[open].level-hair
}

// usualLoad returns the largest load of field f in bushels.
func (r *Runner) usualLoad(f int) float64 {
	most := 0.0
	for i := range r.day.Trucks {
		most = max(most, r.payload(i, f))
	}
	return most
}

// gathered reports whether no more grain of field f comes into a cart.
func (r *Runner) gathered(f int) bool {
	if r.fields[f].left > hair {
		return false
	}
	for k := range r.combines {
		c := &r.combines[k]
		if c.mode != combineDone && c.mode != combineMoves && c.tank > hair && r.task(k).Field == f {
			return false
		}
	}
	return true
}

// decideCart lets cart i choose, where it has a choice; it reports whether it took one.
func (r *Runner) decideCart(i int) bool {
	c := &r.carts[i]
	switch c.mode {
	case cartIdle:
		if r.mustDump(i) {
			c.mode, c.at = cartRuns, r.now+r.day.Work.RunMin
			return true
		}
		return r.answer(i) || r.moveOn(i)
	case cartWaits:
		if t := r.openFor(c.field); t >= 0 {
			c.mode, c.truck = cartDumps, t
			l := &r.out.Loads[r.trucks[t].load]
			l.Combines |= c.from
			return true
		}
		if !r.mustDump(i) {
			if k := r.caller(i, true); k >= 0 {
				c.mode, c.at, c.combine = cartGoes, r.now+r.day.Work.RunMin, k
				return true
			}
		}
	default:
	}
	return false
}

// answer sends cart i to the combine that has called longest.
func (r *Runner) answer(i int) bool {
	c := &r.carts[i]
	if c.only >= 0 {
		return r.carryOwn(i)
	}
	if k := r.caller(i, true); k >= 0 {
		c.mode, c.at, c.combine = cartGoes, r.now+r.day.Work.RunMin, k
		return true
	}
	k := r.caller(i, false)
	switch {
	case k < 0:
		return false
	case c.level > hair: // grain of two fields does not mix
		c.mode, c.at = cartRuns, r.now+r.day.Work.RunMin
		return true
	}
	minutes := r.day.Work.RunMin
	if f := r.task(k).Field; c.field != f {
		if c.field >= 0 {
			minutes += r.day.Work.CrossMin
		}
		c.field = f
	}
	c.mode, c.at, c.combine = cartGoes, r.now+minutes, k
	return true
}

// moveOn sends the empty cart i to the field that a combine begins or works in first where its own is done.
func (r *Runner) moveOn(i int) bool {
	c := &r.carts[i]
	if c.only >= 0 || c.field < 0 || c.level > hair || !r.gathered(c.field) {
		return false
	}
	to, when := -1, never
	for k := range r.combines {
		t := &r.combines[k]
		if t.mode == combineDone || r.task(k).Field == c.field {
			continue
		}
		at := r.now
		if t.mode == combineMoves {
			at = t.at
		}
		if at < when && !r.cartIn(r.task(k).Field) {
			to, when = r.task(k).Field, at
		}
	}
	if to < 0 {
		return false
	}
	c.mode, c.field, c.at = cartMoves, to, r.now+r.day.Work.CrossMin
	return true
}

// cartIn reports whether a cart works in field f or is on its way there.
func (r *Runner) cartIn(f int) bool {
	for i := range r.carts {
		if r.carts[i].field == f {
			return true
		}
	}
	return false
}

// caller returns the combine that has called longest and that no other cart is on its way to, in the field of cart i or in any;
// -1: none.
func (r *Runner) caller(i int, here bool) int {
	best := -1
	for k := range r.combines {
		c := &r.combines[k]
		if !c.called || c.cart >= 0 || (here && r.task(k).Field != r.carts[i].field) {
			continue
		}
		taken := false
		for j := range r.carts {
			taken = taken || (j != i && r.carts[j].mode == cartGoes && r.carts[j].combine == k)
		}
		if !taken && (best < 0 || c.since < r.combines[best].since) {
			best = k
		}
	}
	return best
}

// carryOwn lets a combine without a cart go to the truck once its tank is full or its task is over.
func (r *Runner) carryOwn(i int) bool {
	c := &r.carts[i]
	k := &r.combines[c.only]
	if k.mode != combineFull && k.mode != combineClears {
		return false
	}
	c.field, c.level, c.from = r.task(c.only).Field, k.tank, 1<<uint(c.only%64) //nolint:gosec // never negative
	k.tank, k.mode = 0, combineAway
	c.mode, c.at = cartRuns, r.now+r.day.Work.RunMin
	return true
}
