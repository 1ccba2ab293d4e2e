package answer

import (
	"time"

	"threshday/internal/app"
)

// A Hauling is the first day's loads with their times and where the day stalls. Money is modelled.
type Hauling struct {
	Loads      []TruckLoad `json:"loads"`
	PlannedBu  Figure      `json:"planned_bu"`
	BroughtBu  Figure      `json:"brought_bu"`
	BroughtP10 Figure      `json:"brought_p10_bu"`
	BroughtP90 Figure      `json:"brought_p90_bu"`
	InTrucksBu Figure      `json:"overnight_in_trucks_bu"`
	InCartsBu  Figure      `json:"overnight_in_carts_bu"`
	UncutAcres Figure      `json:"uncut_acres"`
	IdleMin    Figure      `json:"combines_stand_min"`
	IdleP10    Figure      `json:"combines_stand_p10_min"`
	IdleP90    Figure      `json:"combines_stand_p90_min"`
	Stalls     []Stall     `json:"stalls"`
	Relief     string      `json:"relief,omitempty"`
	OneMore    *MoreTruck  `json:"one_more_truck"`
	Draws      int         `json:"draws"`
	Say        []string    `json:"say"`
}

// A Stall is why combines stand with crop to cut, and for how many minutes in the mean.
type Stall struct {
	Cause string `json:"cause"` // "unloading", "cart", "truck", "closed" or "room"
	Min   Figure `json:"min"`
	Say   string `json:"say"`
}

// A MoreTruck is what one more truck would bring today.
type MoreTruck struct {
	Like    string `json:"like"`
	Bu      Figure `json:"bu"`
	P10Bu   Figure `json:"p10_bu"`
	P90Bu   Figure `json:"p90_bu"`
	LessMin Figure `json:"combines_stand_less_min"`
	USD     Figure `json:"usd"`
	P10USD  Figure `json:"p10_usd"`
	P90USD  Figure `json:"p90_usd"`
}

// A TruckLoad is one load with what its driver must know; its times are left out where it stays overnight.
type TruckLoad struct {
	Number     int      `json:"number"`
	Truck      string   `json:"truck"`
	TruckName  string   `json:"truck_name"`
	Field      string   `json:"field"`
	FieldName  string   `json:"field_name"`
	Combines   []string `json:"combines"`
	To         string   `json:"to"`
	ToName     string   `json:"to_name"`
	Contract   string   `json:"contract,omitempty"`
	Bushels    Figure   `json:"bushels"`
	Pounds     Figure   `json:"pounds"`
	Overnight  bool     `json:"overnight"`
	Leaves     string   `json:"leaves,omitempty"`
	LeavesP10  string   `json:"leaves_p10,omitempty"`
	LeavesP90  string   `json:"leaves_p90,omitempty"`
	AtScale    string   `json:"at_scale,omitempty"`
	AtScaleP10 string   `json:"at_scale_p10,omitempty"`
	AtScaleP90 string   `json:"at_scale_p90,omitempty"`
	Back       string   `json:"back,omitempty"`
	BackP10    string   `json:"back_p10,omitempty"`
	BackP90    string   `json:"back_p90,omitempty"`
	Odds       Figure   `json:"odds"`
	Entrance   string   `json:"entrance,omitempty"`
	Road       string   `json:"road,omitempty"`
	Tell       string   `json:"tell_the_scale,omitempty"`
}

// OfHauling returns the document of a day's loads; nil where no machine goes out.
func OfHauling(h *app.Hauling) *Hauling {
	if h == nil {
		return nil
	}
	out := &Hauling{
		Loads: []TruckLoad{}, PlannedBu: Figure(h.PlannedBu), BroughtBu: Figure(h.BroughtBu), BroughtP10: Figure(h.Brought.P10), BroughtP90: Figure(h.Brought.P90),
		InTrucksBu: Figure(h.InTrucks), InCartsBu: Figure(h.InCarts), UncutAcres: Figure(h.Uncut),
		IdleMin: Figure(h.IdleMin.Mean), IdleP10: Figure(h.IdleMin.P10), IdleP90: Figure(h.IdleMin.P90),
		Stalls: []Stall{}, Relief: h.Relief, Draws: h.Draws, Say: List(h.Say),
	}
	if m := h.More; m != nil {
		out.OneMore = &MoreTruck{
			Like: m.Like, Bu: Figure(m.Bu.Mean), P10Bu: Figure(m.Bu.P10), P90Bu: Figure(m.Bu.P90), LessMin: Figure(m.IdleMin.Mean),
			USD: Figure(m.USD.Mean), P10USD: Figure(m.USD.P10), P90USD: Figure(m.USD.P90),
		}
	}
	for _, s := range h.Stalls {
		out.Stalls = append(out.Stalls, Stall{Cause: s.Cause, Min: Figure(s.Min), Say: s.Say})
	}
	for i := range h.Loads {
		out.Loads = append(out.Loads, truckLoad(&h.Loads[i]))
	}
	return out
}

func truckLoad(l *app.TruckLoad) TruckLoad {
	out := TruckLoad{
		Number: l.Number, Truck: l.Truck, TruckName: l.TruckName, Field: l.Field, FieldName: l.FieldName, Combines: List(l.Combines), To: l.To, ToName: l.ToName,
		Contract: l.Contract, Bushels: Figure(l.Bushels), Pounds: Figure(l.Pounds), Overnight: l.Overnight, Odds: Figure(l.Odds), Entrance: l.Entrance, Road: l.Road, Tell: l.Tell,
	}
	if l.Overnight {
		return out
	}
	stamps := func(at time.Time, in [2]time.Time) (mid, low, high string) {
		return Stamp(at), Stamp(in[0]), Stamp(in[1])
	}
	out.Leaves, out.LeavesP10, out.LeavesP90 = stamps(l.Leaves, l.LeavesIn)
	out.AtScale, out.AtScaleP10, out.AtScaleP90 = stamps(l.Scale, l.ScaleIn)
	out.Back, out.BackP10, out.BackP90 = stamps(l.Back, l.BackIn)
	return out
}
