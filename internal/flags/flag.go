// Package flags says how text after a flag becomes a value, what each flag accepts, and what is said of one that is missing,
// doubled or wrong. The pencils have it from here on the command line and on the device alike.
package flags

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
	"threshday/internal/words"
)

// Numbers that stand after a flag and whose unit the flag's name or the trade settles.
type (
	Number   float64 // in whatever the flag's help says
	Percent  float64 // modelled, in percent
	Miles    float64 // statute
	MPH      float64
	Minutes  float64
	Count    int    // whole
	Filename string // a path, or - for the standard input
	Dataname string // the path of a data file

	Efficiency  float64      // a fraction
	ScaleWeight trade.Pounds // to the nearest pound
	TestWeight  trade.Percent
	WetBasis    trade.Percent // moisture of grain, wet basis
	GradeClass  string        // a class of wheat as the grade standard knows it; empty: not said
	ZoneName    string
	Dollars     trade.Price // where the flag can only mean dollars, as --price
)

// A Quantity says how text after a flag becomes a value of one Go type. Flags of a type share what they accept;
// the tags low, high and above of a flag narrow it.
type Quantity[T any] struct {
	Want    string // "a temperature with its unit, as 77F or 25C"
	Example string
	Read    func(label, text string, tag *kong.Tag) (T, error)
	Size    func(T) float64 // orders values for the range; nil: no range
	Choices []string        // all there is, where it is few names

	heard func(label, text string)
}

// A Note is what pages of help say of a type.
type Note struct {
	Want, Example string
	Choices       []string
}

// A Set is the readers of every type that flags have, for the parser, and what help says of each.
type Set struct {
	Options []kong.Option
	Notes   map[reflect.Type]Note
	heard   func(label, text string)
}

