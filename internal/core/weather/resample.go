package weather

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"threshday/internal/core/calendar"
)

// ResampleOptions say which hours an ensemble covers and which years it may be made from.
type ResampleOptions struct {
	Start   calendar.Hour
	Hours   int
	Members int
	Zone    *time.Location // the farm's clock: tells which year it is
	Exclude []int          // years not to be used, besides the year of Start
}

// MaxShift is by how many days a recorded year may be moved against the calendar. A member of October is made
// from weather of late September to early November.
const MaxShift = 12

// Why an ensemble cannot be made.
var (
	// ErrShortRecord: too few recorded years have whole weather in the season asked for.
	ErrShortRecord = errors.New("the weather record is too short")
	// ErrNoRain: rain was not measured, and a season without rain would be a promise.
	ErrNoRain = errors.New("the weather record has no rain in it")
)

// Resample makes members from a station's record: member after member takes another recorded year, and once
// all years are used, the same years moved by some days against the calendar, at most [MaxShift] either way,
// so that n years give 25 n members. Temperature and dew point of a moved year keep their difference from the
// usual of their own date. The year of Start is never used: its weather is what the plan does not know.
//
// There is no chance in it: member i is the same for any number of members above i. Hours of the day stay
// where they are by the sun. A window with a missing value is
// passed over. The ensemble's Source names the year.
func Resample(record *Series, o ResampleOptions) (*Ensemble, error) {
	if o.Hours <= 0 || o.Members <= 0 || o.Zone == nil {
		panic("weather: nothing to resample")
	}
	if !everRains(record) {
		return nil, fmt.Errorf("%w: load a record that measures rain", ErrNoRain)
	}
	today := calendar.DayOf(o.Start.Start(), o.Zone)
	plan, years := windows(record, o, today)
	if len(plan) < o.Members {
		return nil, shortRecord(record, o, today, len(plan), years)
	}
	usual, fitted := annualCycle(record)
	e := NewEnsemble(o.Start, o.Hours, o.Members)
	for m, w := range plan[:o.Members] {
		e.Source[m] = strconv.Itoa(w.year)
		fillMember(e, m, record, w, usual)
	}
	season := "with the season's change of temperature"
	if !fitted {
		season = "without the season's change of temperature, which this record does not show"
	}
	e.Note = fmt.Sprintf("%d weathers from the recorded years %s, moved by up to %d days either way %s; %s left out",
		o.Members, yearList(years), reach(plan[:o.Members]), season, yearList(excluded(o, today)))
	return e, nil
}

// A window is where in the record one member is taken from.
type window struct {
	year  int
	shift int           // days later in the record's year than on the calendar
	start calendar.Hour // first hour in the record
}

// shiftOrder returns the shifts from none to the widest: each next one lies far from those before, so that
// any first few cover the range.
func shiftOrder() []int {
	order := []int{0}
	for step := MaxShift; step > 0; step /= 2 {
		for d := step; d <= MaxShift; d += step {
			if !slices.Contains(order, d) {
				order = append(order, d, -d)
			}
		}
	}
	return order
}

// windows returns every usable window in the order members take them, and the years behind them.
func windows(record *Series, o ResampleOptions, today calendar.Day) (plan []window, years []int) {
	whole := wholeHours(record)
	first := calendar.DayOf(record.Start.Start(), o.Zone).Year
	last := calendar.DayOf(record.End().Start(), o.Zone).Year
	barred := excluded(o, today)
	for _, shift := range shiftOrder() {
		for year := first; year <= last; year++ {
			w := windowOf(o, today, year, shift)
			i := int(w.start - record.Start)
			if i < 0 || i+o.Hours > record.Len() || whole[i+o.Hours]-whole[i] < o.Hours || touches(w, o, barred) {
				continue
			}
			plan = append(plan, w)
			if !slices.Contains(years, year) {
				years = append(years, year)
			}
		}
	}
	slices.Sort(years)
	return plan, years
}

func windowOf(o ResampleOptions, today calendar.Day, year, shift int) window {
	then := today.InYear(year).AddDays(shift)
	return window{year, shift, o.Start + calendar.Hour(24*then.DaysSince(today))}
}

// touches reports whether the window holds hours of a year that must not be seen.
func touches(w window, o ResampleOptions, barred []int) bool {
	first := calendar.DayOf(w.start.Start(), o.Zone).Year
	last := calendar.DayOf((w.start + calendar.Hour(o.Hours) - 1).Start(), o.Zone).Year
	for year := first; year <= last; year++ {
		if slices.Contains(barred, year) {
			return true
		}
	}
	return slices.Contains(barred, w.year)
}

func excluded(o ResampleOptions, today calendar.Day) []int {
	out := append([]int{today.Year}, o.Exclude...)
	slices.Sort(out)
	return slices.Compact(out)
}

// wholeHours returns, before each hour, how many hours so far have every quantity.
func wholeHours(s *Series) []int {
	count := make([]int, s.Len()+1)
	for i := range s.Len() {
		count[i+1] = count[i]
		if s.known(i) {
			count[i+1]++
		}
	}
	return count
}

func (s *Series) known(i int) bool {
	for v := range s.From {
		if s.From[v][i] == Missing {
			return false
		}
	}
	return true
}

func everRains(s *Series) bool {
	return slices.ContainsFunc(s.V[RainMM], func(mm float32) bool { return mm > 0 })
}

func fillMember(e *Ensemble, m int, record *Series, w window, usual cycle) {
	at := int(w.start - record.Start)
	for v := range Var(NVar) {
		copy(e.Row(v, m), record.V[v][at:at+e.Hours])
	}
	temp, dew := e.Row(TempC, m), e.Row(DewC, m)
	moved := e.Start - w.start
	for i := 0; i < e.Hours; i += 24 { // the usual difference changes by a hundredth of a degree from day to day
		end := min(i+24, e.Hours)
		dt, dd := usual.change(w.start+calendar.Hour(i), moved)
		for k := i; k < end; k++ {
			temp[k] += float32(dt)
			dew[k] = min(dew[k]+float32(dd), temp[k])
		}
	}
}

func reach(plan []window) int {
	most := 0
	for _, w := range plan {
		most = max(most, max(w.shift, -w.shift))
	}
	return most
}

func shortRecord(record *Series, o ResampleOptions, today calendar.Day, found int, years []int) error {
	until := calendar.DayOf((o.Start + calendar.Hour(o.Hours) - 1).Start(), o.Zone)
	return fmt.Errorf("%w: it runs from %s to %s, and between %s and %s it has whole weather in %s outside %s, enough for %d of the %d weathers asked for; load more years or ask for fewer weathers",
		ErrShortRecord, calendar.DayOf(record.Start.Start(), o.Zone), calendar.DayOf((record.End()-1).Start(), o.Zone),
		monthDay(today), monthDay(until), yearList(years), yearList(excluded(o, today)), found, o.Members)
}

func monthDay(d calendar.Day) string { return fmt.Sprintf("%d %s", d.Date, d.Month) }

// yearList writes years as people do: "2003 to 2006", "2003, 2005", "no year".
func yearList(years []int) string {
	if len(years) == 0 {
		return "no year"
	}
	if n := len(years); n > 2 && years[n-1]-years[0] == n-1 {
		return fmt.Sprintf("%d to %d", years[0], years[n-1])
	}
	words := make([]string, len(years))
	for i, y := range years {
		words[i] = strconv.Itoa(y)
	}
	return strings.Join(words, ", ")
}
