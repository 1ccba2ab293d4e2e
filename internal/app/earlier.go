package app

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/planner"
	"threshday/internal/core/worth"
)

// EarlierOrders are those of a plan made before. A plan made again on the same day keeps to what is left of them unless others
// surely earn more.
type EarlierOrders struct {
	AsOf   time.Time
	Orders []EarlierOrder // in order of time, by machine
}

// An EarlierOrder is one machine's stretch of work as it was ordered.
type EarlierOrder struct {
	Machine, Field string
	To             time.Time
}

// OrdersAgainst says what became of the orders given out earlier that day.
type OrdersAgainst struct {
	AsOf    time.Time
	Changes []OrderChange // none: they stand
	// GainUSD is what the season earns more than with the earlier orders; nil where they are kept.
	GainUSD, SEUSD *float64
	Say            string
}

// An OrderChange is one machine's turns at fields, by name, then and now.
type OrderChange struct {
	Machine, MachineName string
	Was, Is              []string
}

// before returns what each combine was to do in what is left of today by the earlier plan; nil where none was made today.
func (mo *morning) before() [][]int {
	was := mo.earlier
	if was == nil || was.AsOf.After(mo.now) || calendar.DayOf(was.AsOf, mo.zone) != calendar.DayOf(mo.now, mo.zone) {
		return nil
	}
	out := make([][]int, len(mo.season.Combines))
	for _, o := range was.Orders {
		k := slices.IndexFunc(mo.build.Table.Combines, func(c worth.CombineRow) bool { return c.ID == o.Machine })
		f := slices.IndexFunc(mo.build.Table.Fields, func(f worth.FieldRow) bool { return f.ID == o.Field })
		if k >= 0 && f >= 0 && o.To.After(mo.now) {
			out[k] = append(out[k], f)
		}
	}
	return out
}

// against says in one line what the plan changed of the earlier orders, and for how much.
func (mo *morning) against(p *planner.Plan) *OrdersAgainst {
	if p.Against == nil {
		return nil
	}
	out := &OrdersAgainst{AsOf: mo.earlier.AsOf.In(mo.zone)}
	names := func(fields []int) []string {
		list := []string{}
		for _, f := range fields {
			list = append(list, mo.build.Fields[f].Field.Name)
		}
		return list
	}
	var says, added []string
	for k := range mo.season.Combines {
		was, is := p.Against.Was[k], p.Against.Is[k]
		if slices.Equal(was, is) {
			continue
		}
		if planner.Changes(was, is) == 0 {
			more := names(is[len(was):])
			added = append(added, mo.season.Combines[k].Name+" goes "+turns(more))
			continue
		}
		c := OrderChange{Machine: mo.season.Combines[k].ID, MachineName: mo.season.Combines[k].Name, Was: names(was), Is: names(is)}
		out.Changes = append(out.Changes, c)
		says = append(says, fmt.Sprintf("%s %s, not %s", c.MachineName, turns(c.Is), turns(c.Was)))
	}
	at := out.AsOf.Format("15:04")
	if len(out.Changes) == 0 {
		out.Say = "Same orders as at " + at + "."
		if len(added) > 0 {
			out.Say = "Orders of " + at + " stand; after them " + strings.Join(added, ", ") + "."
		}
		return out
	}
	if p.Against.USD == nil {
		out.Say = fmt.Sprintf("Orders of %s kept as far as the day lets them: %s.", at, strings.Join(says, "; "))
		return out
	}
	gain, se := planner.Mean(p.Against.USD)
	out.GainUSD, out.SEUSD = &gain, &se
	out.Say = fmt.Sprintf("Changed since %s: %s. That earns about $%.0f more over the season, give or take %.0f.", at, strings.Join(says, "; "), gain, 2*se)
	return out
}

func turns(fields []string) string {
	if len(fields) == 0 {
		return "to no field"
	}
	return "to " + strings.Join(fields, ", then ")
}

// orderAssumed are what the order of the day is weighed with.
func (mo *morning) orderAssumed(p *planner.Plan) []Assumption {
	var out []Assumption
	if len(mo.season.Combines) > 0 {
		out = append(out, Assumption{"An hour a combine stands or drives between cuts, in the order of the day", fmt.Sprintf("$%d", planner.StandingUSD), "judgement"})
	}
	if p.Against != nil {
		out = append(out, Assumption{"Orders of earlier today are changed", fmt.Sprintf("for $%d more for each turn at a field", planner.ChangeUSD), "judgement"})
	}
	return out
}