// New returns the set of the types that all flags share. What stands on the command line is told to heard before it is read.
func New(heard func(label, text string)) *Set {
	add := &Set{Notes: map[reflect.Type]Note{}, heard: heard}
	Add(add, Quantity[units.Temperature]{
		Want: "a temperature with its unit, as 77F or 25C", Example: "77F",
		Read: plain(quantity.ParseTemperature), Size: units.Temperature.Celsius,
	})
	Add(add, Quantity[units.Length]{
		Want: "a length with its unit, as 35ft, 10.7m or 30in", Example: "35ft",
		Read: plain(quantity.ParseLength), Size: units.Length.Meters,
	})
	Add(add, Quantity[units.Mass]{
		Want: "a weight with its unit, as 80000lb, 36.3t or 450kg", Example: "80000lb",
		Read: plain(quantity.ParseMass), Size: units.Mass.Kilograms,
	})
	Add(add, Quantity[units.Speed]{
		Want: "a speed with its unit, as 4.5mph or 7.2km/h", Example: "4.5mph",
		Read: plain(quantity.ParseSpeed), Size: units.Speed.MetersPerSecond,
	})
	Add(add, Quantity[quantity.Yield]{
		Want: "a yield with its unit, as 55bu/ac, 3.7t/ha or 3300lb/ac", Example: "55bu/ac", Read: plain(quantity.ParseYield),
	})
	Add(add, Quantity[Number]{
		Want: "a number in digits, as 1250 or 15.5", Example: "1250", Read: real[Number](quantity.ParseNumber), Size: float[Number],
	})
	Add(add, Quantity[Percent]{
		Want: "a percentage, as 12 or 12.5%", Example: "12.5", Read: real[Percent](quantity.ParsePercent), Size: float[Percent],
	})
	Add(add, Quantity[Miles]{
		Want: "a way on the road in miles, as 18 or 18mi, or 29km", Example: "18", Read: readMiles, Size: float[Miles],
	})
	Add(add, Quantity[MPH]{
		Want: "a speed with its unit, as 45mph or 72km/h", Example: "45mph", Read: real[MPH](quantity.ParseMilesPerHour), Size: float[MPH],
	})
	Add(add, Quantity[Minutes]{
		Want: "minutes, as 12 or 12min, or 0.2h", Example: "12", Read: readMinutes, Size: float[Minutes],
	})
	Add(add, Quantity[Efficiency]{
		Want: "a percentage or a fraction, 20 to 100 %, as 70, 70% or 0.70", Example: "70%", Read: readEfficiency,
	})
	Add(add, Quantity[ScaleWeight]{
		Want: "a weight with its unit, as 80000lb or 36.3t", Example: "80000lb", Read: readScaleWeight,
		Size: func(w ScaleWeight) float64 { return float64(w) },
	})
	Add(add, Quantity[Count]{
		Want: "a whole number, as 3", Example: "3", Read: readCount, Size: func(n Count) float64 { return float64(n) },
	})
	Add(add, Quantity[trade.Percent]{
		Want: "a percentage with at most two decimals, as 15.6", Example: "15.6",
		Read: plain(trade.ParsePercent), Size: trade.Percent.Float,
	})
	Add(add, Quantity[trade.Bushels]{
		Want: "bushels with at most three decimals, as 1864.3", Example: "1864.3",
		Read: plain(trade.ParseBushels), Size: trade.Bushels.Float,
	})
	Add(add, Quantity[trade.Price]{
		Want: "dollars or cents with their mark, as $9.8725, 35c or -35c", Example: "35c", Read: readPrice, Size: trade.Price.Float,
	})
	Add(add, Quantity[Dollars]{
		Want: "dollars, as 9.8725 or $9.8725, or cents, as 35c", Example: "9.8725",
		Read: func(label, text string, _ *kong.Tag) (Dollars, error) {
			p, err := trade.ParsePrice(label, text)
			return Dollars(p), err
		}, Size: func(p Dollars) float64 { return trade.Price(p).Float() },
	})
	Add(add, Quantity[WetBasis]{
		Want: "a moisture of 0 to 60 % wet basis with at most two decimals, as 15.6", Example: "15.6", Read: plain(readWetBasis),
	})
	Add(add, Quantity[TestWeight]{
		Want: "pounds a bushel, as 55.1", Example: "55.1", Read: func(label, text string, _ *kong.Tag) (TestWeight, error) {
			p, err := trade.ParseTestWeight(label, text)
			return TestWeight(p), err
		},
	})
	Add(add, Quantity[GradeClass]{Want: words.OneOf(gradeClasses()), Example: "HRW", Read: readGradeClass, Choices: gradeClasses()})
	Add(add, Quantity[calendar.Day]{Want: "a date, as 2031-09-14", Example: "2031-09-14", Read: plain(quantity.ParseDay)})
	Add(add, Quantity[crop.Kind]{Want: words.OneOf(CropNames()), Example: "soybean", Read: readCrop, Choices: CropNames()})
	Add(add, Quantity[crop.WheatClass]{Want: words.OneOf(classNames()), Example: "HRW", Read: readClass, Choices: classNames()})
	Add(add, Quantity[moisture.Form]{Want: words.OneOf(FormNames()), Example: "halsey", Read: readForm, Choices: FormNames()})
	Add(add, Quantity[ZoneName]{
		Want: "a name of the public time-zone list, as America/Chicago", Example: "America/Chicago", Read: readZoneName,
	})
	Add(add, Quantity[Filename]{Want: "a file, or - for the standard input", Example: "FILE", Read: readFilename})
	Add(add, Quantity[Dataname]{Want: "the name of a data file", Example: "farm.db", Read: plain(readDataname)})
	return add
}

// Add adds the reader of one more type.
func Add[T any](s *Set, q Quantity[T]) {
	q.heard = s.heard
	t := reflect.TypeFor[T]()
	s.Options = append(s.Options, kong.TypeMapper(t, q))
	s.Notes[t] = Note{q.Want, q.Example, q.Choices}
}

