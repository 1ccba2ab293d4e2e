package app

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"threshday/internal/core/farm"
	"threshday/internal/core/hauling"
	"threshday/internal/words"
)

// causes names why combines stand, in the order of hauling's causes.
var causes = [hauling.Causes]struct{ name, say string }{
	hauling.Unloading: {"unloading", "they carry their own tank to the truck"},
	hauling.CartBusy:  {"cart", "the tank is full and the cart elsewhere"},
	hauling.TruckAway: {"truck", "the cart is full and the trucks are away"},
	hauling.Closed:    {"closed", "the trucks stand loaded and the outlets have closed"},
	hauling.NoRoom:    {"room", "the trucks stand loaded and bin, dryer, contract or outlet take no more today"},
}

// worthStalling is how many minutes of all combines are worth a word. [judgement]
const worthStalling = 10

// stalls lists the causes with their mean minutes, the longest first.
func stalls(idle [hauling.Causes]float64) []Stall {
	out := []Stall{}
	for c, minutes := range idle {
		if minutes >= 1 {
			out = append(out, Stall{Cause: causes[c].name, Min: minutes, Say: causes[c].say})
		}
	}
	slices.SortStableFunc(out, func(a, b Stall) int { return cmp.Compare(b.Min, a.Min) })
	return out
}

// relief returns the cheapest change that halves the minutes combines stand: the outlets an hour longer open, a truck more, a cart
// more.
func (h *haulDay) relief(out *Hauling, usual *hauling.Forecast) string {
	if out.IdleMin.Mean < worthStalling {
		return ""
	}
	before := 0.0
	for _, x := range usual.IdleMin[:reliefDraws] {
		before += x / reliefDraws
	}
	halves := func(d *hauling.Day) (float64, bool) {
		after := bandOf(h.ahead(d, reliefDraws).IdleMin).Mean
		return after, after <= before/2
	}
	say := func(what string, after float64) string {
		return fmt.Sprintf("%s would bring that to about %.0f.", what, after)
	}
	if usual.Idle[hauling.Closed] > usual.IdleMean()/4 {
		longer := h.day
		longer.Sites = slices.Clone(h.day.Sites)
		for i := range longer.Sites {
			longer.Sites[i].Close += 60
		}
		if after, ok := halves(&longer); ok {
			return say("Outlets open an hour longer (ask)", after)
		}
	}
	if out.More.IdleMin.Mean >= out.IdleMin.Mean/2 {
		return say("One more truck", max(0, out.IdleMin.Mean-out.More.IdleMin.Mean))
	}
	cart := h.day
	if len(h.day.Carts) > 0 {
		cart.Carts = append(slices.Clone(h.day.Carts), h.day.Carts[0])
	} else {
		cart.Carts = []hauling.Cart{{Bu: 1000, UnloadBuPerMin: 480}} // a usual one. [judgement]
	}
	if after, ok := halves(&cart); ok {
		return say("One more grain cart", after)
	}
	both := cart
	both.Trucks = append(slices.Clone(h.day.Trucks), h.day.Trucks[0])
	if after, ok := halves(&both); ok {
		return say("One more truck and one more cart together", after)
	}
	return "Neither a truck nor a cart more, nor both, would halve that: the day is too long for its outlets."
}

// sentences says how the day goes.
func (h *haulDay) sentences(out *Hauling) []string {
	bu := func(x float64) string { return words.Digits(x, 0) }
	say := fmt.Sprintf("The trucks bring about %s of the %s bu planned (8 in 10: %s to %s).", bu(out.BroughtBu), bu(out.PlannedBu), bu(out.Brought.P10), bu(out.Brought.P90))
	var left []string
	if out.InTrucks >= 0.5 {
		left = append(left, bu(out.InTrucks)+" bu in trucks")
	}
	if out.InCarts >= 0.5 {
		left = append(left, bu(out.InCarts)+" bu in cart and tanks")
	}
	if out.Uncut >= 0.5 {
		left = append(left, words.Plural(int64(math.Round(out.Uncut)), "acre")+" of these orders left standing")
	}
	if len(left) > 0 {
		say += " Overnight: " + strings.Join(left, ", ") + "."
	}
	all := append([]string{say}, h.elsewhere(out)...)
	if out.IdleMin.Mean >= worthStalling && len(out.Stalls) > 0 {
		stand := fmt.Sprintf("The combines stand about %.0f minutes in all with crop to cut (8 in 10: %.0f to %.0f): %s.",
			out.IdleMin.Mean, out.IdleMin.P10, out.IdleMin.P90, becauseOf(out.Stalls))
		if out.Relief != "" {
			stand += " " + out.Relief
		}
		all = append(all, stand)
	}
	return append(all, moreTruck(out.More))
}

