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
}

var (
	length   = dimension[units.Length]{"a length", quantity.ParseLength, quantity.FormatLength, cmp.Less[units.Length]}
	meters   = dimension[float64]{"a length", parseMeters, formatMeters, cmp.Less[float64]}
	mass     = dimension[units.Mass]{"a weight", quantity.ParseMass, quantity.FormatMass, cmp.Less[units.Mass]}
	speed    = dimension[units.Speed]{"a speed", quantity.ParseSpeed, quantity.FormatSpeed, cmp.Less[units.Speed]}
	road     = dimension[float64]{"a speed", quantity.ParseMilesPerHour, quantity.FormatMilesPerHour, cmp.Less[float64]}
	miles    = dimension[float64]{"a distance by road", quantity.ParseMiles, quantity.FormatMiles, cmp.Less[float64]}
	minutes  = dimension[float64]{"a time", quantity.ParseMinutes, quantity.FormatMinutes, cmp.Less[float64]}
	duration = dimension[time.Duration]{"a time", quantity.ParseDuration, quantity.FormatDuration, cmp.Less[time.Duration]}
	degrees  = dimension[units.Temperature]{"a temperature", quantity.ParseTemperature, quantity.FormatTemperature, colder}
	percent  = dimension[float64]{"a percentage", quantity.ParsePercent, quantity.FormatPercent, cmp.Less[float64]}
	printed  = dimension[trade.Percent]{"a percentage of at most two decimals", trade.ParsePercent, formatPrinted, cmp.Less[trade.Percent]}
	weight   = dimension[trade.Percent]{"a test weight", trade.ParseTestWeight, formatTestWeight, cmp.Less[trade.Percent]}
	room     = counted("bushels", "bu")
	hourly   = counted("bushels an hour", "bu/h")
	secondly = counted("bushels a second", "bu/s")
	days     = counted("days", "d")
	bushels  = dimension[trade.Bushels]{"bushels of at most three decimals", trade.ParseBushels, formatBushels, cmp.Less[trade.Bushels]}
)

func parseMeters(label, s string) (float64, error) {
	l, err := quantity.ParseLength(label, s)
	return l.Meters(), err
}

func formatMeters(m float64) string { return quantity.FormatLength(units.Length(m)) }

func colder(a, b units.Temperature) bool { return a.Celsius() < b.Celsius() }

func formatPrinted(p trade.Percent) string { return trimmed(p.String()) + "%" }

func formatTestWeight(p trade.Percent) string { return trimmed(p.String()) + "lb/bu" }

func formatBushels(b trade.Bushels) string { return trimmed(b.String()) + "bu" }

// trimmed takes the zeros off the end of a number with a decimal point.
func trimmed(s string) string { return strings.TrimRight(strings.TrimRight(s, "0"), ".") }

// counted returns the dimension of numbers that only one unit is in use for, so that it may be left out.
func counted(noun, unit string) dimension[float64] {
	parse := func(label, s string) (float64, error) {
		return quantity.ParseNumber(label, strings.TrimSuffix(strings.TrimSpace(s), unit))
	}
	text := func(x float64) string { return quantity.FormatNumber(x) + unit }
	return dimension[float64]{noun, parse, text, cmp.Less[float64]}
}

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
	return codec[V]{
		want: want, text: func(v V) string { return quote(d.text(v)) },
		read: func(r *reader, label string, n *node) (V, bool) {
			var none V
			s := n.text
			switch {
			case n.form == aNumber:
				s = strings.ReplaceAll(s, "_", "") // the parser of the quantity knows whether its unit may be left out
			case n.form != aText:
				r.wrongForm(n, label, want, aText)
				return none, false
			}
			v, err := d.parse(label, s)
			if err != nil {
				if e := inputError(err); e.Next == "" {
					e.Next = d.slip(s, least, most)
				}
				r.refuseWith(n, label, want, err)
				return none, false
			}
			if d.less(v, least) || d.less(most, v) {
				r.refuse(n, refusal{"number.range", label, n.shown(), want, d.slip(s, least, most)})
				return none, false
			}
			return v, true
		},
	}
}

// slip asks for a number that lost its decimal point: 130 for 13.0.
func (d dimension[V]) slip(s string, least, most V) (question string) {
	whole := len(s) - len(strings.TrimLeft(s, "0123456789"))
	if whole < 2 || strings.HasPrefix(s[whole:], ".") {
		return ""
	}
	meant := s[:whole-1] + "." + s[whole-1:]
	v, err := d.parse("slip", meant)
	if err != nil || d.less(v, least) || d.less(most, v) {
		return ""
	}
	return "Was " + meant + " meant?"
}

// money returns the codec of a price per unit between two fences, given as they are written in the file.
func money(per, low, high string) codec[trade.Price] {
	d := dimension[trade.Price]{"dollars or cents", func(label, s string) (trade.Price, error) {
		return quantity.ParsePrice(label, s, per)
	}, func(p trade.Price) string { return quantity.FormatPrice(p) + "/" + per }, cmp.Less[trade.Price]}
	return within(d, low+"/"+per, high+"/"+per)
}
