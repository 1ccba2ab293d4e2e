package weather

import (
	"math"
	"time"

	"threshday/internal/core/calendar"
)

// drawnShape returns the shape that members' days are disturbed around. Disturbed hours are moved so that the day's high and
// low fall on the warmest and the coldest of them, which rounds the mean day off; so the shape under them is sharper than
// [DefaultTempShape]. Its figures and those below were searched for until hours drawn for the highs, lows and means of
// recorded autumn days came to the record's own means, spreads and frequencies of damp air, hour by hour.
// [champaign-hourly]
func drawnShape() TempShape { return TempShape{Lag: 2.5, Delay: 0.3, Decay: 2.4} }

// Where the next day is colder, the day's own low often comes late in its evening, and its morning was milder.
// [champaign-hourly]
const (
	mildMorning     = 2.0 // °C of morning for each degree by which the next day's low is lower
	mildMorningMost = 4.0 // °C
)

// What hours differ by from the shape: standard deviations and correlations with the hour before. [champaign-hourly]
const (
	tempHourSD, tempHourLag = 2.7, 0.91  // °C, before the day's high and low are put back
	dewHourSD, dewHourLag   = 2.2, 0.91  // °C
	windHourSD, windHourLag = 0.39, 0.76 // of ln wind
	dewWithTemp             = 0.8        // correlation of the first two by night
	clearDaySD              = 0.5        // of tempHourSD on a dry day under little cloud
	littleCloud             = 0.375      // cover of three quarters of a clear sky's sun
	fullDay                 = 300.0      // W/m² of clear sky from which it is no longer night
)

// drawHours turns the member's days into hours.
func (m *member) drawHours() {
	m.disturb()
	m.temperature()
	m.rainHours()
	m.dewPoint()
	m.windHours()
	m.skyHours()
}

// disturb draws what the hours differ by from the day's shape.
func (m *member) disturb() {
	lags := [3]float64{tempHourLag, dewHourLag, windHourLag}
	var new, last [3]float64
	for k, lag := range lags {
		new[k] = math.Sqrt(1 - lag*lag)
	}
	for i := range m.g.days {
		d := &m.g.days[i]
		s := NewStream(m.g.in.Root, m.number, d.date, drawnHours)
		for h := d.first; h < d.end; h++ {
			for k, lag := range lags {
				last[k] = float64(lag*last[k]) + float64(new[k]*s.Normal())
				m.off[k][h] = last[k]
			}
		}
	}
}

// temperature draws the curve through the member's highs and lows, disturbs it, and moves it so that each day's warmest and
// coldest hour are the day's high and low again.
func (m *member) temperature() {
	row := m.row[TempC]
	before := m.night(0).shifted(-24)
	for i := range m.g.days {
		d := &m.g.days[i]
		after := m.night(i)
		spread := tempHourSD
		if !m.days[i].wet && m.days[i].cloud < littleCloud {
			spread *= clearDaySD
		}
		for h := d.first; h < d.end; h++ {
			t, mild := float64(h), 0.0
			switch {
			case t < after.lowAt(after.Rise):
				mild = before.at(t)
			case t <= after.Set:
				mild = after.day(t)
			default:
				mild = after.at(t)
			}
			row[h] = float32(mild + spread*m.off[0][h])
		}
		before = after
	}
	m.backToHighAndLow(row)
}

// backToHighAndLow moves a disturbed row so that each day's warmest hour is its high and its coldest its low, on straight
// lines between them.
func (m *member) backToHighAndLow(row []float32) {
	m.anchors = m.anchors[:0]
	for i := range m.g.days {
		d := &m.g.days[i]
		warmest, coldest := d.first, d.first
		for h := d.first; h < d.end; h++ {
			if row[h] > row[warmest] {
				warmest = h
			}
			if row[h] < row[coldest] {
				coldest = h
			}
		}
		high := anchor{warmest, m.days[i].high - float64(row[warmest])}
		low := anchor{coldest, m.days[i].low - float64(row[coldest])}
		if coldest > warmest {
			high, low = low, high
		}
		m.anchors = append(m.anchors, low, high)
	}
	move(row, 0, len(row), m.anchors)
	for i := range m.g.days {
		d := &m.g.days[i]
		low, high := float32(m.days[i].low), float32(m.days[i].high)
		for h := d.first; h < d.end; h++ {
			row[h] = max(low, min(high, row[h]))
		}
	}
}

// A night is a [DayCurve] whose fall passes through a temperature at midnight.
type night struct {
	DayCurve
	midnight, middle float64
}

