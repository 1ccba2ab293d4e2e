package ground

import (
	"math"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// A Demand is what the weather asks of the ground, hour by hour of every member: all that fields share. Read-only once
// made, so any number of goroutines may use it.
type Demand struct {
	Start   calendar.Hour
	Hours   int
	Members int
	rain    [][]float32 // per member, mm an hour
	et0     []float32   // mm in the hour
	day     []int       // per hour: number of its day
	days    int
	dayET0  []float64 // per member and day, mm
	wind    []float64 // per member and day: see windTerm
	frozen  []bool    // per member and day: the ground bears by frost
}

// source is the weather a Demand is made of.
type source struct {
	start          calendar.Hour
	hours, members int
	row            func(v weather.Var, m int) []float32
	summary        func(m, first, end int) weather.DayAir
}

// NewDemand works out the weather of e for a place, whose days follow zone. at may be nil: not known.
func NewDemand(e *weather.Ensemble, zone *time.Location, at *weather.Spot) *Demand {
	return newDemand(source{e.Start, e.Hours, e.Members, e.Row, e.Summary}, zone, at)
}

// FromRecord works out hours [from, to) of a record as one member. Panics where an hour lies outside of the record or lacks
// anything but the cloud cover.
func FromRecord(s *weather.Series, from, to calendar.Hour, zone *time.Location, at *weather.Spot) *Demand {
	i, j := int(from-s.Start), int(to-s.Start)
	if i < 0 || j > s.Len() || i >= j {
		panic("ground: hours outside the record")
	}
	d := newDemand(source{
		from, j - i, 1,
		func(v weather.Var, _ int) []float32 { return s.V[v][i:j] },
		func(_, first, end int) weather.DayAir {
			return s.Summary(from+calendar.Hour(first), from+calendar.Hour(end))
		},
	}, zone, at)
	for _, mm := range d.et0 {
		if mm != mm {
			panic("ground: an hour of the record is not whole")
		}
	}
	return d
}

// Frost that bears: that many days whose mean stays at or under that temperature. [judgement]
const (
	frostDays = 3
	frostC    = -4.0
)

func newDemand(src source, zone *time.Location, at *weather.Spot) *Demand {
	views := weather.Days(src.start, src.start+calendar.Hour(src.hours), zone)
	d := &Demand{
		Start: src.start, Hours: src.hours, Members: src.members, days: len(views),
		et0: make([]float32, src.hours*src.members), day: make([]int, src.hours),
		dayET0: make([]float64, src.members*len(views)), wind: make([]float64, src.members*len(views)), frozen: make([]bool, src.members*len(views)),
	}
	for m := range src.members {
		d.rain = append(d.rain, src.row(weather.RainMM, m))
		cold := 0
		for k, v := range views {
			first, end := int(v.First-src.start), int(v.End-src.start)
			air := src.summary(m, first, end)
			part := 1.0
			if !v.Whole {
				part = float64(end-first) / 24
			}
			mm := referenceMM(air, v.Date, part, at)
			i := m*d.days + k
			d.dayET0[i], d.wind[i] = mm/part, windTerm(air)
			if cold++; (air.High+air.Low)/2 > frostC {
				cold = 0
			}
			d.frozen[i] = cold >= frostDays
			d.share(m, first, mm, src.row(weather.SolarWM2, m)[first:end])
			for h := first; h < end; h++ {
				d.day[h] = k
			}
		}
	}
	return d
}

// share spreads a day's evapotranspiration over its hours as the sun shines, evenly where it does not.
func (d *Demand) share(m, first int, mm float64, sun []float32) {
	var sum float64
	for _, x := range sun {
		sum += float64(x)
	}
	for i, x := range sun {
		part := 1 / float64(len(sun))
		if sum > 0 {
			part = float64(x) / sum
		}
		d.et0[m*d.Hours+first+i] = float32(mm * part)
	}
}

// End returns the cell after the last.
func (d *Demand) End() calendar.Hour { return d.Start + calendar.Hour(d.Hours) }

// ET0 returns the reference evapotranspiration of the day of cell h in member m, mm.
func (d *Demand) ET0(m int, h calendar.Hour) float64 { return d.dayET0[m*d.days+d.day[h-d.Start]] }

// Run takes the ground from state s through all hours of member m and returns its state at the end. out, unless nil,
// receives the wetness at the end of every hour, and 0 where frost bears.
func (f *Field) Run(d *Demand, m int, s State, out []float32) State {
	height := math.Pow(f.site.Cover.HeightM/3, 0.3)
	day := -1
	t := Turn{Days: 1.0 / 24}
	frozen := false
	for h := range d.Hours {
		t.NewDay = d.day[h] != day
		if t.NewDay {
			day = d.day[h]
			i := m*d.days + day
			t.DayET0MM, t.KcMax, frozen = d.dayET0[i], f.site.Cover.kcMax(d.wind[i], height), d.frozen[i]
		}
		t.RainMM, t.ET0MM = float64(d.rain[m][h]), float64(d.et0[m*d.Hours+h])
		s = f.step(s, t, f.hour)
		if out == nil {
			continue
		}
		if out[h] = float32(f.Wetness(s)); frozen {
			out[h] = 0
		}
	}
	return s
}
