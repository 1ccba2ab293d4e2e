package cli

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
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

// plain makes a reader of a function that needs no tag.
func plain[T any](parse func(label, text string) (T, error)) func(string, string, *kong.Tag) (T, error) {
	return func(label, text string, _ *kong.Tag) (T, error) { return parse(label, text) }
}

// real is plain for a type of our own over float64.
func real[T ~float64](parse func(label, text string) (float64, error)) func(string, string, *kong.Tag) (T, error) {
	return func(label, text string, _ *kong.Tag) (T, error) {
		x, err := parse(label, text)
		return T(x), err
	}
}

func float[T ~float64](x T) float64 { return float64(x) }

// bare reports whether text is a number with nothing after it.
func bare(text string) bool {
	_, err := quantity.ParseNumber("", text)
	return err == nil
}

// readMiles takes a bare number as miles: the flag is called --miles.
func readMiles(label, text string, _ *kong.Tag) (miles, error) {
	if bare(text) {
		text += "mi"
	}
	x, err := quantity.ParseMiles(label, text)
	return miles(x), err
}

// readMinutes takes a bare number as minutes: such flags end in -min.
func readMinutes(label, text string, _ *kong.Tag) (minutes, error) {
	if bare(text) {
		text += "min"
	}
	x, err := quantity.ParseMinutes(label, text)
	return minutes(x), err
}

// readEfficiency takes 70, 70% and 0.70 alike: no machine works for less than a fifth of its time, so a bare number up
// to 1 can only be the fraction.
func readEfficiency(label, text string, _ *kong.Tag) (efficiency, error) {
	x, err := quantity.ParsePercent(label, text)
	if err != nil {
		return 0, err
	}
	if x > 1 || strings.HasSuffix(strings.TrimSpace(text), "%") {
		x /= 100
	}
	if x < 0.2 || x > 1 {
		return 0, &problem.InputError{Rule: "flag.range", Label: label, Got: text, Want: "20 to 100 %, as 70, 70% or 0.70"}
	}
	return efficiency(x), nil
}

func readScaleWeight(label, text string, _ *kong.Tag) (scaleWeight, error) {
	m, err := quantity.ParseMass(label, text)
	return scaleWeight(math.Round(m.Pounds())), err
}

func readCount(label, text string, _ *kong.Tag) (count, error) {
	x, err := quantity.ParseNumber(label, text)
	if err == nil && (x != math.Trunc(x) || math.Abs(x) > 1e9) {
		err = &problem.InputError{Rule: "number.whole", Label: label, Got: text, Want: "a whole number, as 3"}
	}
	if err != nil {
		return 0, err
	}
	return count(x), nil
}

func readPrice(label, text string, tag *kong.Tag) (trade.Price, error) {
	return quantity.ParsePrice(label, text, tag.Get("per"))
}

func readFilename(label, text string, _ *kong.Tag) (filename, error) {
	if text == "" {
		return "", &problem.InputError{Rule: "flag.empty", Label: label, Want: "the name of a file"}
	}
	return filename(text), nil
}

// readZoneName refuses the two names that mean whatever the computer is set to.
func readZoneName(label, text string, _ *kong.Tag) (zoneName, error) {
	if text == "" || text == "Local" {
		return "", &problem.InputError{Rule: "zone.unknown", Label: label, Got: text, Want: "a name of the public time-zone list, as America/Chicago"}
	}
	return zoneName(text), nil
}

func readShell(label, text string, _ *kong.Tag) (shell, error) {
	if !slices.Contains(shells, text) {
		return "", &problem.InputError{Rule: "shell.unknown", Label: label, Got: text, Want: oneOf(shells)}
	}
	return shell(text), nil
}

func readCrop(label, text string, _ *kong.Tag) (crop.Kind, error) {
	k, ok := crop.Parse(text)
	if !ok {
		return 0, &problem.InputError{Rule: "crop.unknown", Label: label, Got: text, Want: oneOf(cropNames())}
	}
	return k, nil
}

func cropNames() []string {
	var names []string
	for _, k := range crop.Kinds() {
		names = append(names, k.String())
	}
	return names
}

func readClass(label, text string, _ *kong.Tag) (crop.WheatClass, error) {
	c, ok := crop.ParseWheatClass(strings.ToUpper(text))
	if !ok || text == "" {
		return 0, &problem.InputError{Rule: "class.unknown", Label: label, Got: text, Want: oneOf(classNames())}
	}
	return c, nil
}

func classNames() []string {
	var names []string
	for _, c := range crop.WheatClasses() {
		names = append(names, c.String())
	}
	return names
}

// gradeClasses are the classes of wheat in the grade standard: those sold by name, and two more.
func gradeClasses() []string { return append(classNames(), "white-club", "UN") }

func readGradeClass(label, text string, _ *kong.Tag) (gradeClass, error) {
	for _, name := range gradeClasses() {
		if strings.EqualFold(name, strings.ReplaceAll(text, " ", "-")) {
			return gradeClass(strings.ReplaceAll(name, "-", " ")), nil
		}
	}
	return "", &problem.InputError{Rule: "class.unknown", Label: label, Got: text, Want: oneOf(gradeClasses())}
}

// forms are the names of the equilibrium equations on the command line.
var forms = []struct {
	name string
	form moisture.Form
}{
	{"halsey", moisture.Halsey}, {"henderson", moisture.Henderson}, {"chung-pfost", moisture.ChungPfost}, {"oswin", moisture.Oswin},
}

func readForm(label, text string, _ *kong.Tag) (moisture.Form, error) {
	for _, f := range forms {
		if f.name == text {
			return f.form, nil
		}
	}
	return 0, &problem.InputError{Rule: "form.unknown", Label: label, Got: text, Want: oneOf(formNames())}
}

func formNames() []string {
	var names []string
	for _, f := range forms {
		names = append(names, f.name)
	}
	return names
}

// formName returns the name of f on the command line.
func formName(f moisture.Form) string {
	for _, known := range forms {
		if known.form == f {
			return known.name
		}
	}
	return strconv.Itoa(int(f))
}

// oneOf returns "a, b or c".
func oneOf(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
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
	if list {
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
