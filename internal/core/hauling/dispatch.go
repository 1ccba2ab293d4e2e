package hauling

import "math"

// leastLoad is the part of a load below which a truck does not set out to be in time, and below which what is left of a
// lot is not worth a truck of its own. [judgement]
const leastLoad = 0.5

// choose gives the load of truck i its lot: the first of its field, in order, that still waits for a good part of a
// load and can be reached in time; else the one furthest behind of those that can be reached; else it stays overnight.
func (r *Runner) choose(i int) {
	t := &r.trucks[i]
	f := t.field
	lots := r.day.Fields[f].Lots
	full := r.payload(i, f)
	if rest := r.grain(f) + t.level; rest > full && rest <= r.day.Trucks[i].LimitLb/r.day.Fields[f].LbPerBu {
		full = rest
	}
	best, behind := -1, math.Inf(-1)
	most, lack := 0, math.Inf(-1)
	why := Closed
	for l := range lots {
		left := lots[l].Bu - r.fields[f].lots[l]
		if left > lack {
			most, lack = l, left
		}
		switch {
		case r.room(f, l) < min(leastLoad*full, r.grain(f)+t.level):
			why = NoRoom
		case r.now+r.fillMin(i, leastLoad*full) >= r.leaveBy(i, f, l):
		case left >= leastLoad*full:
			r.take(i, l, min(full, r.room(f, l)))
			return
		case left > behind:
			best, behind = l, left
		}
	}
	if best >= 0 {
		r.take(i, best, min(full, r.room(f, best)))
		return
	}
	r.fields[f].why = why
	load := &r.out.Loads[t.load]
	load.Lot, load.Site, load.Night = most, lots[most].Site, true
	t.target, t.at = max(full, t.level), never
}

// grain returns what there is of field f outside the trucks, bushels.
func (r *Runner) grain(f int) float64 {
	bu := r.fields[f].left
	for j := range r.carts {
		if r.carts[j].field == f {
			bu += r.carts[j].level
		}
	}
	for k := range r.combines {
		if c := &r.combines[k]; c.mode != combineDone && r.task(k).Field == f {
			bu += c.tank
		}
	}
	return bu
}

// room returns what lot l of field f may still take, bushels.
func (r *Runner) room(f, l int) float64 {
	lot := &r.day.Fields[f].Lots[l]
	room := r.day.Sites[lot.Site].DayBu - r.places[lot.Site].taken
	if lot.Room >= 0 {
		room = min(room, r.places[lot.Site].rooms[lot.Room])
	}
	return room
}

// book counts bushels as on their way to lot l of field f.
func (r *Runner) book(f, l int, bu float64) {
	lot := &r.day.Fields[f].Lots[l]
	r.fields[f].lots[l] += bu
	r.places[lot.Site].taken += bu
	if lot.Room >= 0 {
		r.places[lot.Site].rooms[lot.Room] -= bu
	}
}

func (r *Runner) take(i, l int, bu float64) {
	t := &r.trucks[i]
	load := &r.out.Loads[t.load]
	load.Lot, load.Site, load.Night = l, r.day.Fields[t.field].Lots[l].Site, false
	t.target = max(bu, t.level)
	t.at = r.leaveBy(i, t.field, l)
	r.book(t.field, l, t.target)
}

// leaveBy returns when truck i must be full to be at the scale of lot l of field f in time. It counts on a line that is
// longer five times in six than it will be.
func (r *Runner) leaveBy(i, f, l int) float64 {
	lot := &r.day.Fields[f].Lots[l]
	s := &r.day.Sites[lot.Site]
	last := min(s.Close, lot.Until)
	if w, any := s.wait(last); any {
		last -= w.MedianMin * w.GSD
	}
	last -= r.loadedMin(i, f, lot.Site)
	return min(last, r.day.Trucks[i].Until) - r.day.Work.SpotMin
}

// fillMin returns how long it takes to have so much in truck i, as things stand.
func (r *Runner) fillMin(i int, bu float64) float64 {
	t := &r.trucks[i]
	bu -= t.level
	have, out := 0.0, math.Inf(1)
	for j := range r.carts {
		if r.carts[j].field == t.field {
			have += r.carts[j].level
			out = min(out, r.unloads(j))
		}
	}
	if bu <= have {
		return max(bu, 0) / out
	}
	rate := 0.0
	for k := range r.combines {
		if c := &r.combines[k]; c.mode == combineCuts && r.task(k).Field == t.field {
			have += c.tank
			rate += r.task(k).buPerMin()
		}
	}
	if rate == 0 {
		return 0
	}
	return max(bu-have, 0) / rate
}

// goWhereWanted sends the idle truck i to another field where grain waits for it sooner.
func (r *Runner) goWhereWanted(i int) bool {
	t := &r.trucks[i]
	here := never
	if t.field >= 0 {
		here = r.wanted(t.field, i)
	}
	best, when := -1, never
	for f := range r.fields {
		if f == t.field {
			continue
		}
		if at := r.wanted(f, i); at < when {
			best, when = f, at
		}
	}
	switch {
	case best < 0:
		return false
	case t.field < 0:
		t.field, t.arrived, r.moved = best, r.now, true
		return true
	case max(when, r.now+r.day.Work.CrossMin)+r.day.Work.CrossMin < here:
		t.mode, t.field, t.at = truckGoes, best, r.now+r.day.Work.CrossMin
		r.moved = true
		return true
	}
	return false
}

// wanted returns when grain of field f begins to wait for truck i, given the other trucks there or on their way to it;
// never where they carry all there is.
func (r *Runner) wanted(f, i int) float64 {
	covered := 0.0
	for j := range r.trucks {
		t := &r.trucks[j]
		if j == i || t.field != f {
			continue
		}
		switch t.mode {
		case truckIdle, truckGoes:
			covered += r.payload(j, f)
		case truckLoads:
			covered += t.target - t.level
		default:
		}
	}
	have := 0.0
	for j := range r.carts {
		if r.carts[j].field == f {
			have += r.carts[j].level
		}
	}
	begins, rate := never, 0.0
	for k := range r.combines {
		c := &r.combines[k]
		if c.mode == combineDone {
			continue
		}
		if c.mode != combineMoves && r.task(k).Field == f {
			have += c.tank
			begins = r.now
			rate += r.task(k).buPerMin()
			continue
		}
		for n := c.task; n < len(r.day.Combines[k].Tasks); n++ {
			if t := &r.day.Combines[k].Tasks[n]; t.Field == f {
				if begins != r.now {
					begins, rate = min(begins, max(t.From, r.now)), rate+t.buPerMin()
				}
				break
			}
		}
	}
	switch {
	case have+r.fields[f].left-covered <= hair:
		return never
	case covered < have:
		return r.now
	case rate == 0:
		return never
	}
	return begins + (covered-have)/rate
}

// goBack sends the empty truck i to the field where grain waits for it first; home where none does.
func (r *Runner) goBack(i int) {
	t := &r.trucks[i]
	load := &r.out.Loads[t.load]
	best, when := -1, never
	for f := range r.fields {
		if len(r.day.Fields[f].Miles) == 0 {
			continue
		}
		at := r.wanted(f, i)
		if at == never {
			continue
		}
		if at = max(at, r.now+r.emptyMin(i, f, load.Site)); at < when {
			best, when = f, at
		}
	}
	if best < 0 {
		best = t.field
	}
	t.mode, t.field, t.at = truckGoes, best, r.now+r.emptyMin(i, best, load.Site)
	load.Back = t.at
}
