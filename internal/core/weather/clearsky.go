package weather

import (
	"math"
	"time"

	"threshday/internal/core/calendar"
)

// Sun behind cloud: global radiation is a share of what a clear sky would give, and the share falls in a
// straight line with cloud cover. Cover stands in for the missing part of the hours of bright sunshine.
const (
	solarConstant = 0.0820   // MJ/(m²·min) [fao-56] eq. 21
	overcastShare = 0.25     // of extraterrestrial radiation under full cloud [fao-56] eq. 35
	sunnyShare    = 0.50     // further share under a clear sky [fao-56] eq. 35
	cloudTakes    = 2.0 / 3. // share of clear-sky radiation that full cloud takes: 0.50/(0.25+0.50)
)

// ExtraterrestrialMJ returns the sun's energy on a level square metre above the atmosphere in one day, MJ/m².
// From pole to pole. [fao-56] eq. 21 to 25
func ExtraterrestrialMJ(day calendar.Day, lat float64) float64 {
	j := 2 * math.Pi / 365 * float64(day.YearDay())
	distance := 1 + 0.033*math.Cos(j) // inverse relative distance [fao-56] eq. 23
	delta := 0.409 * math.Sin(j-1.39) // declination, radians [fao-56] eq. 24
	phi := radians(lat)
	cosW := -math.Tan(phi) * math.Tan(delta)
	w := math.Acos(max(-1, min(1, cosW))) // sunset hour angle [fao-56] eq. 25
	return 24 * 60 / math.Pi * solarConstant * distance *
		(w*math.Sin(phi)*math.Sin(delta) + math.Cos(phi)*math.Cos(delta)*math.Sin(w)) // [fao-56] eq. 21
}

// A clearDay is the radiation of one day without cloud: a half sine between sunrise and sunset that holds the
// day's clear-sky energy.
type clearDay struct {
	rise, set float64 // hours since 1970 UTC; equal on a day without sun
	peak      float64 // W/m²
}

func clearSkyOn(day calendar.Day, at Spot) clearDay {
	sun := SunOn(day, at)
	hours := func(t time.Time) float64 { return float64(t.Unix()) / 3600 }
	d := clearDay{rise: hours(sun.Rise), set: hours(sun.Set)}
	switch {
	case sun.NeverRises:
		return clearDay{}
	case sun.NeverSets:
		d.rise, d.set = hours(sun.Noon)-12, hours(sun.Noon)+12
	}
	energy := (overcastShare + sunnyShare) * ExtraterrestrialMJ(day, at.Lat) * 1e6 // J/m² [fao-56] eq. 36
	d.peak = energy * math.Pi / (2 * (d.set - d.rise) * 3600)
	return d
}

// mean returns the mean over cell h, W/m².
func (d clearDay) mean(h calendar.Hour) float64 {
	from, to := max(float64(h), d.rise), min(float64(h+1), d.set)
	if from >= to {
		return 0
	}
	long := d.set - d.rise
	part := math.Cos(math.Pi*(from-d.rise)/long) - math.Cos(math.Pi*(to-d.rise)/long)
	return d.peak * long / math.Pi * part
}

// ClearSky returns the mean radiation of a cloudless sky, W/m², in each of n hours from start at a spot.
// Elevation is left out: it adds 2 % at 750 m. [fao-56] eq. 36
func ClearSky(start calendar.Hour, n int, at Spot) []float64 {
	out := make([]float64, n)
	// A day by the mean sun of the spot begins within a day of the UTC date of its hours.
	day := calendar.DayOf(start.Start(), time.UTC).AddDays(-1)
	for last := calendar.DayOf((start + calendar.Hour(n)).Start(), time.UTC).AddDays(1); !day.After(last); day = day.AddDays(1) {
		clear := clearSkyOn(day, at)
		for h := calendar.Hour(math.Floor(clear.rise)); float64(h) < clear.set; h++ {
			if i := int(h - start); i >= 0 && i < n {
				out[i] += clear.mean(h)
			}
		}
	}
	return out
}

// throughCloud returns the share of clear-sky radiation that reaches the ground under a cover of 0 to 1.
func throughCloud(cover float64) float64 { return 1 - cloudTakes*cover }

// coverFrom returns the cover, 0 to 1, under which the share of clear-sky radiation arrives.
func coverFrom(share float64) float64 { return max(0, min(1, (1-share)/cloudTakes)) }
