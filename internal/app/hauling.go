package app

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/capacity"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/hauling"
	"threshday/internal/core/planner"
	"threshday/internal/core/trade"
	"threshday/internal/core/worth"
)

// A haulDay is the first day of the plan as the hauling simulation sees it, with what its numbers stand for.
type haulDay struct {
	mo       *morning
	plan     *planner.Plan
	day      hauling.Day
	combines []int       // of the season
	trucks   []haulTruck // as in day
	fields   []int       // of the table
	sites    []int       // of the table
	dests    [][]int     // by field and lot: destination of the table
	rooms    map[int]int // by destination: its room at its site
	notes    []worth.Assumed
}

type haulTruck struct {
	farm *farm.Truck
	name string // with its number where there are several of a kind
}

// lastTrip is how long after the combines stop a truck may still set out. [judgement]
const lastTrip = time.Hour

// haulDay turns the tasks of the first day into a day to simulate; ok is false where no machine goes out.
func (mo *morning) haulDay(p *planner.Plan) (h *haulDay, ok bool) {
	if len(p.Today) == 0 {
		return nil, false
	}
	h = &haulDay{mo: mo, plan: p, rooms: map[int]int{}}
	h.addSites()
	h.addFields()
	h.addCombines()
	h.addTrucks()
	h.day.Work = hauling.DefaultWork()
	for _, c := range mo.season.Carts {
		h.day.Carts = append(h.day.Carts, hauling.Cart{Bu: c.Bu, UnloadBuPerMin: 60 * c.UnloadBuS})
	}
	if len(h.day.Carts) > 0 {
		// The plan's time to load a truck is the flow from the cart and what goes with it.
		load := h.day.Trucks[0].PayloadLb / h.day.Fields[0].LbPerBu
		h.day.Work.SpotMin = max(0, capacity.DefaultTrip().LoadMin-load/h.day.Carts[0].UnloadBuPerMin)
	}
	h.assume("Cart or combine to the truck", fmt.Sprintf("%.0f min", h.day.Work.RunMin), "judgement")
	h.assume("Spread of the wait in line", "1.9 times more or less two days in three", "judgement")
	return h, true
}

func (h *haulDay) assume(what, value, from string) {
	h.notes = append(h.notes, worth.Assumed{What: what, Value: value, From: from})
}

// minutes returns how long after the table's start an instant is.
func (h *haulDay) minutes(at time.Time) float64 {
	return at.Sub(h.mo.build.Table.Start.Start()).Minutes()
}

// clock returns the minutes after the table's start at which the farm's clock shows c on the first day.
func (h *haulDay) clock(c calendar.Clock) float64 {
	d := h.mo.build.Span.DayOf(0)
	return h.minutes(time.Date(d.Year, d.Month, d.Date, int(c)/60, int(c)%60, 0, 0, h.mo.zone))
}

// midnight is the end of the first day: prices that end with it have ended.
func (h *haulDay) midnight() float64 { return h.clock(24 * 60) }

// addSites lists every place that takes grain, in the order of the table.
func (h *haulDay) addSites() {
	t := h.mo.build.Table
	for i, row := range t.Sites {
		s := hauling.Site{Open: math.Inf(-1), Close: math.Inf(1), Pits: 1, BuPerHour: row.PerHour, DayBu: row.PerDay}
		h.sites = append(h.sites, i)
		if o := h.outlet(row.ID); o != nil {
			h.receiving(&s, o)
		} else if b := h.bin(row.ID); b != nil {
			s.DumpMin = orElse(b.DumpMin, capacity.DefaultTrip().DumpMin)
		}
		h.day.Sites = append(h.day.Sites, s)
	}
}

func (h *haulDay) outlet(id string) *farm.Outlet {
	for i := range h.mo.season.Outlets {
		if o := &h.mo.season.Outlets[i]; o.ID == id {
			return o
		}
	}
	return nil
}

func (h *haulDay) bin(id string) *farm.Bin {
	for i := range h.mo.season.Bins {
		if b := &h.mo.season.Bins[i]; b.ID == id {
			return b
		}
	}
	return nil
}

