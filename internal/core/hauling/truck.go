package hauling

// What a truck does.
type truckMode uint8

const (
	truckIdle  truckMode = iota // in a field, empty
	truckGoes                   // to a field, empty
	truckLoads                  //
	truckRoad                   // to the place
	truckPit                    // in line, on the scale, over the pit
	truckPaper                  // dumped: weighing out
	truckNight                  // stands loaded until tomorrow
)

type truck struct {
	mode    truckMode
	field   int
	at      float64 // while it loads: when it must set out
	level   float64
	target  float64 // what it is loaded to
	load    int     // of the outcome
	arrived float64 // in the field
	leaves  float64 // the place
	nth     int     // that set out for its place
}

// payload returns what truck i carries of field f, bushels.
func (r *Runner) payload(i, f int) float64 {
	return r.day.Trucks[i].PayloadLb / r.day.Fields[f].LbPerBu
}

func (r *Runner) loadedMin(i, f, site int) float64 {
	return 60 * r.day.Fields[f].Miles[site] / r.day.Trucks[i].Loaded
}

func (r *Runner) emptyMin(i, f, site int) float64 {
	return 60 * r.day.Fields[f].Miles[site] / r.day.Trucks[i].Empty
}

// open returns the truck that is being loaded in field f; -1: none.
func (r *Runner) open(f int) int {
	for i := range r.trucks {
		if t := &r.trucks[i]; t.mode == truckLoads && t.field == f {
			return i
		}
	}
	return -1
}

// openFor returns a truck that a cart in field f can dump into: one begun, else the one that has stood there longest;
// -1: none.
func (r *Runner) openFor(f int) int {
	first := -1
	for i := range r.trucks {
		t := &r.trucks[i]
		if t.field != f {
			continue
		}
		if t.mode == truckLoads && t.target-t.level > hair && !r.taken(i) {
			return i
		}
		if t.mode == truckIdle && (first < 0 || t.arrived < r.trucks[first].arrived) {
			first = i
		}
	}
	if first >= 0 {
		r.begin(first)
	}
	return first
}

// taken reports whether a cart dumps into truck i.
func (r *Runner) taken(i int) bool {
	for j := range r.carts {
		if r.carts[j].mode == cartDumps && r.carts[j].truck == i {
			return true
		}
	}
	return false
}

// begin begins a load on truck i where it stands.
func (r *Runner) begin(i int) {
	t := &r.trucks[i]
	r.moved = true
	t.mode, t.load = truckLoads, len(r.out.Loads)
	r.out.Loads = append(r.out.Loads, Load{Field: t.field, Truck: i, Began: r.now})
	r.choose(i)
}

// decideTruck lets truck i choose, where it has a choice; it reports whether it took one.
func (r *Runner) decideTruck(i int) bool {
	t := &r.trucks[i]
	switch t.mode {
	case truckIdle:
		return r.goWhereWanted(i)
	case truckLoads:
		if !r.gathered(t.field) || r.carried(t.field) {
			return false
		}
		if t.level > hair {
			r.depart(i)
		} else {
			r.release(i)
			t.mode, t.at, r.moved = truckIdle, never, true
		}
		return true
	default:
		return false
	}
}

// carried reports whether a cart holds grain of field f.
func (r *Runner) carried(f int) bool {
	for j := range r.carts {
		if r.carts[j].field == f && r.carts[j].level > hair {
			return true
		}
	}
	return false
}

// release takes back what was booked for the load of truck i.
func (r *Runner) release(i int) {
	t := &r.trucks[i]
	if load := &r.out.Loads[t.load]; !load.Night {
		r.book(t.field, load.Lot, -t.target)
	}
}

// depart sends truck i on its way with what is in it.
func (r *Runner) depart(i int) {
	t := &r.trucks[i]
	load := &r.out.Loads[t.load]
	r.moved = true
	load.Bu = t.level
	left := r.now + r.day.Work.SpotMin
	if !load.Night && left > r.day.Trucks[i].Until {
		r.release(i)
		load.Night = true
	}
	if load.Night {
		r.night(i)
		return
	}
	r.book(t.field, load.Lot, t.level-t.target)
	load.Left = left
	p := &r.places[load.Site]
	road := r.loadedMin(i, t.field, load.Site) * r.luck.Road(load.Site, p.sent)
	t.mode, t.at = truckRoad, left+road
	t.target, t.nth = t.level, p.sent
	p.sent++
}

// night leaves truck i standing with what is in it.
func (r *Runner) night(i int) {
	t := &r.trucks[i]
	load := &r.out.Loads[t.load]
	load.Bu, load.Night = t.level, true
	t.mode, t.at = truckNight, never
}

// truckEvent looks what has become of truck i, whose time has come.
func (r *Runner) truckEvent(i int) {
	t := &r.trucks[i]
	r.moved = true
	switch t.mode {
	case truckGoes:
		t.mode, t.at, t.arrived = truckIdle, never, r.now
	case truckLoads:
		r.setOut(i)
	case truckRoad:
		r.arrive(i)
	case truckPit:
		r.out.Delivered += t.level
		t.level = 0
		t.mode, t.at = truckPaper, t.leaves
	case truckPaper:
		r.goBack(i)
	default:
		t.at = never
	}
}

// setOut sends truck i off half full rather than too late, or looks for another lot for its load.
func (r *Runner) setOut(i int) {
	t := &r.trucks[i]
	if t.level >= leastLoad*t.target {
		r.depart(i)
	} else {
		r.release(i)
		r.choose(i)
	}
	if t.mode == truckLoads {
		return
	}
	for j := range r.carts {
		if r.carts[j].mode == cartDumps && r.carts[j].truck == i {
			r.leaveTruck(j)
		}
	}
}

func (r *Runner) arrive(i int) {
	t := &r.trucks[i]
	load := &r.out.Loads[t.load]
	until := r.day.Fields[t.field].Lots[load.Lot].Until
	scaled, dumped, leaves, line, ok := r.receive(load.Site, t.nth, t.level, until)
	load.LineMin = line
	if !ok {
		r.book(t.field, load.Lot, -t.level)
		load.Turned, load.Back = true, max(r.now, r.day.Sites[load.Site].Close)+r.loadedMin(i, t.field, load.Site)
		t.mode, t.at = truckNight, never
		return
	}
	load.Scaled, load.Dumped = scaled, dumped
	t.mode, t.at, t.leaves = truckPit, dumped, leaves
}
