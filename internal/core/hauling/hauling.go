// Package hauling runs one harvest day of grain from the combines' tanks to the pits, event by event: who waits for
// whom, which truck leaves when with what, and what stands full overnight.
//
// Every load is of one field and goes to one lot: a part of the field's grain that the plan sends to one place at one
// price. Lots are served in the order given; a load that cannot be at the scale before it closes is not sent there.
// Luck enters only through roads, lines and dumping, and is drawn per place and arrival, so that two fleets meet the
// same luck.
//
// It leaves out what the crop does during the day (rates and bushels are fixed for each task), breakdowns, drivers'
// breaks and traffic, and it moves no machine to another field than the plan's. Times are minutes after a moment that
// the caller chooses, grain is trade bushels of its own crop, loads are pounds at the scale, roads are miles.
//
// The events and the laws they obey: docs/model/hauling.md. Sources: docs/sources/hauling.md.
package hauling

import "threshday/internal/core/capacity"

// A Day is what the simulation runs on.
type Day struct {
	Combines []Combine
	Carts    []Cart // none: combines carry their own tank to the truck and stand meanwhile
	Trucks   []Truck
	Fields   []Field
	Sites    []Site
	Work     Work
}

// Work holds the minutes of moving about, with their usual values in [DefaultWork].
type Work struct {
	RunMin   float64 // a cart, or a combine without one, between combine and truck, one way
	SpotMin  float64 // a truck's load closed and tarped, and the place under the auger taken
	CrossMin float64 // a cart or an empty truck from one field to another
	CallAt   float64 // part of the tank at which a combine calls the cart, above 0 to 1
}

// DefaultWork returns minutes for a half-mile field with the truck at its edge. [judgement]
func DefaultWork() Work { return Work{RunMin: 2, SpotMin: 8, CrossMin: 12, CallAt: 0.7} }

// A Combine cuts its tasks one after the other.
type Combine struct {
	TankBu         float64
	UnloadBuPerMin float64
	Tasks          []Task
}

// A Task is a stretch of work in one field.
type Task struct {
	Field        int
	From         float64 // it does not begin before
	Until        float64 // nor go on after
	MoveMin      float64 // lost between the task before it and this one
	Acres        float64
	AcresPerHour float64
	BuPerAcre    float64
}

func (t *Task) buPerMin() float64 { return t.AcresPerHour * t.BuPerAcre / 60 }

// A Cart carries from combine to truck.
type Cart struct {
	Bu             float64
	UnloadBuPerMin float64
}

// A Truck hauls. It begins the day where it is needed first.
type Truck struct {
	PayloadLb     float64 // what it is loaded with: its limit less a margin
	LimitLb       float64 // what it may carry, at least PayloadLb: it takes the rest of a field with it up to here
	Loaded, Empty float64 // mph
	Until         float64 // it begins no trip after
}

// A Field is where grain comes from.
type Field struct {
	LbPerBu float64
	Miles   []float64 // by site, one way
	Lots    []Lot     // in the order in which they are filled
}

// A Lot is grain of a field for one place at one price.
type Lot struct {
	Site  int
	Bu    float64 // as planned
	Room  int     // rooms[Room] of the site bounds it; -1: nothing does
	Until float64 // last moment at the scale at which the price holds; +Inf: none
}

// A Site is a place that takes grain.
type Site struct {
	Open, Close float64 // minutes; a truck not on the scale at Close is turned away
	Pits        int     // that the farm's own trucks share; at least one
	ScaleMin    float64
	DumpMin     float64
	TicketMin   float64
	BuPerHour   float64 // of one pit; +Inf: no bound known
	DayBu       float64 // what it takes on this day; +Inf: no bound
	Rooms       []float64
	Lines       []Line // in order of time; none: no line
}

// A Line is how long trucks of others keep ours waiting, for arrivals from a time of day on.
type Line struct {
	From float64
	Wait capacity.Wait
}

func (s *Site) wait(at float64) (w capacity.Wait, ok bool) {
	for _, l := range s.Lines {
		if l.From <= at {
			w, ok = l.Wait, true
		}
	}
	return w, ok
}

// A Cause is why a combine that has crop to cut stands.
type Cause uint8

// The causes, from the combine outwards.
const (
	Unloading Cause = iota // it carries its own tank to the truck
	CartBusy               // the tank is full and the cart is with another combine or under way
	TruckAway              // the cart is full and no truck is there
	Closed                 // every truck stands loaded: nothing planned takes grain any more
	NoRoom                 // every truck stands loaded: what takes this grain is full for the day
	Causes    = iota
)

// A Load is one truckload.
type Load struct {
	Field, Lot, Site, Truck int
	Combines                uint64 // bit k: grain of combine k is in it
	Bu                      float64
	Began                   float64 // first grain in the truck
	Left, Scaled, Dumped    float64
	Back                    float64 // in a field, or home
	LineMin                 float64
	Night                   bool // loaded, and stands overnight: Left and what follows are of no meaning
	Turned                  bool // was in line when the place closed, and came home
}

// An Outcome is how a day went.
type Outcome struct {
	Loads     []Load // in the order in which they were begun
	CutBu     float64
	Delivered float64
	InTrucks  float64           // overnight
	InCarts   float64           // overnight
	InTanks   float64           // overnight
	Acres     []float64         // by field, cut
	Uncut     []float64         // by field, planned and not cut
	Idle      [][Causes]float64 // by combine, minutes
	Last      float64           // when the last load was dumped; 0: none
}

// IdleMin adds up the minutes that combines stood.
func (o *Outcome) IdleMin() (all float64, by [Causes]float64) {
	for _, c := range o.Idle {
		for i, x := range c {
			by[i] += x
			all += x
		}
	}
	return all, by
}
