package cli

import (
	"fmt"
	"reflect"
	"strings"

	"github.com/alecthomas/kong"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/moisture"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/feeds/quantity"
)

// Numbers that stand after a flag and whose unit the flag's name or the trade settles.
type (
	number   float64 // in whatever the flag's help says
	percent  float64 // modelled, in percent
	miles    float64 // statute
	mph      float64
	minutes  float64
	count    int    // whole
	filename string // a path, or - for the standard input
	dataname string // the path of a data file

	efficiency  float64      // a fraction
	scaleWeight trade.Pounds // to the nearest pound
	testWeight  trade.Percent
	wetBasis    trade.Percent // moisture of grain, wet basis
	gradeClass  string        // a class of wheat as the grade standard knows it; empty: not said
	zoneName    string
	dollars     trade.Price // where the flag can only mean dollars, as --price
)

// A quantityType says how text after a flag becomes a value of one Go type. Flags of a type share what they accept;
// the tags low, high and above of a flag narrow it.
type quantityType[T any] struct {
	want    string // "a temperature with its unit, as 77F or 25C"
	example string
	read    func(label, text string, tag *kong.Tag) (T, error)
	size    func(T) float64 // orders values for the range; nil: no range
	choices []string        // all there is, where it is few names
	heard   func(label, text string)
}

// A typeNote is what pages of help say of a type.
type typeNote struct {
	want, example string
	choices       []string
}

