package settlement

import (
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// A Sample is what an official inspection found.
type Sample struct {
	Crop       crop.Kind
	Class      string // wheat: "HRW", "SRW", "HRS", "SWH", "HDWH", "DU", "UN", "white club"
	Day        calendar.Day
	Readings   Readings
	Counts     map[Count]int // pieces; what was not counted is absent
	Discolored bool          // sorghum: distinctly discoloured
}

// SampleGrade is the number of U.S. Sample grade.
const SampleGrade = 0

// A Grade is the numbered US grade, 1 the best, or [SampleGrade].
type Grade struct {
	Number    int
	LimitedBy []string // factors, counts and flags without which the grade were better; empty for No. 1
	Missing   []Factor // grade factors not measured: the grade is at best this
	Special   []string // special grades beside it
}

// String returns "1" to "5", or "Sample".
func (g Grade) String() string {
	if g.Number == SampleGrade {
		return "Sample"
	}
	return fmt.Sprint(g.Number)
}

// Assign returns the official US grade of a sample: for each factor the best grade whose limit it meets after
// rounding to its recorded precision, over all factors the worst; a trigger of Sample grade makes it that.
// Heat damage is tested by itself and inside the total it is part of. The error is a *problem.InputError where
// no table speaks of the crop, class and day, or a reading is none.
//
// The grade is the one this table gives; only an official inspection certifies it.
func Assign(s Sample) (Grade, error) {
	table, err := standardFor(s)
	if err != nil {
		return Grade{}, err
	}
	if err := checkLoad(&Load{Crop: s.Crop, Gross: 1, Readings: s.Readings}); err != nil {
		return Grade{}, err
	}
	g := grading{grade: Grade{Number: 1}, table: table}
	for _, l := range table.limits {
		g.factor(s, l)
	}
	g.pieces(s)
	g.flags(s)
	if s.Discolored && s.Crop == crop.Sorghum {
		g.worst(3, "discolored")
	}
	return g.grade, nil
}

func standardFor(s Sample) (*standard, error) {
	refuse := func(label, got, want string) error {
		return &problem.InputError{Rule: "grade.table", Label: label, Got: got, Want: want}
	}
	class := strings.ToLower(strings.TrimSpace(s.Class))
	if s.Crop == crop.Wheat && (class == "" || class == "mixed") {
		return nil, refuse("Class", s.Class, "a class of wheat other than mixed: HRW, SRW, HRS, HDWH, SWH, DU, UN or white club")
	}
	if s.Day.IsZero() {
		return nil, refuse("Date", "", "the day of grading, because the standards change")
	}
	light := slices.Contains([]string{"hrs", "hard red spring", "white club", "whcb"}, class)
	var days []string
	for _, t := range standards() {
		if t.crop != s.Crop || s.Crop == crop.Wheat && t.light != light {
			continue
		}
		if (t.from == nil || !s.Day.Before(*t.from)) && (t.until == nil || !s.Day.After(*t.until)) {
			return &t, nil
		}
		days = append(days, t.from.String())
	}
	if days == nil {
		return nil, refuse("Crop", s.Crop.String(), "a crop whose grade table is known: soybean, corn, wheat, sorghum, canola, sunflower")
	}
	slices.Sort(days)
	return nil, refuse("Date", s.Day.String(), "a day from "+days[0]+" on, when the oldest table known begins")
}

// A grading keeps the worst grade so far and what made it so.
type grading struct {
	grade Grade
	table *standard
}

func (g *grading) worst(number int, by string) {
	switch rank := func(n int) int {
		if n == SampleGrade {
			return 99
		}
		return n
	}; {
	case rank(number) > rank(g.grade.Number):
		g.grade.Number, g.grade.LimitedBy = number, []string{by}
	case number == g.grade.Number && number != 1 && !slices.Contains(g.grade.LimitedBy, by):
		g.grade.LimitedBy = append(g.grade.LimitedBy, by)
	}
}

// factor tests one row of the table.
func (g *grading) factor(s Sample, l limit) {
	var x trade.Percent
	names := make([]string, len(l.parts))
	for i, f := range l.parts {
		part, ok := s.Readings.Of(f)
		if !ok {
			if f != AnimalFilth && f != Stones && !slices.Contains(g.grade.Missing, f) {
				g.grade.Missing = append(g.grade.Missing, f)
			}
			return
		}
		x += official(s.Crop, f, part)
		names[i] = f.String()
	}
	for n, at := range l.of {
		if l.atLeast && x >= at || !l.atLeast && x <= at {
			g.worst(n+1, strings.Join(names, "+"))
			return
		}
	}
	g.worst(SampleGrade, strings.Join(names, "+"))
}

// official returns a reading as official practice records it: test weight of light crops in whole and half
// pounds, a fraction of a half disregarded; foreign material of sunflower to the half percent. [settlement-recalled]
func official(k crop.Kind, f Factor, x trade.Percent) trade.Percent {
	light := k == crop.Barley || k == crop.Oats || k == crop.Sunflower
	switch {
	case f == TestWeight && light:
		return x.Round(50, trade.Floor)
	case f == ForeignMaterial && k == crop.Sunflower:
		return x.Round(50, trade.HalfUp)
	}
	return f.Recorded(x)
}

// pieces tests what is counted.
func (g *grading) pieces(s Sample) {
	total := 0
	for c, n := range s.Counts {
		if c != AllPieces && c != InsectDamaged {
			total += n
		}
	}
	total = max(total, s.Counts[AllPieces])
	for _, l := range g.table.counts {
		n := s.Counts[l.count]
		if l.count == AllPieces {
			n = total
		}
		if l.count == GlassPieces && s.Readings.Noted(Glass) {
			n = max(n, 1)
		}
		if n > l.most {
			g.worst(SampleGrade, l.count.String())
		}
	}
	rule := g.table.stones
	if rule.most < 0 && rule.pct < 0 {
		return
	}
	pct, weighed := s.Readings.Of(Stones)
	many := rule.most < 0 || s.Counts[StonePieces] > rule.most
	heavy := rule.pct < 0 || weighed && pct > rule.pct
	switch {
	case many && heavy:
		g.worst(SampleGrade, StonePieces.String())
	case rule.most >= 0 && many && !weighed:
		g.grade.Missing = append(g.grade.Missing, Stones) // many stones, and whether they are heavy decides
	}
}

// flags tests what is noted: odours and heating make Sample grade, garlic and live insects a special grade.
func (g *grading) flags(s Sample) {
	for f := range s.Readings.All {
		switch f {
		case OdourMusty, OdourSour, OdourOther, Heating:
			g.worst(SampleGrade, f.String())
		case Garlicky:
			g.grade.Special = append(g.grade.Special, "garlicky")
		case Infested:
			g.grade.Special = append(g.grade.Special, "infested")
		default:
		}
	}
	if x, ok := s.Readings.Of(OtherColors); ok && x > 10_00 {
		g.grade.Special = append(g.grade.Special, "mixed soybeans")
	}
}