// night returns day i and the night after it. After the last day comes one like it.
func (m *member) night(i int) night {
	d, a := &m.g.days[i], &m.days[i]
	next, nextRise := i, d.rise+24
	if i+1 < len(m.days) {
		next, nextRise = i+1, m.g.days[i+1].rise
	}
	n := night{DayCurve: DayCurve{
		Low: m.morning(i), High: a.high, NextLow: m.morning(next), Rise: d.rise, Set: d.set, NextRise: nextRise, Shape: drawnShape(),
	}, midnight: float64(d.end)}
	// Midnight belongs to both days and lies between the highs and lows of both where that can be.
	n.middle = max(a.low, m.days[next].low, min(a.high, m.days[next].high, n.At(n.midnight)))
	return n
}

// morning returns the lowest temperature around the sunrise of day i.
func (m *member) morning(i int) float64 {
	a := &m.days[i]
	if i+1 == len(m.days) {
		return a.low
	}
	return min(a.high, a.low+max(0, min(mildMorningMost, mildMorning*(a.low-m.days[i+1].low))))
}

// shifted returns the same night some hours later.
func (n night) shifted(hours float64) night {
	n.Rise, n.Set, n.NextRise, n.midnight = n.Rise+hours, n.Set+hours, n.NextRise+hours, n.midnight+hours
	n.NextLow = n.Low
	return n
}

// left returns how much of the night's fall is left at t, 1 at sunset to 0 at the next low. [parton-logan-1981]
func (n *night) left(t float64) float64 {
	end := math.Exp(-n.Shape.Decay)
	return (math.Exp(-n.Shape.Decay*(t-n.Set)/(n.lowAt(n.NextRise)-n.Set)) - end) / (1 - end)
}

// at returns the temperature between sunset and the next low.
func (n *night) at(t float64) float64 {
	left, middle := n.left(t), n.left(n.midnight)
	if t < n.midnight {
		return n.middle + (n.day(n.Set)-n.middle)*(left-middle)/(1-middle)
	}
	return n.NextLow + (n.middle-n.NextLow)*left/middle
}

// rainHours spreads each day's rain over the hours that are left of it, in the part of the day that a forecast names as far
// as it is believed.
func (m *member) rainHours() {
	row := m.row[RainMM]
	clear(row)
	for i := range m.g.days {
		d, total := &m.g.days[i], m.days[i].rain
		if total == 0 {
			continue
		}
		n := d.end - d.rainFrom
		from, to := 0, n
		s := NewStream(m.g.in.Root, m.number, d.date, drawnSpells)
		if d.ahead != nil && d.ahead.Rain != nil && s.Uniform() < atLead(m.g.table.Rain, d.lead) {
			from, to, _ = partHours(d.ahead.Part, m.g.in.Zone, m.g.start, d.rainFrom, d.end)
		}
		for k, mm := range SpreadRain(total, n, from, to, &s) {
			row[d.rainFrom+k] = float32(mm)
		}
	}
}

// dewPoint draws straight lines between daily means at noon, the usual shape of dry and wet days and the disturbance on
// them, then holds the dew point at or below the temperature and damp in rain, and brings each day back to its mean.
func (m *member) dewPoint() {
	off := m.off[1]
	for h := range off { // by night, warm air is damp air
		with := dewWithTemp * (1 - min(1, m.g.clear[h]/fullDay))
		off[h] = with*m.off[0][h] + math.Sqrt(1-with*with)*off[h]
	}
	for i := range m.g.days {
		m.offMean[i] = meanOf(off[m.g.days[i].first:m.g.days[i].end])
	}
	m.noonDew()
	row, temp := m.row[DewC], m.row[TempC]
	last := len(m.days) - 1
	for i := range m.g.days {
		d := &m.g.days[i]
		b, a := max(0, i-1), min(last, i+1)
		shape := &m.g.c.Hours.Dew[statusOf(m.days[i].wet)]
		for h := d.first; h < d.end; h++ {
			share := float64(h-d.first) / float64(d.end-d.first)
			straight := betweenNoons(m.noons[b], m.noons[i], m.noons[a], share)
			extra := off[h] - betweenNoons(m.offMean[b], m.offMean[i], m.offMean[a], share)
			row[h] = float32(straight + shape[m.g.clock[h]] + dewHourSD*extra)
		}
	}
	rain := m.row[RainMM]
	for i := range row {
		row[i] = min(row[i], temp[i])
	}
	dampen(temp, row, rain)
	for i := range m.g.days {
		d := &m.g.days[i]
		toMean(row[d.first:d.end], temp[d.first:d.end], rain[d.first:d.end], m.days[i].dew)
	}
	for i := range row {
		row[i] = max(row[i], min(temp[i], leastDew))
	}
}

