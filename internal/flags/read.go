package flags

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"

	"threshday/internal/core/crop"
	"threshday/internal/core/moisture"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/feeds/quantity"
	"threshday/internal/words"
)

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
func readMiles(label, text string, _ *kong.Tag) (Miles, error) {
	if bare(text) {
		text += "mi"
	}
	x, err := quantity.ParseMiles(label, text)
	return Miles(x), err
}

// readMinutes takes a bare number as minutes: such flags end in -min.
func readMinutes(label, text string, _ *kong.Tag) (Minutes, error) {
	if bare(text) {
		text += "min"
	}
	x, err := quantity.ParseMinutes(label, text)
	return Minutes(x), err
}

// readEfficiency takes 70, 70% and 0.70 alike: no machine works for less than a fifth of its time, so a bare number up
// to 1 can only be the fraction.
func readEfficiency(label, text string, _ *kong.Tag) (Efficiency, error) {
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
	return Efficiency(x), nil
}

func readScaleWeight(label, text string, _ *kong.Tag) (ScaleWeight, error) {
	m, err := quantity.ParseMass(label, text)
	return ScaleWeight(math.Round(m.Pounds())), err
}

func readCount(label, text string, _ *kong.Tag) (Count, error) {
	x, err := quantity.ParseNumber(label, text)
	if err == nil && (x != math.Trunc(x) || math.Abs(x) > 1e9) {
		err = &problem.InputError{Rule: "number.whole", Label: label, Got: text, Want: "a whole number, as 3"}
	}
	if err != nil {
		return 0, err
	}
	return Count(x), nil
}

func readPrice(label, text string, tag *kong.Tag) (trade.Price, error) {
	return quantity.ParsePrice(label, text, tag.Get("per"))
}

func readFilename(label, text string, _ *kong.Tag) (Filename, error) {
	if text == "" {
		return "", &problem.InputError{Rule: "flag.empty", Label: label, Want: "the name of a file"}
	}
	return Filename(text), nil
}

// readDataname refuses the standard input, which cannot hold a data file.
func readDataname(label, text string) (Dataname, error) {
	if text == "" || text == "-" {
		return "", &problem.InputError{Rule: "flag.empty", Label: label, Got: text, Want: "the name of a data file, as farm.db"}
	}
	return Dataname(text), nil
}

// readZoneName refuses the two names that mean whatever the computer is set to.
func readZoneName(label, text string, _ *kong.Tag) (ZoneName, error) {
	if text == "" || text == "Local" {
		return "", &problem.InputError{Rule: "zone.unknown", Label: label, Got: text, Want: "a name of the public time-zone list, as America/Chicago"}
	}
	return ZoneName(text), nil
}

func readCrop(label, text string, _ *kong.Tag) (crop.Kind, error) {
	k, ok := crop.Parse(text)
	if !ok {
		return 0, &problem.InputError{Rule: "crop.unknown", Label: label, Got: text, Want: words.OneOf(CropNames())}
	}
	return k, nil
}

// CropNames returns the names of all crops.
func CropNames() []string {
	var names []string
	for _, k := range crop.Kinds() {
		names = append(names, k.String())
	}
	return names
}

func readClass(label, text string, _ *kong.Tag) (crop.WheatClass, error) {
	c, ok := crop.ParseWheatClass(strings.ToUpper(text))
	if !ok || text == "" {
		return 0, &problem.InputError{Rule: "class.unknown", Label: label, Got: text, Want: words.OneOf(classNames())}
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

func readGradeClass(label, text string, _ *kong.Tag) (GradeClass, error) {
	for _, name := range gradeClasses() {
		if strings.EqualFold(name, strings.ReplaceAll(text, " ", "-")) {
			return GradeClass(strings.ReplaceAll(name, "-", " ")), nil
		}
	}
	return "", &problem.InputError{Rule: "class.unknown", Label: label, Got: text, Want: words.OneOf(gradeClasses())}
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
	return 0, &problem.InputError{Rule: "form.unknown", Label: label, Got: text, Want: words.OneOf(FormNames())}
}

// FormNames returns the names of the equilibrium equations.
func FormNames() []string {
	var names []string
	for _, f := range forms {
		names = append(names, f.name)
	}
	return names
}

// FormName returns the name of f on the command line.
func FormName(f moisture.Form) string {
	for _, known := range forms {
		if known.form == f {
			return known.name
		}
	}
	return strconv.Itoa(int(f))
}

// readWetBasis reads a moisture of grain, and where it cannot be one says what it may have been.
func readWetBasis(label, text string) (WetBasis, error) {
	p, err := trade.ParsePercentIn(label, text, 0, 60_00)
	var bad *problem.InputError
	if !errors.As(err, &bad) {
		return WetBasis(p), err
	}
	plain := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "%"))
	if d, err := trade.ParseDecimal(label, strings.Replace(plain, ",", ".", 1)); err == nil {
		for _, times := range []float64{1, 0.1, 0.01, 100} {
			if x := d.Float() * times; x >= 5 && x <= 40 { // what is read in fields and at scales [judgement]
				bad.Next = "Did you mean " + words.Short(x, 2) + "?"
				break
			}
		}
	}
	return 0, bad
}