func orElse(given *float64, otherwise float64) float64 {
	if given != nil {
		return *given
	}
	return otherwise
}

// receiving fills in hours, minutes and the line of an outlet.
func (h *haulDay) receiving(s *hauling.Site, o *farm.Outlet) {
	usual := capacity.DefaultTrip()
	s.ScaleMin, s.DumpMin, s.TicketMin = orElse(o.ScaleMin, usual.ScaleMin), orElse(o.DumpMin, usual.DumpMin), orElse(o.TicketMin, usual.TicketMin)
	h.learnStay(s, o.ID, o.Name)
	day := h.mo.build.Span.DayOf(0)
	hours, open := o.Open[day.Weekday()]
	switch {
	case slices.Contains(o.Closed, day), o.Open != nil && !open:
		s.Close = math.Inf(-1)
	case open:
		s.Open, s.Close = h.clock(hours[0]), h.clock(hours[1])
	}
	if o.QueueMin != nil {
		s.Lines = []hauling.Line{{From: math.Inf(-1), Wait: capacity.WaitAround(*o.QueueMin)}}
		return
	}
	s.Lines = []hauling.Line{
		{From: math.Inf(-1), Wait: capacity.WaitAround(capacity.QuietWaitMin)},
		{From: h.clock(14 * 60), Wait: capacity.WaitAround(capacity.BusyWaitMin)},
		{From: h.clock(18 * 60), Wait: capacity.WaitAround(capacity.QuietWaitMin)},
	}
	h.assume(o.Name+": wait in line", fmt.Sprintf("%d min, from 14:00 to 18:00 %d", capacity.QuietWaitMin, capacity.BusyWaitMin), "judgement; give the outlet's usual queue")
}

// addFields lists the fields that are cut today, each with where its grain goes in the order of the plan.
func (h *haulDay) addFields() {
	tasks := slices.Clone(h.plan.Today)
	slices.SortStableFunc(tasks, func(a, b planner.Task) int { return cmp.Compare(a.From, b.From) })
	for _, k := range tasks {
		f := slices.Index(h.fields, k.Field)
		if f < 0 {
			f = len(h.fields)
			h.fields = append(h.fields, k.Field)
			h.dests = append(h.dests, nil)
			h.day.Fields = append(h.day.Fields, h.field(k.Field))
		}
		for _, part := range k.Parts {
			l := slices.Index(h.dests[f], part.Destination)
			if l < 0 {
				l = len(h.dests[f])
				h.dests[f] = append(h.dests[f], part.Destination)
				h.day.Fields[f].Lots = append(h.day.Fields[f].Lots, h.lot(k.Field, part.Destination))
			}
			h.day.Fields[f].Lots[l].Bu += part.Bushels
		}
	}
}

func (h *haulDay) field(f int) hauling.Field {
	one := h.mo.build.Fields[f].Field
	out := hauling.Field{LbPerBu: poundsPerBushel(one.Crop)}
	for _, site := range h.mo.build.Table.Sites {
		out.Miles = append(out.Miles, h.miles(one, site.ID))
	}
	return out
}

// poundsPerBushel returns pounds in the unit the crop is counted in: the trade bushel, or the hundredweight.
func poundsPerBushel(k crop.Kind) float64 {
	if lb, ok := crop.BushelPounds(k); ok {
		return lb.Float()
	}
	return 100
}

// assumedFieldMiles is the road between a place and a field that sends nothing there: empty trucks come that way. [judgement]
const assumedFieldMiles = 3

func (h *haulDay) miles(f *farm.Field, id string) float64 {
	if m, ok := f.Miles[id]; ok {
		return m
	}
	if o := h.outlet(id); o != nil && o.Miles != nil {
		return *o.Miles
	}
	if b := h.bin(id); b != nil && b.Miles != nil {
		return *b.Miles
	}
	return assumedFieldMiles
}