// leastDew is the driest dew point of a member, °C: below it nothing is measured, whatever is forecast. [judgement]
const leastDew = -60

// noonDew sets what straight lines pass through at the noons. Lines through the days' means lose half of what a day differs
// by from its neighbours, since its mean is an eighth of each neighbour's noon and six of its own; lines that keep the means
// overshoot at noon. This is between the two, where the hours' spread is nearest to the record's; what is left to the mean,
// half a degree, steps in at midnight. [champaign-hourly]
func (m *member) noonDew() {
	last := len(m.days) - 1
	for i := range m.days {
		today := m.days[i].dew
		m.noons[i] = today + (today-(m.days[max(0, i-1)].dew+m.days[min(last, i+1)].dew)/2)/6
	}
}

// toMean shifts a day's dew points to the mean given as far as the temperature and the damp of wet hours allow: first all
// hours that are free to move, then those that still are.
func toMean(dew, temp, rain []float32, to float64) {
	for range 2 {
		lacks := to * float64(len(dew))
		for _, x := range dew {
			lacks -= float64(x)
		}
		free := 0
		moves := func(i int) bool {
			return lacks > 0 && dew[i] < temp[i] || lacks < 0 && rain[i] < dampHour
		}
		for i := range dew {
			free += statusOf(moves(i))
		}
		if free == 0 {
			return
		}
		by := float32(lacks / float64(free))
		for i := range dew {
			if moves(i) {
				dew[i] = min(dew[i]+by, temp[i])
			}
		}
	}
}

// windHours shapes the day's wind, keeping its mean.
func (m *member) windHours() {
	row := m.row[WindMS]
	for i := range m.g.days {
		d := &m.g.days[i]
		shape := &m.g.c.Hours.Wind[statusOf(m.days[i].wet)]
		sum := 0.0
		for h := d.first; h < d.end; h++ {
			x := shape[m.g.clock[h]] * math.Exp(windHourSD*m.off[2][h])
			row[h] = float32(x)
			sum += x
		}
		scale := float32(m.days[i].wind * float64(d.end-d.first) / sum)
		for h := d.first; h < d.end; h++ {
			row[h] *= scale
		}
	}
}

// skyHours spreads the day's cloud and sunshine evenly over its hours and closes the sky where it rains.
func (m *member) skyHours() {
	sky, solar := m.row[SkyFrac], m.row[SolarWM2]
	for i := range m.g.days {
		d, a := &m.g.days[i], &m.days[i]
		for h := d.first; h < d.end; h++ {
			sky[h] = float32(a.cloud)
			solar[h] = float32(m.g.clear[h] * a.sun)
			if m.row[RainMM][h] >= smallestHour && a.cloud < rainCover {
				sky[h] = rainCover
				solar[h] *= float32(throughCloud(rainCover) / throughCloud(a.cloud))
			}
		}
	}
}

// observe puts what was observed before now into the member. Temperature and dew point set out from the last observed
// hour: what it differs by from the member's fades as hours forget.
func (m *member) observe() {
	seen := m.g.in.Observed
	if seen == nil || m.g.now == 0 {
		return
	}
	for _, v := range []Var{TempC, DewC} {
		x, ok := seen.At(v, m.g.start+calendar.Hour(m.g.now-1))
		if !ok {
			continue
		}
		by := x - float64(m.row[v][m.g.now-1])
		for h := m.g.now; h < min(m.g.hours, m.g.now+fadeHours); h++ {
			by *= tempHourLag
			m.row[v][h] += float32(by)
		}
	}
	for h := m.g.now; h < min(m.g.hours, m.g.now+fadeHours); h++ {
		m.row[DewC][h] = min(m.row[DewC][h], m.row[TempC][h])
	}
	for v := range Var(NVar) {
		for h := range m.g.now {
			if x, ok := seen.At(v, m.g.start+calendar.Hour(h)); ok {
				m.row[v][h] = float32(x)
			}
		}
	}
}

// fadeHours after now nothing is left of the last observed hour: .92 to the 48th is a fiftieth.
const fadeHours = 48

func meanOf(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
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

// rainCover is the least cloud of an hour with rain. [judgement]
const rainCover = 0.9
