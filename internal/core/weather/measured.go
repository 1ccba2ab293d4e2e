package weather

import (
	"fmt"
	"math"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/units"
)

// Measured is a station's record hour by hour as it was measured, in SI, before anything is derived. A nil
// column was not measured at all; NaN is a missing value. Present columns have Hours values.
type Measured struct {
	Start calendar.Hour
	Hours int

	Temp    []float64 // °C, at the start of the hour
	Dew     []float64 // °C over water
	RH      []float64 // fraction; used where Dew is missing
	Wind    []float64 // m/s at the station's height
	Rain    []float64 // mm in the hour
	DayRain []float64 // mm in the hour if the day's total fell evenly; its sum over a day is the day's total
	Sky     []float64 // cloud cover, 0 to 1
	Solar   []float64 // W/m², mean of the hour
	PPFD    []float64 // photosynthetic photons, µmol/(m²·s); used where Solar is missing
}

// A Station is what a record does not say itself.
type Station struct {
	At         *Spot         // nil: 40° N on the middle line of the time zone, assumed
	Standard   time.Duration // standard time ahead of UTC, −6 h for US Central: the station's day
	WindHeight *units.Length // anemometer above ground; nil: 10 m, assumed
	Airport    bool          // an airport hides dew: its nights get a dew point 1 °C higher
	Root       [32]byte      // chance for the hours of daily rain totals
}

// A Filling is a quantity that was not measured, or not as needed, and what stands in for it.
type Filling struct {
	Var     Var
	Hours   int    // values it stands for
	Rule    string // stable name, "solar.clear-sky"
	Say     string // for a person: what was done
	Assumed bool   // rests on an assumption, not only on a relation between measured quantities
}

// Limits and stand-ins of filling.
const (
	longestGap    = 3    // h that a straight line may bridge [judgement]
	nightCloud    = 0.5  // cloud by night where unknown [judgement]
	stillAirWind  = 2.0  // m/s at 2 m where no wind was measured [fao-56] chapter 3, from memory
	airportDew    = 1.0  // °C added to an airport's dew point by night [judgement], see docs/model/weather.md
	faintestClear = 50.0 // W/m² of clear sky below which cloud is not read from radiation [judgement]
	driestAir     = 0.01 // relative humidity below which a hygrometer says nothing [judgement]
)

const assumedWindHeight = 10 * units.Meter // the height of weather services' masts

// Series turns what was measured into the six quantities and says what it filled, in the order of the
// quantities. Wind is taken to 2 m; dew point comes from humidity, solar radiation from photons, else from a
// clear sky behind cloud; cloud from solar radiation by day; daily rain is spread to hours; gaps of up to 3 h
// are bridged by a straight line and longer ones stay missing. Panics when temperature is not there or a
// column has another length than Hours.
func (m *Measured) Series(st Station) (*Series, []Filling) {
	m.mustBeWhole()
	f := filler{m: m, st: st, s: NewSeries(m.Start, m.Hours), spot: st.spot()}
	f.clear = ClearSky(m.Start, m.Hours, f.spot)
	f.temperature()
	f.rain()
	f.dew()
	f.wind()
	f.sunAndSky()
	return f.s, f.done
}

func (m *Measured) mustBeWhole() {
	if m.Temp == nil {
		panic("weather: a record without temperature")
	}
	for _, column := range [][]float64{m.Temp, m.Dew, m.RH, m.Wind, m.Rain, m.DayRain, m.Sky, m.Solar, m.PPFD} {
		if column != nil && len(column) != m.Hours {
			panic("weather: columns of a record differ in length")
		}
	}
}

func (st Station) spot() Spot {
	if st.At != nil {
		return *st.At
	}
	return Spot{Lat: 40, Lon: 15 * st.Standard.Hours()}
}

// day returns the station's own day, by standard time all year, that holds the start of cell h.
func (st Station) day(h calendar.Hour) calendar.Day {
	return calendar.DayOf(h.Start().Add(st.Standard), time.UTC)
}