// Decode implements kong.Mapper.
func (q Quantity[T]) Decode(ctx *kong.DecodeContext, target reflect.Value) error {
	label := LabelOf(ctx.Value)
	token := ctx.Scan.Pop()
	text, ok := token.Value.(string)
	if !ok || token.IsEOL() || (token.Type == kong.UntypedToken && strings.HasPrefix(text, "--")) {
		return &problem.InputError{Rule: "flag.empty", Label: label, Want: q.Want}
	}
	q.heard(label, text)
	v, err := q.Read(label, text, ctx.Value.Tag)
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
func (q Quantity[T]) checkRange(flag *kong.Value, label, text string, v T) error {
	allowed := rangeWords(flag.Tag)
	if allowed == "" {
		return nil
	}
	limit := func(tag string) (float64, bool) {
		if !flag.Tag.Has(tag) {
			return 0, false
		}
		x, err := q.Read(label, flag.Tag.Get(tag), flag.Tag)
		if err != nil {
			panic("flags: the range of " + label + ": " + err.Error()) // a slip in the flag's tags that the first test finds
		}
		return q.Size(x), true
	}
	x := q.Size(v)
	low, hasLow := limit("low")
	high, hasHigh := limit("high")
	above, hasAbove := limit("above")
	if (hasLow && x < low) || (hasHigh && x > high) || (hasAbove && x <= above) {
		return &problem.InputError{Rule: "flag.range", Label: label, Got: text, Want: q.Want + "; " + allowed}
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

// LabelOf returns the name of a flag as it is typed, "--temp", or of an argument.
func LabelOf(v *kong.Value) string {
	if v.Flag != nil {
		return "--" + v.Name
	}
	return strings.ToUpper(v.Name)
}

// Missing returns what the command line lacks: flags and arguments tagged need, unless the flag that the tag names is given.
func Missing(node *kong.Node, notes map[reflect.Type]Note) problem.InputErrors {
	var out problem.InputErrors
	set := map[string]bool{}
	for _, group := range node.AllFlags(false) {
		for _, f := range group {
			set[f.Name] = f.Set
		}
	}
	look := func(v *kong.Value) {
		if v.Tag.Has("need") && !v.Set && !set[v.Tag.Get("need")] {
			out = append(out, &problem.InputError{
				Rule: "flag.missing", Label: LabelOf(v), Want: Accepts(v, notes),
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

// Accepts returns what may stand after a flag, in words.
func Accepts(v *kong.Value, notes map[reflect.Type]Note) string {
	t := v.Target.Type()
	list := t.Kind() == reflect.Slice
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	accepted := notes[t].Want
	if list && accepted != "" {
		accepted += ", several parted by commas"
	}
	if r := rangeWords(v.Tag); r != "" {
		accepted += "; " + r
	}
	return accepted
}

// Doubled refuses the first flag that was given more than once and takes one value.
func Doubled(path []*kong.Path) error {
	seen := map[*kong.Flag]bool{}
	for _, p := range path {
		if p.Flag == nil || p.Flag.IsCumulative() || p.Flag.IsBool() {
			continue
		}
		if seen[p.Flag] {
			label := LabelOf(p.Flag.Value)
			return &problem.Refusal{Rule: "flag.doubled", Label: label, Say: label + " is given twice; it takes one value.", Next: "Take one of the two out."}
		}
		seen[p.Flag] = true
	}
	return nil
}

// NoteOf returns what pages say of the type of a flag.
func NoteOf(v *kong.Value, notes map[reflect.Type]Note) Note { return notes[typeOf(v)] }

// IsFile reports whether what stands after a flag is the name of a file.
func IsFile(v *kong.Value) bool {
	t := typeOf(v)
	return t == reflect.TypeFor[Filename]() || t == reflect.TypeFor[Dataname]()
}

// typeOf returns the type of one value of a flag.
func typeOf(v *kong.Value) reflect.Type {
	t := v.Target.Type()
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	return t
}
