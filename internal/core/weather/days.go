package weather

import (
	"math"
	"time"

	"threshday/internal/core/calendar"
)

// WetDayMM is the rain from which a day counts as wet: 0.01 inch, the event of a forecast's chance of rain.
const WetDayMM = 0.254

// A DayView is one civil day of a run of hours as [First, End). A day that the run holds whole has 24 hours,
// 23 when clocks go forward and 25 when they go back.
type DayView struct {
	Date       calendar.Day
	First, End calendar.Hour
	Whole      bool // the run holds all hours of the date
}

// Hours returns how many hours of the date the run holds.
func (d DayView) Hours() int { return int(d.End - d.First) }

// Days returns the local days that the hours [start, end) touch, in order, each cut to those hours.
func Days(start, end calendar.Hour, zone *time.Location) []DayView {
	var out []DayView
	for date := calendar.DayOf(start.Start(), zone); ; date = date.AddDays(1) {
		first, next := date.Hours(zone)
		if first >= end {
			return out
		}
		view := DayView{date, max(first, start), min(next, end), first >= start && next <= end}
		if view.First < view.End {
			out = append(out, view)
		}
	}
}

// A DayAir is what one day's hours come to.
type DayAir struct {
	High, Low float64 // °C
	HighAt    int     // hour of the highest temperature, counted from the first hour given
	LowAt     int     // hour of the lowest
	Dew       float64 // mean dew point, °C
	Wind      float64 // mean at 2 m, m/s
	Rain      float64 // total, mm
	WetHours  int     // with 0.1 mm or more
	Sky       float64 // mean cloud cover
	SolarMJ   float64 // energy, MJ/m²
	Known     bool    // no hour of temperature, dew point, wind or rain is missing
}

// Wet reports whether the day counts as one with rain.
func (d DayAir) Wet() bool { return d.Rain >= WetDayMM }

// Summary returns what hours [first, end) of a series come to. Hours outside the series are missing.
func (s *Series) Summary(first, end calendar.Hour) DayAir {
	from, to := int(first-s.Start), int(end-s.Start)
	if from < 0 || to > s.Len() || from >= to {
		return DayAir{}
	}
	return summarizeRows(from, to, func(v Var) []float32 { return s.V[v] })
}

// Summary returns what hours [first, end), counted from the ensemble's start, come to in one member.
func (e *Ensemble) Summary(member, first, end int) DayAir {
	return summarizeRows(first, end, func(v Var) []float32 { return e.Row(v, member) })
}

func summarizeRows(first, end int, row func(Var) []float32) DayAir {
	var rows [NVar][]float32
	for v := range rows {
		rows[v] = row(Var(v))[first:end]
	}
	return summarize(rows)
}

func summarize(rows [NVar][]float32) DayAir {
	n := len(rows[TempC])
	d := DayAir{High: math.Inf(-1), Low: math.Inf(1), Known: n > 0}
	for i := range n {
		t, dew := float64(rows[TempC][i]), float64(rows[DewC][i])
		wind, rain := float64(rows[WindMS][i]), float64(rows[RainMM][i])
		if math.IsNaN(t + dew + wind + rain) {
			d.Known = false
			continue
		}
		if t > d.High {
			d.High, d.HighAt = t, i
		}
		if t < d.Low {
			d.Low, d.LowAt = t, i
		}
		d.Dew += dew / float64(n)
		d.Wind += wind / float64(n)
		d.Rain += rain
		if rain >= smallestHour {
			d.WetHours++
		}
		d.Sky += float64(rows[SkyFrac][i]) / float64(n)
		d.SolarMJ += float64(rows[SolarWM2][i]) * 3600 / 1e6
	}
	return d
}