// A filler carries one record through its rules.
type filler struct {
	m     *Measured
	st    Station
	spot  Spot
	s     *Series
	clear []float64 // clear-sky radiation, W/m²
	done  []Filling
}

func (f *filler) note(v Var, hours int, assumed bool, rule, say string, args ...any) {
	if hours > 0 {
		f.done = append(f.done, Filling{v, hours, v.String() + "." + rule, fmt.Sprintf(say, args...), assumed})
	}
}

func (f *filler) put(v Var, i int, x float64, from Origin) {
	f.s.V[v][i] = float32(x)
	f.s.From[v][i] = from
}

// copyColumn stores the values that are there, turned by scale.
func (f *filler) copyColumn(v Var, column []float64, scale float64) {
	for i, x := range column {
		if !math.IsNaN(x) {
			f.put(v, i, x*scale, Observed)
		}
	}
}

// bridge draws straight lines over gaps of up to longestGap hours between two known values.
func (f *filler) bridge(v Var) {
	row, from := f.s.V[v], f.s.From[v]
	last, filled := -1, 0
	for i := range row {
		if from[i] == Missing {
			continue
		}
		if gap := i - last - 1; last >= 0 && gap > 0 && gap <= longestGap {
			a, b := float64(row[last]), float64(row[i])
			for k := 1; k <= gap; k++ {
				f.put(v, last+k, a+(b-a)*float64(k)/float64(gap+1), Filled)
			}
			filled += gap
		}
		last = i
	}
	f.note(v, filled, true, "bridged", "%d missing hours of %s bridged by a straight line, gaps of up to %d h", filled, v.word(), longestGap)
}

// fillRest stores what rule returns wherever v is still missing, and returns how many that were.
func (f *filler) fillRest(v Var, rule func(i int) (float64, bool)) int {
	filled := 0
	for i, from := range f.s.From[v] {
		if from != Missing {
			continue
		}
		if x, ok := rule(i); ok {
			f.put(v, i, x, Filled)
			filled++
		}
	}
	return filled
}

func (f *filler) temperature() {
	f.copyColumn(TempC, f.m.Temp, 1)
	f.bridge(TempC)
}

func (f *filler) wind() {
	height, known := assumedWindHeight, f.st.WindHeight != nil
	if known {
		height = *f.st.WindHeight
	}
	to2m := WindAt2m(1, height).MetersPerSecond()
	f.copyColumn(WindMS, f.m.Wind, to2m)
	f.bridge(WindMS)
	if f.m.Wind == nil {
		n := f.fillRest(WindMS, func(int) (float64, bool) { return stillAirWind, true })
		f.note(WindMS, n, true, "none", "wind was not measured: %.0f m/s at 2 m in every hour", stillAirWind)
		return
	}
	how := "as the station says"
	if !known {
		how = "assumed"
	}
	f.note(WindMS, f.m.Hours, !known, "height", "wind measured at %.3g m (%s) times %.3f, the logarithmic profile to 2 m", height.Meters(), how, to2m)
}

func (f *filler) dew() {
	f.copyColumn(DewC, f.m.Dew, 1)
	if f.m.RH != nil {
		n := f.fillRest(DewC, func(i int) (float64, bool) {
			rh, t := f.m.RH[i], f.m.Temp[i]
			if math.IsNaN(rh) || math.IsNaN(t) {
				return 0, false
			}
			return DewPointC(VaporKPa(t, max(driestAir, min(1, rh)))), true
		})
		f.note(DewC, n, false, "from-humidity", "dew point of %d hours from temperature and relative humidity", n)
	}
	f.bridge(DewC)
	if f.m.Dew == nil && f.m.RH == nil {
		coldest := f.coldestOfDay()
		n := f.fillRest(DewC, func(i int) (float64, bool) {
			x, ok := coldest[f.st.day(f.m.Start+calendar.Hour(i))]
			return x, ok && f.s.From[TempC][i] != Missing
		})
		// The shortcut of [fao-56] eq. 48; it makes too many damp nights.
		f.note(DewC, n, true, "none", "humidity was not measured: dew point taken as the day's lowest temperature, which makes nights too damp")
	}
	if f.st.Airport {
		f.airportNights()
	}
	if f.m.DayRain != nil {
		n := dampen(f.s.V[TempC], f.s.V[DewC], f.s.V[RainMM])
		f.note(DewC, n, true, "in-rain", "dew point of %d hours raised because rain was spread into them", n)
	}
	f.holdDewBelowTemperature()
}

