package drydown

import (
	"fmt"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// Drivers hold what the weather does to one crop, for every hour of every member: all that strata and fields
// of that crop share. Rows are contiguous by member, like those of an ensemble. Read-only once made, so any
// number of goroutines may use them.
type Drivers struct {
	Params  Params
	Start   calendar.Hour
	Hours   int
	Members int
	emc     []float32 // % dry basis
	rate    []float32 // factor on the drying rate
	free    []float32 // free water at the end of the hour, mm
	flags   []uint8
	heat    []float32 // heat units since Start through the hour, °F; nil for crops without a dent line
	end     []Film    // per member, after the last hour
}

// The flags of an hour.
const (
	flagUptake uint8 = 1 << iota // a film of rain lies on the grain
	flagClear                    // no rain in the hour, nothing free at its end
)

// NewDrivers works the weather of e out for crop p. before holds the free water at the beginning, one Film for
// all members or one for each; none means dry plants, which is right again a day or two after Start.
func NewDrivers(p Params, e *weather.Ensemble, before ...Film) *Drivers {
	if len(before) > 1 && len(before) != e.Members {
		panic("drydown: films do not match the members")
	}
	d := newDrivers(p, e.Start, e.Hours, e.Members)
	for m := range e.Members {
		var film Film
		if len(before) > 0 {
			film = before[min(m, len(before)-1)]
		}
		d.fill(m, film, airRow{
			e.Row(weather.TempC, m), e.Row(weather.DewC, m), e.Row(weather.SolarWM2, m),
			e.Row(weather.WindMS, m), e.Row(weather.SkyFrac, m), e.Row(weather.RainMM, m),
		})
	}
	return d
}

// unknownSky is taken for cloud cover where nobody has seen the sky. [judgement]
const unknownSky = 0.5

// FromRecord works hours [from, to) of a record out for crop p, as one member. skyAssumed counts the hours whose
// cloud cover is unknown and taken as half. Every other quantity must be there: the error is a
// *problem.InputError that names the first that is not.
func FromRecord(p Params, s *weather.Series, from, to calendar.Hour) (d *Drivers, skyAssumed int, err error) {
	if from >= to {
		panic("drydown: no hours")
	}
	n := int(to - from)
	var rows [weather.NVar][]float32
	for v := range weather.Var(weather.NVar) {
		rows[v] = make([]float32, n)
		for i := range rows[v] {
			x, ok := s.At(v, from+calendar.Hour(i))
			if !ok && v == weather.SkyFrac {
				x, ok = unknownSky, true
				skyAssumed++
			}
			if !ok {
				return nil, 0, missingHour(v, from+calendar.Hour(i), from, to)
			}
			rows[v][i] = float32(x)
		}
	}
	d = newDrivers(p, from, n, 1)
	d.fill(0, Film{}, airRow{
		rows[weather.TempC], rows[weather.DewC], rows[weather.SolarWM2],
		rows[weather.WindMS], rows[weather.SkyFrac], rows[weather.RainMM],
	})
	return d, skyAssumed, nil
}

func missingHour(v weather.Var, h, from, to calendar.Hour) error {
	return &problem.InputError{
		Rule: "drydown.record.gap", Label: fmt.Sprintf("recorded %s at %s", v, h.Start().Format("2006-01-02 15:04Z")),
		Want: fmt.Sprintf("every hour from %s to %s", from.Start().Format("2006-01-02"), to.Start().Format("2006-01-02")),
		Next: "Import a longer record, or take a moisture reading in the field: the forecast can start from that.",
	}
}

func newDrivers(p Params, start calendar.Hour, hours, members int) *Drivers {
	n := hours * members
	d := &Drivers{
		Params: p, Start: start, Hours: hours, Members: members,
		emc: make([]float32, n), rate: make([]float32, n), free: make([]float32, n), flags: make([]uint8, n),
		end: make([]Film, members),
	}
	if p.DentWB > 0 {
		d.heat = make([]float32, n)
	}
	return d
}

// An airRow is one member's weather, a value an hour each.
type airRow struct{ temp, dew, solar, wind, sky, rain []float32 }

func (r airRow) at(i int) Air {
	return Air{
		TempC: float64(r.temp[i]), DewC: float64(r.dew[i]), SolarWM2: float64(r.solar[i]),
		WindMS: float64(r.wind[i]), Sky: float64(r.sky[i]), RainMM: float64(r.rain[i]),
	}
}

func (d *Drivers) fill(m int, film Film, air airRow) {
	var heat float64
	for h := range d.Hours {
		i := m*d.Hours + h
		a := air.at(h)
		x := d.Params.Expose(a, film)
		film = x.Film
		d.emc[i], d.rate[i], d.free[i] = float32(x.EMCDB), float32(x.Rate), float32(film.MM)
		if film.Rain {
			d.flags[i] |= flagUptake
		}
		if x.Clear {
			d.flags[i] |= flagClear
		}
		if d.heat != nil {
			heat += hourHeat(a.TempC)
			d.heat[i] = float32(heat)
		}
	}
	d.end[m] = film
}

// hourHeat returns the heat units of one hour, °F: the 86/50 rule on the hour's own temperature. Only ratios of
// its sums are used, on the line from dent to black layer.
func hourHeat(tC float64) float64 { return (min(max(tC, 10), 30) - 10) * 1.8 / 24 }

// End returns the cell after the last one.
func (d *Drivers) End() calendar.Hour { return d.Start + calendar.Hour(d.Hours) }

// EndFilm returns the free water of member m after the last hour, for the drivers that follow.
func (d *Drivers) EndFilm(m int) Film { return d.end[m] }

// Covers reports whether the drivers hold every hour of [from, to).
func (d *Drivers) Covers(from, to calendar.Hour) bool { return d.Start <= from && to <= d.End() }

// Free returns the free water at the end of cell h of member m, mm.
func (d *Drivers) Free(m int, h calendar.Hour) float64 { return float64(d.free[d.index(m, h)]) }

// Clear reports whether cell h of member m had no rain and left nothing free on the plant.
func (d *Drivers) Clear(m int, h calendar.Hour) bool { return d.flags[d.index(m, h)]&flagClear != 0 }

// EMCDB returns the moisture at which drying ends in cell h of member m, % dry basis.
func (d *Drivers) EMCDB(m int, h calendar.Hour) float64 { return float64(d.emc[d.index(m, h)]) }

func (d *Drivers) index(m int, h calendar.Hour) int {
	i := int(h - d.Start)
	if i < 0 || i >= d.Hours {
		panic("drydown: hour outside the drivers")
	}
	return m*d.Hours + i
}

// heatWindow is how many hours at the edge of the drivers are averaged to reach beyond them. [judgement]
const heatWindow = 240

// heatTo returns the heat units of member m from Start through the cell before h. Beyond either edge it goes on
// at the mean rate of the nearest days.
func (d *Drivers) heatTo(m int, h calendar.Hour) float64 {
	row := d.heat[m*d.Hours : (m+1)*d.Hours]
	i, w := int(h-d.Start)-1, min(heatWindow, d.Hours)
	switch {
	case i < 0:
		return float64(i+1) * float64(row[w-1]) / float64(w)
	case i >= d.Hours:
		last := float64(row[d.Hours-1])
		first := 0.0
		if w < d.Hours {
			first = float64(row[d.Hours-1-w])
		}
		return last + float64(i-d.Hours+1)*(last-first)/float64(w)
	default:
		return float64(row[i])
	}
}
