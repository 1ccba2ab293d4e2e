package weather

import (
	"math"

	"threshday/internal/core/calendar"
)

// A Var is one hourly quantity.
type Var uint8

// The hourly quantities. State (temperature, dew point, wind, sky) is at the start of the cell; rain is the
// total and solar the mean over the cell.
const (
	TempC    Var = iota // air temperature, °C
	DewC                // dew point over water, °C
	WindMS              // wind at 2 m, m/s
	RainMM              // rain in the cell, mm
	SkyFrac             // cloud cover, 0 to 1
	SolarWM2            // global solar radiation, W/m²
	NVar     = 6
)

// Names of the quantities, in order, as files and messages write them.
var varNames = [NVar]string{"temp_c", "dew_c", "wind_ms", "rain_mm", "sky_frac", "solar_wm2"}

// String returns the name with its unit, "temp_c".
func (v Var) String() string { return varNames[v] }

// An Origin says where one value of a Series comes from.
type Origin uint8

// The origins.
const (
	Missing Origin = iota
	Observed
	Forecast
	Filled // computed from neighbouring values or from another quantity
	Manual // entered by a person
)

// A Series is one run of hours, observed, forecast or mixed. Missing values are NaN with Origin Missing.
type Series struct {
	Start calendar.Hour
	V     [NVar][]float32
	From  [NVar][]Origin
}

// NewSeries returns n missing hours from start.
func NewSeries(start calendar.Hour, n int) *Series {
	s := &Series{Start: start}
	for v := range s.V {
		s.V[v] = make([]float32, n)
		s.From[v] = make([]Origin, n)
		for i := range s.V[v] {
			s.V[v][i] = float32(math.NaN())
		}
	}
	return s
}

// Len returns the number of hours.
func (s *Series) Len() int { return len(s.V[0]) }

// End returns the cell after the last one.
func (s *Series) End() calendar.Hour { return s.Start + calendar.Hour(s.Len()) }

// Set stores x for v in cell h, which must lie inside the series.
func (s *Series) Set(v Var, h calendar.Hour, x float64, from Origin) {
	i := int(h - s.Start)
	s.V[v][i] = float32(x)
	s.From[v][i] = from
}

// At returns the value of v in cell h; ok is false outside the series and where it is missing.
func (s *Series) At(v Var, h calendar.Hour) (x float64, ok bool) {
	i := int(h - s.Start)
	if i < 0 || i >= s.Len() || s.From[v][i] == Missing {
		return 0, false
	}
	return float64(s.V[v][i]), true
}

// An Ensemble is N equally likely weathers of the same hours, every value present. V[v][m*Hours+h] is
// quantity v of member m in the h-th hour: one member's run of one quantity is contiguous.
type Ensemble struct {
	Start   calendar.Hour
	Hours   int
	Members int
	V       [NVar][]float32
	Source  []string // per member: which weather it is made from, for the explanation; members of the same
	// source share information and are kept on the same side when a rule is learned on some and tried on others
	Note string // how the ensemble was made, one sentence for the answer
}

// NewEnsemble returns an ensemble of zeros.
func NewEnsemble(start calendar.Hour, hours, members int) *Ensemble {
	e := &Ensemble{Start: start, Hours: hours, Members: members, Source: make([]string, members)}
	for v := range e.V {
		e.V[v] = make([]float32, hours*members)
	}
	return e
}

// Row returns quantity v of member m, one value an hour. The slice is the ensemble's own.
func (e *Ensemble) Row(v Var, m int) []float32 {
	return e.V[v][m*e.Hours : (m+1)*e.Hours : (m+1)*e.Hours]
}

// End returns the cell after the last one.
func (e *Ensemble) End() calendar.Hour { return e.Start + calendar.Hour(e.Hours) }