// flagTypes returns the reader of every type that flags have, for the parser, and what help says of each. What stands on
// the command line is told to heard before it is read.
func flagTypes(heard func(label, text string)) (options []kong.Option, notes map[reflect.Type]typeNote) {
	notes = map[reflect.Type]typeNote{}
	add := adder{heard, func(t reflect.Type, m kong.Mapper, n typeNote) {
		options = append(options, kong.TypeMapper(t, m))
		notes[t] = n
	}}
	addType(add, quantityType[units.Temperature]{
		want: "a temperature with its unit, as 77F or 25C", example: "77F",
		read: plain(quantity.ParseTemperature), size: units.Temperature.Celsius,
	})
	addType(add, quantityType[units.Length]{
		want: "a length with its unit, as 35ft, 10.7m or 30in", example: "35ft",
		read: plain(quantity.ParseLength), size: units.Length.Meters,
	})
	addType(add, quantityType[units.Mass]{
		want: "a weight with its unit, as 80000lb, 36.3t or 450kg", example: "80000lb",
		read: plain(quantity.ParseMass), size: units.Mass.Kilograms,
	})
	addType(add, quantityType[units.Speed]{
		want: "a speed with its unit, as 4.5mph or 7.2km/h", example: "4.5mph",
		read: plain(quantity.ParseSpeed), size: units.Speed.MetersPerSecond,
	})
	addType(add, quantityType[quantity.Yield]{
		want: "a yield with its unit, as 55bu/ac, 3.7t/ha or 3300lb/ac", example: "55bu/ac", read: plain(quantity.ParseYield),
	})
	addType(add, quantityType[number]{
		want: "a number in digits, as 1250 or 15.5", example: "1250", read: real[number](quantity.ParseNumber), size: float[number],
	})
	addType(add, quantityType[percent]{
		want: "a percentage, as 12 or 12.5%", example: "12.5", read: real[percent](quantity.ParsePercent), size: float[percent],
	})
	addType(add, quantityType[miles]{
		want: "a way on the road in miles, as 18 or 18mi, or 29km", example: "18", read: readMiles, size: float[miles],
	})
	addType(add, quantityType[mph]{
		want: "a speed with its unit, as 45mph or 72km/h", example: "45mph", read: real[mph](quantity.ParseMilesPerHour), size: float[mph],
	})
	addType(add, quantityType[minutes]{
		want: "minutes, as 12 or 12min, or 0.2h", example: "12", read: readMinutes, size: float[minutes],
	})
	addType(add, quantityType[efficiency]{
		want: "a percentage or a fraction, 20 to 100 %, as 70, 70% or 0.70", example: "70%", read: readEfficiency,
	})
	addType(add, quantityType[scaleWeight]{
		want: "a weight with its unit, as 80000lb or 36.3t", example: "80000lb", read: readScaleWeight,
		size: func(w scaleWeight) float64 { return float64(w) },
	})
	addType(add, quantityType[ticketWeight]{
		want: "whole pounds or whole kilograms as the scale printed them, as 78460lb or 35590kg", example: "78460lb", read: plain(readTicketWeight),
	})
	addType(add, quantityType[count]{
		want: "a whole number, as 3", example: "3", read: readCount, size: func(n count) float64 { return float64(n) },
	})
	addType(add, quantityType[trade.Percent]{
		want: "a percentage with at most two decimals, as 15.6", example: "15.6",
		read: plain(trade.ParsePercent), size: trade.Percent.Float,
	})
	addType(add, quantityType[trade.Bushels]{
		want: "bushels with at most three decimals, as 1864.3", example: "1864.3",
		read: plain(trade.ParseBushels), size: trade.Bushels.Float,
	})
	addType(add, quantityType[trade.Price]{
		want: "dollars or cents with their mark, as $9.8725, 35c or -35c", example: "35c", read: readPrice, size: trade.Price.Float,
	})
	addType(add, quantityType[dollars]{
		want: "dollars, as 9.8725 or $9.8725, or cents, as 35c", example: "9.8725",
		read: func(label, text string, _ *kong.Tag) (dollars, error) {
			p, err := trade.ParsePrice(label, text)
			return dollars(p), err
		}, size: func(p dollars) float64 { return trade.Price(p).Float() },
	})
	addType(add, quantityType[wetBasis]{
		want: "a moisture of 0 to 60 % wet basis with at most two decimals, as 15.6", example: "15.6", read: plain(readWetBasis),
	})
	addType(add, quantityType[testWeight]{
		want: "pounds a bushel, as 55.1", example: "55.1", read: func(label, text string, _ *kong.Tag) (testWeight, error) {
			p, err := trade.ParseTestWeight(label, text)
			return testWeight(p), err
		},
	})
	addType(add, quantityType[gradeClass]{want: oneOf(gradeClasses()), example: "HRW", read: readGradeClass, choices: gradeClasses()})
	addType(add, quantityType[calendar.Day]{want: "a date, as 2031-09-14", example: "2031-09-14", read: plain(quantity.ParseDay)})
	addType(add, quantityType[crop.Kind]{want: oneOf(cropNames()), example: "soybean", read: readCrop, choices: cropNames()})
	addType(add, quantityType[crop.WheatClass]{want: oneOf(classNames()), example: "HRW", read: readClass, choices: classNames()})
	addType(add, quantityType[moisture.Form]{want: oneOf(formNames()), example: "halsey", read: readForm, choices: formNames()})
	addType(add, quantityType[zoneName]{
		want: "a name of the public time-zone list, as America/Chicago", example: "America/Chicago", read: readZoneName,
	})
	addType(add, quantityType[shell]{want: oneOf(shells), example: "bash", read: readShell, choices: shells})
	addType(add, quantityType[filename]{want: "a file, or - for the standard input", example: "FILE", read: readFilename})
	addType(add, quantityType[dataname]{want: "the name of a data file", example: "farm.db", read: plain(readDataname)})
	return options, notes
}

// An adder takes the reader of one type after the other.
type adder struct {
	heard func(label, text string)
	take  func(reflect.Type, kong.Mapper, typeNote)
}

func addType[T any](add adder, q quantityType[T]) {
	q.heard = add.heard
	add.take(reflect.TypeFor[T](), q, typeNote{q.want, q.example, q.choices})
}