// becauseOf says the two longest causes.
func becauseOf(all []Stall) string {
	var parts []string
	for _, s := range all[:min(len(all), 2)] {
		parts = append(parts, fmt.Sprintf("%.0f because %s", s.Min, s.Say))
	}
	return strings.Join(parts, ", ")
}

// elsewhere says which places get less than planned by half a load or more.
func (h *haulDay) elsewhere(out *Hauling) []string {
	t := h.mo.build.Table
	short := make([]float64, len(t.Destinations))
	planned := make([]float64, len(t.Destinations))
	for f := range h.dests {
		for l, d := range h.dests[f] {
			planned[d] += h.day.Fields[f].Lots[l].Bu
		}
	}
	copy(short, planned)
	for _, l := range out.Loads {
		for d := range t.Destinations {
			if !l.Overnight && t.Destinations[d].ID == l.To && t.Destinations[d].Contract == l.Contract {
				short[d] -= l.Bushels
			}
		}
	}
	var say []string
	for d, bu := range short {
		if bu >= h.halfLoad() {
			say = append(say, fmt.Sprintf("%s gets %s of the %s bu planned: later loads would not be on its scale in time, or find no room.",
				t.Destinations[d].Name, words.Digits(planned[d]-bu, 0), words.Digits(planned[d], 0)))
		}
	}
	return say
}

// halfLoad is half of the largest truckload, bushels: less is rounding.
func (h *haulDay) halfLoad() float64 {
	most := 0.0
	for _, t := range h.day.Trucks {
		most = max(most, t.PayloadLb/h.day.Fields[0].LbPerBu)
	}
	return most / 2
}

// moreTruck says what one more truck would bring today.
func moreTruck(m *MoreTruck) string {
	switch {
	case m.Bu.P90 < 1 && m.IdleMin.P90 < 1:
		return "One more truck would bring nothing more today."
	case m.Bu.Mean < 1:
		return fmt.Sprintf("One more truck like %s would bring no more bushels today; combines would stand about %.0f minutes less.", m.Like, m.IdleMin.Mean)
	}
	say := fmt.Sprintf("One more truck like %s would bring about %s bu more today (8 in 10: %s to %s)", m.Like,
		words.Digits(m.Bu.Mean, 0), words.Digits(m.Bu.P10, 0), words.Digits(m.Bu.P90, 0))
	if m.USD.P90 < 1 {
		return say + "; no field cut today loses by a day more, so that is worth little."
	}
	return fmt.Sprintf("%s; cutting its acres today and not tomorrow is worth about $%s (8 in 10: $%s to $%s).", say,
		words.Digits(m.USD.Mean, 0), words.Digits(m.USD.P10, 0), words.Digits(m.USD.P90, 0))
}

// wayIn names the entrance for a loaded truck and what to mind there; of several the first that nothing speaks against.
func wayIn(f *farm.Field, t *farm.Truck, pounds float64) (name, mind string) {
	gross := t.Tare.Pounds() + pounds
	for n, e := range f.Entrances {
		against := ""
		switch {
		case e.Limit != nil && e.Limit.Pounds() < gross:
			against = fmt.Sprintf("Posted for %s lb; loaded this truck weighs about %s lb: it must not go over it.", words.Digits(e.Limit.Pounds(), 0), words.Digits(gross, 0))
		case e.Width != nil && t.Width != nil && *e.Width < *t.Width:
			against = fmt.Sprintf("%.0f ft wide, this truck is %.0f ft.", e.Width.Feet(), t.Width.Feet())
		case e.Height != nil && t.Height != nil && *e.Height < *t.Height:
			against = fmt.Sprintf("%.0f ft high, this truck is %.0f ft.", e.Height.Feet(), t.Height.Feet())
		}
		if against == "" {
			return e.Name, e.Note
		}
		if n == 0 {
			name, mind = e.Name, strings.TrimSpace(against+" "+e.Note)
		}
	}
	return name, mind
}
