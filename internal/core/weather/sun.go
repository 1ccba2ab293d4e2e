package weather

import (
	"math"
	"time"

	"threshday/internal/core/calendar"
)

// A Spot is a point on the ground, degrees, north and east positive.
type Spot struct{ Lat, Lon float64 }

// SunDay is when the sun's upper edge crosses a level horizon on one day. Where it does not cross, Rise and
// Set are zero and one of the flags says why.
type SunDay struct {
	Rise, Noon, Set time.Time // UTC, whole seconds
	NeverRises      bool      // polar night
	NeverSets       bool      // polar day
}

// horizonDeg is the zenith distance of the sun's centre when its upper edge touches the horizon: 90° plus 50
// minutes of arc for its radius and the usual refraction. [noaa-solar]
const horizonDeg = 90.833

// sunPasses settle the sun's place at the event itself: a fourth would move it by 3 ms at 65° of latitude.
const sunPasses = 3

// SunOn returns sunrise, solar noon and sunset of a day, which is a date by the mean sun of the spot: in the
// zones of a farm's clock that is the civil date. Within a minute of almanacs up to 60° of latitude; hills
// and the weather's refraction are not in it. Panics unless Lat lies in −90 to 90 and Lon in −180 to 180.
// [noaa-solar]
func SunOn(day calendar.Day, at Spot) SunDay {
	if !(math.Abs(at.Lat) <= 90 && math.Abs(at.Lon) <= 180) {
		panic("weather: no such place")
	}
	midnight := time.Date(day.Year, day.Month, day.Date, 0, 0, 0, 0, time.UTC)
	rise, early := sunCrossing(midnight, at, -1)
	set, late := sunCrossing(midnight, at, +1)
	out := SunDay{Noon: sunNoon(midnight, at.Lon)}
	switch {
	case early == crosses && late == crosses:
		out.Rise, out.Set = rise, set
	case early == staysUp || late == staysUp:
		out.NeverSets = true
	default:
		out.NeverRises = true
	}
	return out
}

// A sunPath says what the sun does about the horizon.
type sunPath uint8

const (
	crosses sunPath = iota
	staysUp
	staysDown
)

// sunCrossing returns the crossing before noon (side −1) or after it (side +1).
func sunCrossing(midnight time.Time, at Spot, side float64) (time.Time, sunPath) {
	phi := radians(at.Lat)
	minutes := 720 - 4*at.Lon // mean noon, minutes after midnight UTC
	for range sunPasses {
		decl, eot := sunPlace(afterMinutes(midnight, minutes))
		cosH := math.Cos(radians(horizonDeg))/(math.Cos(phi)*math.Cos(decl)) - math.Tan(phi)*math.Tan(decl)
		if cosH < -1 {
			return time.Time{}, staysUp
		}
		if cosH > 1 {
			return time.Time{}, staysDown
		}
		minutes = 720 - 4*at.Lon - eot + side*4*degrees(math.Acos(cosH))
	}
	return afterMinutes(midnight, minutes).Round(time.Second), crosses
}

func sunNoon(midnight time.Time, lon float64) time.Time {
	minutes := 720 - 4*lon
	for range sunPasses {
		_, eot := sunPlace(afterMinutes(midnight, minutes))
		minutes = 720 - 4*lon - eot
	}
	return afterMinutes(midnight, minutes).Round(time.Second)
}

func afterMinutes(t time.Time, minutes float64) time.Time {
	return t.Add(time.Duration(minutes * float64(time.Minute)))
}

// sunPlace returns the sun's declination, radians, and the equation of time, minutes by which the sundial is
// ahead of the mean clock, at instant t. The symbols are the source's. [noaa-solar]
func sunPlace(t time.Time) (declination, equationOfTime float64) {
	T := (float64(t.Unix())/86400 - 10957.5) / 36525 // Julian centuries since J2000.0, noon of 1 January 2000
	L0 := radians(math.Mod(280.46646+T*(36000.76983+0.0003032*T), 360))
	M := radians(math.Mod(357.52911+T*(35999.05029-0.0001537*T), 360))
	e := 0.016708634 - T*(4.2037e-5+1.267e-7*T)
	C := math.Sin(M)*(1.914602-T*(0.004817+1.4e-5*T)) +
		math.Sin(2*M)*(0.019993-0.000101*T) + math.Sin(3*M)*0.000289
	node := radians(125.04 - 1934.136*T)
	lambda := L0 + radians(C-0.00569-0.00478*math.Sin(node))
	seconds := 21.448 - T*(46.815+T*(0.00059-T*0.001813))
	epsilon := radians(23 + (26+seconds/60)/60 + 0.00256*math.Cos(node))
	y := math.Tan(epsilon / 2)
	y *= y
	eot := y*math.Sin(2*L0) - 2*e*math.Sin(M) + 4*e*y*math.Sin(M)*math.Cos(2*L0) -
		0.5*y*y*math.Sin(4*L0) - 1.25*e*e*math.Sin(2*M)
	return math.Asin(math.Sin(epsilon) * math.Sin(lambda)), 4 * degrees(eot)
}

func radians(deg float64) float64 { return deg * math.Pi / 180 }

func degrees(rad float64) float64 { return rad * 180 / math.Pi }
