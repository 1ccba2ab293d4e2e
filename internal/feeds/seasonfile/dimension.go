package seasonfile

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/feeds/quantity"
)

// A dimension says how quantities of one kind are parsed and written.
type dimension[V any] struct {
	noun  string
	parse func(label, s string) (V, error)
	text  func(V) string
	less  func(a, b V) bool
	bare  bool // written as a number without its unit, which is the only one in use
}

var (
	length   = dimension[units.Length]{"a length", quantity.ParseLength, quantity.FormatLength, cmp.Less[units.Length], false}
	meters   = dimension[float64]{"a length", parseMeters, formatMeters, cmp.Less[float64], false}
	mass     = dimension[units.Mass]{"a weight", quantity.ParseMass, quantity.FormatMass, cmp.Less[units.Mass], false}
	speed    = dimension[units.Speed]{"a speed", quantity.ParseSpeed, quantity.FormatSpeed, cmp.Less[units.Speed], false}
	road     = dimension[float64]{"a speed", quantity.ParseMilesPerHour, quantity.FormatMilesPerHour, cmp.Less[float64], false}
	miles    = dimension[float64]{"a distance by road", quantity.ParseMiles, quantity.FormatMiles, cmp.Less[float64], false}
	minutes  = dimension[float64]{"a time", quantity.ParseMinutes, quantity.FormatMinutes, cmp.Less[float64], false}
	duration = dimension[time.Duration]{"a time", quantity.ParseDuration, quantity.FormatDuration, cmp.Less[time.Duration], false}
	degrees  = dimension[units.Temperature]{"a temperature", quantity.ParseTemperature, quantity.FormatTemperature, colder, false}
	percent  = dimension[float64]{"a percentage", quantity.ParsePercent, quantity.FormatPercent, cmp.Less[float64], false}
	printed  = dimension[trade.Percent]{"a percentage of at most two decimals", trade.ParsePercent, formatPrinted, cmp.Less[trade.Percent], false}
	weight   = dimension[trade.Percent]{"a test weight", trade.ParseTestWeight, formatTestWeight, cmp.Less[trade.Percent], false}
	bushels  = dimension[trade.Bushels]{"bushels of at most three decimals", trade.ParseBushels, formatBushels, cmp.Less[trade.Bushels], true}
)

func parseMeters(label, s string) (float64, error) {
	l, err := quantity.ParseLength(label, s)
	return l.Meters(), err
}

func formatMeters(m float64) string { return quantity.FormatLength(units.Length(m)) }

func colder(a, b units.Temperature) bool { return a.Celsius() < b.Celsius() }

func formatPrinted(p trade.Percent) string { return trimmed(p.String()) + "%" }

func formatTestWeight(p trade.Percent) string { return trimmed(p.String()) + "lb/bu" }

func formatBushels(b trade.Bushels) string { return trimmed(b.String()) }

// trimmed takes the zeros off the end of a number with a decimal point.
func trimmed(s string) string { return strings.TrimRight(strings.TrimRight(s, "0"), ".") }

// within returns the codec of a quantity between two fences, given as they are written in the file.
func within[V any](d dimension[V], low, high string) codec[V] {
	bound := func(s string) V {
		v, err := d.parse("fence", s)
		if err != nil {
			panic("seasonfile: " + err.Error())
		}
		return v
	}
	least, most := bound(low), bound(high)
	want := fmt.Sprintf("%s from %s to %s", d.noun, low, high)
	return codec[V]{want: want, text: func(v V) string {
		if d.bare {
			return d.text(v)
		}
		return quote(d.text(v))
	},
		read: func(r *reader, label string, n *node) (V, bool) {
			var none V
			s := n.text
			switch {
			case n.form == aNumber:
				s = strings.ReplaceAll(s, "_", "") // the parser of the quantity knows whether its unit may be left out
			case n.form != aText:
				r.wrongForm(n, label, want+", in quotes")
				return none, false
			}
			v, err := d.parse(label, s)
			if err != nil {
				r.refuseWith(n, label, want, err)
				return none, false
			}
			if d.less(v, least) || d.less(most, v) {
				r.refuse(n, refusal{"number.range", label, n.shown(), want, ""})
				return none, false
			}
			return v, true
		}}
}

// money returns the codec of a price per unit between two fences, given as they are written in the file.
func money(per, low, high string) codec[trade.Price] {
	d := dimension[trade.Price]{"dollars or cents", func(label, s string) (trade.Price, error) {
		return quantity.ParsePrice(label, s, per)
	}, func(p trade.Price) string { return quantity.FormatPrice(p) + "/" + per }, cmp.Less[trade.Price], false}
	return within(d, low+"/"+per, high+"/"+per)
}
