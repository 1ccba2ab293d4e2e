package weather

import (
	"cmp"
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
)

// Rain of a day that a forecast gives a chance for. The members are ranked by their own rain of the day, dry
// ones by how damp their air is; the first of the rank are the wet ones, as many as the chance asks for. So
// the fewest members change, those that lose rain had the least, and those that gain it were nearest to it.

// usualRain is how it rains in the season of the ensemble: by day, the share of wet members of the days
// around, counted over the hours still to come, and the mean rain of a wet day.
type usualRain struct {
	daily  [][]float64 // [day][member] mm of the whole day
	amount float64     // mm, mean of wet days
}

// Windows and stand-ins of the season's usual rain. [judgement]
const (
	usualDays      = 15   // days either way
	usualAmount    = 5.0  // mm of a wet day where the season has none
	wetAmountShape = 0.6  // gamma shape of a wet day's rain: months of two stations lie between .51 and .73 [champaign-hourly]
	rainCover      = 0.9  // least cloud of an hour with rain
	clearedCover   = 0.5  // most cloud of an hour whose rain was taken away
	fewestWet      = 0.26 // mm of a wet member at least: the threshold and room for rounding
)

func (l *lead) usualRain() usualRain {
	u := usualRain{daily: make([][]float64, len(l.all))}
	sum, wet := 0.0, 0.0
	for k, view := range l.all {
		u.daily[k] = make([]float64, l.base.Members)
		for m := range u.daily[k] {
			mm := l.base.rain(m, int(view.First-l.base.Start), int(view.End-l.base.Start))
			u.daily[k][m] = mm
			if view.Whole && mm >= WetDayMM {
				sum += mm
				wet++
			}
		}
	}
	u.amount = usualAmount
	if wet > 0 {
		u.amount = sum / wet
	}
	return u
}

func (e *Ensemble) rain(m, first, end int) float64 {
	sum := 0.0
	for _, mm := range e.Row(RainMM, m)[first:end] {
		sum += float64(mm)
	}
	return sum
}

// usual returns the season's frequency of rain in a part of a day as long as the one still to come.
func (l *lead) usual(u usualRain, d *leadDay) float64 {
	wet, n := 0.0, 0.0
	hours := d.end - d.first
	for k := max(0, d.at-usualDays); k <= min(len(l.all)-1, d.at+usualDays); k++ {
		if !l.all[k].Whole {
			continue
		}
		end := int(l.all[k].End - l.base.Start)
		for m := range l.base.Members {
			mm := u.daily[k][m]
			if hours < 23 {
				mm = l.base.rain(m, end-hours, end)
			}
			if mm >= WetDayMM {
				wet++
			}
			n++
		}
	}
	if n == 0 {
		return 0.3
	}
	return wet / n
}

// occurrence makes as many members wet as the chance asks for and gives the wet ones their amounts and hours.
func (l *lead) occurrence(d *leadDay, u usualRain) {
	n := l.base.Members
	own := make([]float64, n)
	order := make([]int, n)
	for m := range order {
		order[m] = m
		own[m] = l.base.rain(m, d.first, d.end)
	}
	dampness := func(m int) float64 { return d.own[m].Dew - (d.own[m].High+d.own[m].Low)/2 }
	wetFirst := func(mm float64) float64 {
		if mm < WetDayMM {
			return 0 // drizzle ranks by the air, like dry days
		}
		return mm
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(wetFirst(own[b]), wetFirst(own[a])), cmp.Compare(dampness(b), dampness(a)))
	})
	wet := int(math.Round(l.table.chance(*d.Rain, l.usual(u, d), d.age) * float64(n)))
	amounts := slices.Clone(own)
	d.wet = make([]bool, n)
	for rank, m := range order {
		d.wet[m] = rank < wet
		switch was := own[m] >= WetDayMM; {
		case d.wet[m] && !was:
			d.wetter[m] = 1
			amounts[m] = l.drawAmount(d, m, u.amount)
		case !d.wet[m] && was:
			d.wetter[m] = -1
			amounts[m] = 0
		}
	}
	l.toAmount(d, amounts, u.amount)
	for m := range n {
		l.pour(d, m, own[m], amounts[m])
	}
}

// drawAmount returns the rain of a member that turns wet: the threshold and a gamma number beyond it.
func (l *lead) drawAmount(d *leadDay, m int, usual float64) float64 {
	s := NewStream(l.in.Root, m, d.On, rainAmount)
	beyond := max(0.1, l.meanAmount(d, usual)-fewestWet)
	return fewestWet + s.Gamma(wetAmountShape)*beyond/wetAmountShape
}

// meanAmount returns the mean rain of wet members to aim for: the forecast's as far as its chance is
// believed, the season's for the rest.
func (l *lead) meanAmount(d *leadDay, usual float64) float64 {
	if d.Amount == nil {
		return usual
	}
	k := atLead(l.table.Rain, d.age)
	return max(fewestWet, k**d.Amount+(1-k)*usual)
}

// toAmount scales what wet members have beyond the threshold so that their mean is the one to aim for.
func (l *lead) toAmount(d *leadDay, amounts []float64, usual float64) {
	if d.Amount == nil {
		return
	}
	beyond, n := 0.0, 0.0
	for m, mm := range amounts {
		if d.wet[m] {
			beyond += max(0, mm-fewestWet)
			n++
		}
	}
	if beyond <= 0 {
		return
	}
	scale := (l.meanAmount(d, usual) - fewestWet) * n / beyond
	for m, mm := range amounts {
		if d.wet[m] {
			amounts[m] = fewestWet + max(0, mm-fewestWet)*scale
		}
	}
}

// pour puts a member's rain into the hours still to come: its own pattern scaled where it had one and no part
// of the day is named, else a pattern drawn, in that part if the forecast is believed.
func (l *lead) pour(d *leadDay, m int, own, amount float64) {
	row := l.out.Row(RainMM, m)[d.first:d.end]
	before := slices.Clone(row)
	from, to, named := partHours(d.Part, l.in.Zone, l.base.Start, d.first, d.end)
	s := NewStream(l.in.Root, m, d.On, rainPart)
	follows := named && s.Uniform() < atLead(l.table.Rain, d.age)
	switch {
	case d.wet[m] && (d.wetter[m] > 0 || follows):
		if !follows {
			from, to = 0, len(row)
		}
		s := NewStream(l.in.Root, m, d.On, leadHours)
		for i, mm := range SpreadRain(amount, len(row), from, to, &s) {
			row[i] = float32(mm)
		}
	case own > 0:
		for i := range row {
			row[i] *= float32(amount / own)
		}
	}
	for i := range row {
		h := d.first + i
		cloud := float64(l.out.Row(SkyFrac, m)[h])
		switch {
		case row[i] >= smallestHour && before[i] < smallestHour:
			l.cover(m, h, max(cloud, rainCover))
		case row[i] < smallestHour && before[i] >= smallestHour:
			l.cover(m, h, min(cloud, clearedCover))
		}
	}
}

// partHours returns the hours of a named part of the day as positions in hours [first, end), counted from start; named is
// false where none is named or it is past.
func partHours(part Part, zone *time.Location, start calendar.Hour, first, end int) (from, to int, named bool) {
	n := end - first
	clockFrom, clockTo := part.hours()
	if clockTo-clockFrom == 24 {
		return 0, n, false
	}
	from, to = n, 0
	for i := range n {
		clock := (start + calendar.Hour(first+i)).Start().In(zone).Hour()
		if clock >= clockFrom && clock < clockTo {
			from, to = min(from, i), i+1
		}
	}
	if from >= to {
		return 0, n, false
	}
	return from, to, true
}
