package drydown

import (
	"fmt"
	"math"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
)

// SoybeanDates says how planting date and relative maturity move R7 of soybean from a date known nearby. Day
// length drives the crop, so there is no heat sum that holds everywhere.
type SoybeanDates struct {
	DaysPerGroup float64 // later per whole relative maturity group
	ToMay31      float64 // days later per day planted later, until May 31
	ToJune15     float64 // from then until June 15
	After        float64 // from then on
	SDDays       float64 // error of the date without a look at the plants
}

// DefaultSoybeanDates returns the shifts published for the Midwest.
func DefaultSoybeanDates() SoybeanDates {
	return SoybeanDates{
		DaysPerGroup: 10,               // half a group moves maturity 4–6 days [seed-trial-rm-2021]
		ToMay31:      0.5,              // a month's delay is two weeks at R7 [conley-shaner-2006]
		ToJune15:     0.25, After: 0.2, // 4 and 5 days of planting per day of maturity [osu-agronomy-guide]
		SDDays: 5, // [judgement]
	}
}

// Coefficients lists the numbers of the model with their sources.
func (s SoybeanDates) Coefficients() []Coefficient { return list(soybeanEntries, s) }

// With returns s with one coefficient changed. The error is a *problem.InputError that names what is accepted.
func (s SoybeanDates) With(name string, value float64) (SoybeanDates, error) {
	err := set(soybeanEntries, &s, "soybean dates", name, value)
	return s, err
}

var soybeanEntries = []entry[SoybeanDates]{
	{"rm-days", "days", "later per maturity group", 0, 30, "seed-trial-rm-2021", func(s *SoybeanDates) *float64 { return &s.DaysPerGroup }},
	{"to-may-31", "", "days later per day planted later, until May 31", 0, 1, "conley-shaner-2006", func(s *SoybeanDates) *float64 { return &s.ToMay31 }},
	{"to-june-15", "", "the same until June 15", 0, 1, "osu-agronomy-guide", func(s *SoybeanDates) *float64 { return &s.ToJune15 }},
	{"after-june-15", "", "the same after June 15", 0, 1, "osu-agronomy-guide", func(s *SoybeanDates) *float64 { return &s.After }},
	{"r7-sd", "days", "error of the date without a look at the plants", 0, 20, "", func(s *SoybeanDates) *float64 { return &s.SDDays }},
}

// Delay returns how many days later soybean planted on a day matures than if planted on January 1, by the
// slopes alone: only differences mean anything.
func (s SoybeanDates) Delay(planted calendar.Day) float64 {
	until := func(month time.Month, date int) float64 {
		return float64(calendar.Day{Year: planted.Year, Month: month, Date: date}.YearDay())
	}
	may31, june15, day := until(time.May, 31), until(time.June, 15), float64(planted.YearDay())
	return float64(s.ToMay31*min(day, may31)) + float64(s.ToJune15*min(max(day-may31, 0), june15-may31)) +
		float64(s.After*max(day-june15, 0))
}

// A SoybeanAnchor is a field nearby whose R7 is known: this year's, or a usual one.
type SoybeanAnchor struct {
	RelativeMaturity float64 // group, 2.8
	Planted, Mature  calendar.Day
}

// Relative maturities of soybean a rating can have, groups.
const (
	leastSoybeanRM = -1
	mostSoybeanRM  = 9
)

// R7 returns when soybean of group rm planted on a day reaches R7, by the anchor that needs the least shifting.
// An anchor of another year serves by its month and date. The error is a *problem.InputError when there is no
// anchor or a group is out of range.
func (s SoybeanDates) R7(planted calendar.Day, rm float64, anchors []SoybeanAnchor) (Maturity, error) {
	if len(anchors) == 0 {
		return Maturity{}, &problem.InputError{
			Rule: "maturity.soybean.anchor", Label: "A known R7 date for soybean nearby",
			Want: "planting date, relative maturity and R7 date of one field you know, this year or a usual one",
			Next: "Enter one such field, or the day this field is mature.",
		}
	}
	for _, g := range append([]SoybeanAnchor{{RelativeMaturity: rm}}, anchors...) {
		if !(g.RelativeMaturity >= leastSoybeanRM && g.RelativeMaturity <= mostSoybeanRM) {
			return Maturity{}, &problem.InputError{
				Rule: "maturity.soybean.rm", Label: "Relative maturity of soybean", Got: fmt.Sprintf("%g", g.RelativeMaturity),
				Want: fmt.Sprintf("%d to %d, like 2.8", leastSoybeanRM, mostSoybeanRM), Next: "Take it from the seed tag.",
			}
		}
	}
	best, least := anchors[0], math.Inf(1)
	for _, a := range anchors {
		byGroup, byPlanting := s.shift(planted, rm, a)
		if d := math.Abs(byGroup) + math.Abs(byPlanting); d < least {
			best, least = a, d
		}
	}
	byGroup, byPlanting := s.shift(planted, rm, best)
	day := best.Mature.InYear(planted.Year + best.Mature.Year - best.Planted.Year).AddDays(int(math.Round(byGroup + byPlanting)))
	return Maturity{Day: day, SDDays: s.SDDays, How: []string{
		fmt.Sprintf("A field of group %.1f planted %s was at R7 on %s.", best.RelativeMaturity, best.Planted, best.Mature),
		fmt.Sprintf("Group %.1f moves that %+.0f days, planting on %s moves it %+.0f days.", rm, byGroup, planted, byPlanting),
	}}, nil
}

func (s SoybeanDates) shift(planted calendar.Day, rm float64, a SoybeanAnchor) (byGroup, byPlanting float64) {
	return s.DaysPerGroup * (rm - a.RelativeMaturity), s.Delay(planted) - s.Delay(a.Planted.InYear(planted.Year))
}