// Decode implements kong.Mapper.
func (q quantityType[T]) Decode(ctx *kong.DecodeContext, target reflect.Value) error {
	label := labelOf(ctx.Value)
	token := ctx.Scan.Pop()
	text, ok := token.Value.(string)
	if !ok || token.IsEOL() || (token.Type == kong.UntypedToken && strings.HasPrefix(text, "--")) {
		return &problem.InputError{Rule: "flag.empty", Label: label, Want: q.want}
	}
	q.heard(label, text)
	v, err := q.read(label, text, ctx.Value.Tag)
	if err != nil {
		return err
	}
	if err := q.checkRange(ctx.Value, label, text, v); err != nil {
		return err
	}
	target.Set(reflect.ValueOf(v))
	return nil
}

// checkRange holds v against the tags low, high (both inclusive) and above (exclusive) of its flag.
func (q quantityType[T]) checkRange(flag *kong.Value, label, text string, v T) error {
	words := rangeWords(flag.Tag)
	if words == "" {
		return nil
	}
	limit := func(tag string) (float64, bool) {
		if !flag.Tag.Has(tag) {
			return 0, false
		}
		x, err := q.read(label, flag.Tag.Get(tag), flag.Tag)
		if err != nil {
			panic("cli: the range of " + label + ": " + err.Error()) // a slip in the flag's tags that the first test finds
		}
		return q.size(x), true
	}
	x := q.size(v)
	low, hasLow := limit("low")
	high, hasHigh := limit("high")
	above, hasAbove := limit("above")
	if (hasLow && x < low) || (hasHigh && x > high) || (hasAbove && x <= above) {
		return &problem.InputError{Rule: "flag.range", Label: label, Got: text, Want: q.want + "; " + words}
	}
	return nil
}

// rangeWords returns what the tags of a flag allow, "0 to 60", or nothing where they say nothing.
func rangeWords(tag *kong.Tag) string {
	switch {
	case tag.Has("above") && tag.Has("high"):
		return "above " + tag.Get("above") + " and at most " + tag.Get("high")
	case tag.Has("above"):
		return "above " + tag.Get("above")
	case tag.Has("low") && tag.Has("high"):
		return tag.Get("low") + " to " + tag.Get("high")
	case tag.Has("low"):
		return tag.Get("low") + " or more"
	case tag.Has("high"):
		return "at most " + tag.Get("high")
	}
	return ""
}

func labelOf(v *kong.Value) string {
	if v.Flag != nil {
		return "--" + v.Name
	}
	return strings.ToUpper(v.Name)
}

// missing returns what the command line lacks: flags and arguments tagged need.
func missing(node *kong.Node, notes map[reflect.Type]typeNote) problem.InputErrors {
	var out problem.InputErrors
	look := func(v *kong.Value) {
		if v.Tag.Has("need") && !v.Set {
			out = append(out, &problem.InputError{
				Rule: "flag.missing", Label: labelOf(v), Want: accepts(v, notes),
			})
		}
	}
	for _, p := range node.Positional {
		look(p)
	}
	for _, group := range node.AllFlags(false) {
		for _, f := range group {
			look(f.Value)
		}
	}
	if len(out) > 0 {
		out[len(out)-1].Next = fmt.Sprintf("`threshday %s --help` says what it takes.", node.Path())
	}
	return out
}

// accepts returns what may stand after a flag, in words.
func accepts(v *kong.Value, notes map[reflect.Type]typeNote) string {
	t := v.Target.Type()
	list := t.Kind() == reflect.Slice
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	words := notes[t].want
	if list && words != "" {
		words += ", several parted by commas"
	}
	if r := rangeWords(v.Tag); r != "" {
		words += "; " + r
	}
	return words
}

// doubled refuses the first flag that was given more than once and takes one value.
func doubled(path []*kong.Path) error {
	seen := map[*kong.Flag]bool{}
	for _, p := range path {
		if p.Flag == nil || p.Flag.IsCumulative() || p.Flag.IsBool() {
			continue
		}
		if seen[p.Flag] {
			label := labelOf(p.Flag.Value)
			return refuse("flag.doubled", label, label+" is given twice; it takes one value.", "Take one of the two out.")
		}
		seen[p.Flag] = true
	}
	return nil
}
