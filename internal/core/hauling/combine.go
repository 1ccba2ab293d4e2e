package hauling

// What a combine does.
type combineMode uint8

const (
	combineDone   combineMode = iota
	combineMoves              // to its task, or waits for its hour
	combineCuts               //
	combineFull               // stands with a full tank
	combineClears             // is done with the task and has grain in the tank
	combineAway               // carries its own tank to the truck
)

type combine struct {
	mode   combineMode
	at     float64 // while it moves: when the task begins
	task   int
	left   float64 // bushels of the task to cut
	tank   float64
	cart   int     // that fills from it; -1: none
	called bool    // for a cart
	since  float64 // when it called
}

func (r *Runner) task(k int) *Task { return &r.day.Combines[k].Tasks[r.combines[k].task] }

// nextTask sends combine k from the task it is done with to the next in which there is still time.
func (r *Runner) nextTask(k, done int) {
	c := &r.combines[k]
	r.moved = true
	tasks := r.day.Combines[k].Tasks
	for c.task = done + 1; c.task < len(tasks); c.task++ {
		t := &tasks[c.task]
		begins := t.From
		if done >= 0 {
			begins = max(begins, r.now+t.MoveMin)
		}
		if begins < t.Until && t.Acres > 0 {
			c.mode, c.at, c.left = combineMoves, begins, t.Acres*t.BuPerAcre
			return
		}
		r.giveUp(t, t.Acres*t.BuPerAcre)
	}
	c.mode, c.at, c.left = combineDone, never, 0
}

// giveUp leaves bushels of a task standing.
func (r *Runner) giveUp(t *Task, bu float64) {
	r.fields[t.Field].left -= bu
	r.out.Uncut[t.Field] += bu / t.BuPerAcre
}

// combineNext returns when combine k has its next event of its own.
func (r *Runner) combineNext(k int) float64 {
	c := &r.combines[k]
	switch c.mode {
	case combineMoves:
		return c.at
	case combineClears: // it stands until its last task is over
		tasks := r.day.Combines[k].Tasks
		if last := tasks[len(tasks)-1].Until; c.task < len(tasks)-1 && last > r.now {
			return last
		}
	default:
	}
	if c.mode != combineCuts && c.mode != combineFull && c.mode != combineAway {
		return never
	}
	t := r.task(k)
	next := never
	if c.left > 0 {
		next = t.Until
	}
	if c.mode != combineCuts {
		return next
	}
	rate, tank := t.buPerMin(), r.day.Combines[k].TankBu
	next = min(next, r.now+c.left/rate)
	if c.cart >= 0 {
		rate -= r.day.Combines[k].UnloadBuPerMin
	}
	if rate > 0 {
		next = min(next, r.now+(tank-c.tank)/rate)
		if call := r.day.Work.CallAt * tank; !c.called && c.tank < call {
			next = min(next, r.now+(call-c.tank)/rate)
		}
	}
	return next
}

// combineEvent looks what has become of combine k.
func (r *Runner) combineEvent(k int) {
	c := &r.combines[k]
	if c.mode == combineMoves && c.at <= r.now {
		c.mode, c.at = combineCuts, never
	}
	if c.mode == combineDone || c.mode == combineMoves {
		return
	}
	t := r.task(k)
	if c.left > 0 && (r.now >= t.Until || c.left <= hair) {
		r.giveUp(t, c.left)
		c.left = 0
	}
	tank := r.day.Combines[k].TankBu
	if c.mode == combineCuts && !c.called && c.tank >= min(r.day.Work.CallAt*tank, tank-hair)-hair {
		r.call(k)
	}
	switch {
	case c.mode == combineAway:
	case c.left == 0:
		r.finish(k)
	case c.mode == combineCuts && c.cart < 0 && c.tank >= tank-hair:
		c.mode = combineFull
	case c.mode == combineFull && (c.cart >= 0 || c.tank < tank-hair):
		c.mode = combineCuts
	}
}

func (r *Runner) call(k int) {
	c := &r.combines[k]
	c.called, c.since = true, r.now
}

// finish clears the tank of combine k before it goes on.
func (r *Runner) finish(k int) {
	c := &r.combines[k]
	if c.cart < 0 && c.tank <= hair {
		r.nextTask(k, c.task)
		return
	}
	c.mode = combineClears
	if c.cart < 0 && !c.called {
		r.call(k)
	}
}

// idle says whether combine k stands with crop to cut, and why.
func (r *Runner) idle(k int) (why Cause, stands bool) {
	c := &r.combines[k]
	switch c.mode {
	case combineFull:
	case combineAway:
		if c.left == 0 && c.task == len(r.day.Combines[k].Tasks)-1 {
			return 0, false
		}
	case combineClears:
		if c.cart >= 0 || c.task == len(r.day.Combines[k].Tasks)-1 {
			return 0, false
		}
	default:
		return 0, false
	}
	f := r.task(k).Field
	for i := range r.carts {
		if w := &r.carts[i]; w.mode == cartWaits && (w.only < 0 || w.only == k) {
			return r.whyNoTruck(f), true
		}
	}
	if c.mode == combineAway {
		return Unloading, true
	}
	return CartBusy, true
}

// whyNoTruck says why no truck takes grain of field f.
func (r *Runner) whyNoTruck(f int) Cause {
	for i := range r.trucks {
		if m := r.trucks[i].mode; m != truckNight {
			return TruckAway
		}
	}
	return r.fields[f].why
}
