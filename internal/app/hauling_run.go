package app

import (
	"cmp"
	"math"
	"slices"
	"time"

	"threshday/internal/core/hauling"
	"threshday/internal/core/planner"
	"threshday/internal/core/worth"
)

// Hauling is the first day's loads with their times, and where the day stalls.
type Hauling struct {
	Loads     []TruckLoad // in the order in which they leave; what stays overnight last
	PlannedBu float64
	BroughtBu float64 // on a day on which everything takes as long as it usually does
	Brought   Band    // over the draws
	InTrucks  float64 // overnight, on the usual day
	InCarts   float64 // and in tanks
	Uncut     float64 // acres of today's orders, on the usual day
	IdleMin   Band    // minutes that combines stand with crop to cut, all together
	Stalls    []Stall // mean minutes by cause, longest first
	Relief    string  // the cheapest that would halve them; empty: nothing stalls, or nothing of ours would
	More      *MoreTruck
	Draws     int
	Say       []string // the day in sentences
}

// A Stall is why combines stand, and for how long in the mean.
type Stall struct {
	Cause string // "unloading", "cart", "truck", "closed" or "room"
	Min   float64
	Say   string
}

// A MoreTruck is what one more truck would bring today, with the same luck.
type MoreTruck struct {
	Like    string // the truck it is like
	Bu      Band   // more delivered
	IdleMin Band   // fewer minutes of combines standing
	USD     Band   // what its acres more save against cutting them a day later
}

// A TruckLoad is one load with what its driver must know.
type TruckLoad struct {
	Number               int
	Truck, TruckName     string
	Field, FieldName     string
	Combines             []string // whose grain it is
	To, ToName, Contract string
	Bushels, Pounds      float64
	Leaves, Scale, Back  time.Time
	LeavesIn, ScaleIn    [2]time.Time // middle eight tenths
	BackIn               [2]time.Time
	Odds                 float64 // that such a load is brought today
	Overnight            bool    // it is loaded and waits for tomorrow; times are of no meaning
	Entrance, Road       string  // way in, and what to mind on the road
	Tell                 string  // to the scale house
}

// Draws of a day's hauling.
const (
	haulDraws   = 200
	reliefDraws = 40
)

// hauling simulates the first day's loads; nil where no machine goes out.
func (mo *morning) hauling(p *planner.Plan) (*Hauling, []worth.Assumed) {
	h, ok := mo.haulDay(p)
	if !ok {
		return nil, nil
	}
	usual := h.ahead(&h.day, haulDraws)
	out := &Hauling{BroughtBu: usual.Usual.Delivered, InTrucks: usual.Usual.InTrucks, InCarts: usual.Usual.InCarts + usual.Usual.InTanks, Draws: haulDraws}
	for _, k := range p.Today {
		out.PlannedBu += k.Bushels
	}
	for _, acres := range usual.Usual.Uncut {
		out.Uncut += acres
	}
	for i := range usual.Loads {
		out.Loads = append(out.Loads, h.load(&usual.Loads[i]))
	}
	out.Brought, out.IdleMin = spreadOf(usual.Delivered), spreadOf(usual.IdleMin)
	out.Stalls = stalls(usual.Idle)
	out.More = h.oneMore(usual)
	out.Relief = h.relief(out, usual)
	out.Say = h.sentences(out)
	return out, h.notes
}

// ahead runs a day under the first so many lucks of this morning.
func (h *haulDay) ahead(day *hauling.Day, draws int) *hauling.Forecast {
	luck := hauling.NewDrawn(len(day.Sites))
	return hauling.Ahead(day, draws, func(i int) hauling.Luck {
		luck.Draw(h.mo.root, i, h.mo.build.Span.DayOf(0))
		return luck
	})
}

// spreadOf returns the band of x, which keeps its order.
func spreadOf(x []float64) Band { return bandOf(slices.Clone(x)) }

// load says one load for its driver.
func (h *haulDay) load(l *hauling.Planned) TruckLoad {
	mo := h.mo
	field := mo.build.Fields[h.fields[l.Field]].Field
	row := &mo.build.Table.Destinations[h.dests[l.Field][l.Lot]]
	truck := &h.trucks[l.Truck]
	out := TruckLoad{
		Number: l.Number, Truck: truck.farm.ID, TruckName: truck.name, Field: field.ID, FieldName: field.Name, To: row.ID, ToName: row.Name, Contract: row.Contract,
		Bushels: l.Bu, Pounds: l.Bu * h.day.Fields[l.Field].LbPerBu, Odds: odds(int(math.Round(l.Share*haulDraws)), haulDraws), Overnight: l.Night || l.Turned,
	}
	for n, k := range h.combines {
		if l.Combines&(1<<uint(n%64)) != 0 { //nolint:gosec // never negative
			out.Combines = append(out.Combines, mo.season.Combines[k].ID)
		}
	}
	out.Entrance, out.Road = wayIn(field, truck.farm, out.Pounds)
	if o := h.outlet(row.ID); o != nil {
		out.Tell = o.Note
	}
	if out.Overnight {
		return out
	}
	out.Leaves, out.Scale, out.Back = h.at(l.Left), h.at(l.Scaled), h.at(l.Back)
	between := func(r hauling.Range) [2]time.Time { return [2]time.Time{h.at(r.P10), h.at(r.P90)} }
	out.LeavesIn, out.ScaleIn, out.BackIn = between(l.LeftIn), between(l.ScaledIn), between(l.BackIn)
	if l.Share == 0 { // no draw brought it: its own times are all there is
		out.LeavesIn, out.ScaleIn, out.BackIn = [2]time.Time{out.Leaves, out.Leaves}, [2]time.Time{out.Scale, out.Scale}, [2]time.Time{out.Back, out.Back}
	}
	return out
}

// at turns minutes after the table's start into the farm's clock.
func (h *haulDay) at(minutes float64) time.Time {
	return h.mo.build.Table.Start.Start().Add(time.Duration(minutes * float64(time.Minute))).In(h.mo.zone).Round(time.Minute)
}

// oneMore runs the day again with one more of the largest trucks.
func (h *haulDay) oneMore(before *hauling.Forecast) *MoreTruck {
	largest := 0
	for i, t := range h.day.Trucks {
		if t.PayloadLb > h.day.Trucks[largest].PayloadLb {
			largest = i
		}
	}
	more := h.day
	more.Trucks = append(slices.Clone(h.day.Trucks), h.day.Trucks[largest])
	after := h.ahead(&more, haulDraws)
	bu, idle, usd := make([]float64, haulDraws), make([]float64, haulDraws), make([]float64, haulDraws)
	for i := range bu {
		bu[i], idle[i] = after.Delivered[i]-before.Delivered[i], before.IdleMin[i]-after.IdleMin[i]
		for f, acres := range after.Acres[i] {
			usd[i] += (acres - before.Acres[i][f]) * h.dayCosts(h.fields[f])
		}
	}
	return &MoreTruck{Like: cmp.Or(h.trucks[largest].farm.Name, h.trucks[largest].farm.ID), Bu: bandOf(bu), IdleMin: bandOf(idle), USD: bandOf(usd)}
}

// dayCosts returns what leaving field f for a day costs an acre in the mean, never less than nothing.
func (h *haulDay) dayCosts(f int) float64 {
	for _, w := range h.plan.Waits[f] {
		if w.Days == 1 {
			mean, _ := planner.Mean(w.USD)
			return max(0, -mean/h.mo.build.Table.Fields[f].Acres)
		}
	}
	return 0
}