func (f *filler) coldestOfDay() map[calendar.Day]float64 {
	out := map[calendar.Day]float64{}
	for i, from := range f.s.From[TempC] {
		if from == Missing {
			continue
		}
		day, t := f.st.day(f.m.Start+calendar.Hour(i)), float64(f.s.V[TempC][i])
		if low, ok := out[day]; !ok || t < low {
			out[day] = t
		}
	}
	return out
}

func (f *filler) airportNights() {
	n := 0
	for i, from := range f.s.From[DewC] {
		if from != Missing && f.clear[i] == 0 {
			f.put(DewC, i, float64(f.s.V[DewC][i])+airportDew, Filled)
			n++
		}
	}
	f.note(DewC, n, true, "airport", "airport record: dew point of %d hours without sun raised by %.0f °C, because an airport sees less dew than a field", n, airportDew)
}

func (f *filler) holdDewBelowTemperature() {
	for i, from := range f.s.From[DewC] {
		if from != Missing && f.s.From[TempC][i] != Missing {
			f.s.V[DewC][i] = min(f.s.V[DewC][i], f.s.V[TempC][i])
		}
	}
}

func (f *filler) sunAndSky() {
	f.copyColumn(SkyFrac, f.m.Sky, 1)
	f.bridge(SkyFrac)
	f.copySun()
	if f.m.PPFD != nil {
		n := f.fillRest(SolarWM2, func(i int) (float64, bool) {
			x := f.m.PPFD[i]
			return SolarFromPPFD(max(0, x)), !math.IsNaN(x)
		})
		f.note(SolarWM2, n, false, "from-photons", "solar radiation of %d hours from photosynthetic photons, good to some 10 %%", n)
	}
	byDay := f.fillRest(SkyFrac, func(i int) (float64, bool) {
		if f.clear[i] < faintestClear || f.s.From[SolarWM2][i] == Missing {
			return 0, false
		}
		return coverFrom(float64(f.s.V[SolarWM2][i]) / f.clear[i]), true
	})
	f.note(SkyFrac, byDay, false, "from-solar", "cloud of %d daylight hours from solar radiation against a clear sky", byDay)
	rest := f.fillRest(SkyFrac, func(int) (float64, bool) { return nightCloud, true })
	f.note(SkyFrac, rest, true, "unknown", "cloud of %d hours unknown, taken as half", rest)
	n := f.fillRest(SolarWM2, func(i int) (float64, bool) {
		return f.clear[i] * throughCloud(float64(f.s.V[SkyFrac][i])), true
	})
	where := "the station's place"
	if f.st.At == nil {
		where = fmt.Sprintf("an assumed place at %.0f° N, %.0f° W", f.spot.Lat, -f.spot.Lon)
	}
	f.note(SolarWM2, n, true, "clear-sky", "solar radiation of %d hours from a clear sky behind the cloud, at %s", n, where)
}

func (f *filler) copySun() {
	for i, x := range f.m.Solar {
		if !math.IsNaN(x) {
			f.put(SolarWM2, i, max(0, x), Observed) // instruments read a little below zero by night
		}
	}
}

// word returns the quantity as people say it.
func (v Var) word() string {
	return [NVar]string{"temperature", "dew point", "wind", "rain", "cloud", "solar radiation"}[v]
}