// lot describes destination d for grain of field f: its price must still hold when the load is weighed, and contracts, bins and
// the dryer take so much and no more.
func (h *haulDay) lot(f, d int) hauling.Lot {
	t := h.mo.build.Table
	row := &t.Destinations[d]
	lot := hauling.Lot{Site: row.Site, Room: -1, Until: math.Inf(1)}
	if h.outlet(row.ID) != nil {
		lot.Until = h.midnight()
	}
	room := row.Room
	if row.Points != nil {
		if points := float64(row.Points[worth.GridIndex(h.mo.build.Fields[f].Now.Mean)]); points > 0 {
			room = min(room, row.PointDay/points)
		}
	}
	if math.IsInf(room, 1) {
		return lot
	}
	site := &h.day.Sites[row.Site]
	if n, known := h.rooms[d]; known {
		lot.Room = n
		site.Rooms[n] = min(site.Rooms[n], room)
		return lot
	}
	lot.Room = len(site.Rooms)
	h.rooms[d] = lot.Room
	site.Rooms = append(site.Rooms, room)
	return lot
}

// addCombines lists the combines that go out, with their tasks.
func (h *haulDay) addCombines() {
	t := h.mo.build.Table
	for k := range t.Combines {
		one := hauling.Combine{TankBu: h.mo.season.Combines[k].TankBu, UnloadBuPerMin: 60 * h.mo.season.Combines[k].UnloadBuS}
		last := -1
		for _, task := range h.plan.Today {
			if task.Combine != k || task.Acres <= 0 || task.Bushels <= 0 {
				continue
			}
			next := hauling.Task{
				Field: slices.Index(h.fields, task.Field), From: 60 * task.From, Until: max(60*task.To, h.fitUntil(k, task.Field)),
				Acres: task.Acres, AcresPerHour: t.Combines[k].Rate[task.Field], BuPerAcre: task.Bushels / task.Acres,
			}
			if last >= 0 {
				next.MoveMin = 60 * t.MoveHours[k][last][task.Field]
			}
			last = task.Field
			one.Tasks = append(one.Tasks, next)
		}
		if len(one.Tasks) > 0 {
			h.combines = append(h.combines, k)
			h.day.Combines = append(h.day.Combines, one)
		}
	}
}

// fitUntil returns when field f can no longer be cut by combine k today, in the weather whose day the orders are.
func (h *haulDay) fitUntil(k, f int) float64 {
	t := h.mo.build.Table
	until := 0.0
	for n := 0; n < t.Hours && t.Day[n] == 0; n++ {
		if t.Combines[k].Runs[n] && t.Workable[t.At(h.plan.Reference, n, f)] {
			until = 60 * float64(n+1)
		}
	}
	return until
}

// addTrucks lists every truck by itself, loaded to the part of its limit that keeps it legal.
func (h *haulDay) addTrucks() {
	usual := capacity.DefaultTrip()
	until := h.clock(h.mo.season.Prefer.WorkUntil) + lastTrip.Minutes()
	h.assume("Last trip of a truck", h.at(until).Format("15:04"), "judgement, an hour after work_until")
	for i := range h.mo.season.Trucks {
		f := &h.mo.season.Trucks[i]
		limit := capacity.Truck{Gross: trade.Pounds(math.Floor(f.Gross.Pounds())), Tare: trade.Pounds(math.Ceil(f.Tare.Pounds()))}
		load, _, err := limit.Payload(0)
		if err != nil {
			continue // the season was refused before with weights like these
		}
		for n := range f.Count {
			one := haulTruck{farm: f, name: cmp.Or(f.Name, f.ID)}
			if f.Count > 1 {
				one.name = fmt.Sprintf("%s %d", one.name, n+1)
			}
			h.trucks = append(h.trucks, one)
			h.day.Trucks = append(h.day.Trucks, hauling.Truck{
				PayloadLb: capacity.LoadTo * load.Float(), LimitLb: load.Float(), Until: until,
				Loaded: orElse(f.LoadedMPH, usual.Loaded.MilesPerHour()), Empty: orElse(f.EmptyMPH, usual.Empty.MilesPerHour()),
			})
		}
	}
}
