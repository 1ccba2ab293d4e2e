package weather

import (
	"math"

	"threshday/internal/core/calendar"
)

// What a day's hours mean for harvest, worked out alike for members and for what came true, so that ensembles can be
// scored on it. Whether a crop can be cut is the crop's own model's to say; this is the air alone.
const (
	cutHumidity = 0.75 // relative humidity below which straw and pods run through [judgement]
	windowHours = 4    // fewest hours in a row that are worth starting for [judgement]
	wetHumidity = 0.90 // relative humidity from which surfaces gather dew [judgement]
	dewGain     = 0.03 // mm in an hour at that humidity, doubled at saturation [judgement]
	dewGainMost = 0.06
	dewWind     = 5.0    // m/s above which none gathers [judgement]
	storeMost   = 0.6    // mm that leaves hold [judgement]
	storeDry    = 0.02   // mm below which they count as dry [judgement]
	storeByAir  = 0.12   // mm an hour for each kPa of deficit in still air [judgement]
	storeByWind = 0.5    // of that for each m/s [judgement]
	storeBySun  = 0.0002 // mm an hour for each W/m² [judgement]
	sunless     = 1.0    // W/m² below which it is night
)

// A HarvestDay is what the hours of one day come to.
type HarvestDay struct {
	Hours  int  // daylight hours of dry air on dry leaves
	Window bool // four of them in a row
	DewOff int  // first hour of the day with the leaves dry after sunrise, counted from the day's first; -1: none, or no dew
	Dew    bool // the leaves were wet at sunrise
}

// DryFrom returns the hour of the day from which its leaves are dry, for scores: six where they were at sunrise, eighteen
// where they never are. [judgement]
func (d HarvestDay) DryFrom() float64 {
	const dawn, dusk = 6, 18
	switch {
	case !d.Dew:
		return dawn
	case d.DewOff < 0:
		return dusk
	}
	return float64(d.DewOff)
}

// HarvestDays returns the days of a member; days lie inside the ensemble and follow each other.
func (e *Ensemble) HarvestDays(member int, days []DayView) []HarvestDay {
	return harvestDays(days, e.Start, func(v Var) []float32 { return e.Row(v, member) })
}

// HarvestDays returns the days of what was recorded; days lie inside the series and follow each other. A day with an hour
// missing is as good as none: ask [Series.Summary] first.
func (s *Series) HarvestDays(days []DayView) []HarvestDay {
	return harvestDays(days, s.Start, func(v Var) []float32 { return s.V[v] })
}

func harvestDays(days []DayView, start calendar.Hour, row func(Var) []float32) []HarvestDay {
	temp, dew, wind, rain, solar := row(TempC), row(DewC), row(WindMS), row(RainMM), row(SolarWM2)
	out := make([]HarvestDay, len(days))
	store := 0.0
	for k, view := range days {
		day := HarvestDay{DewOff: -1}
		run, up := 0, false
		for h := range view.Hours() {
			i := int(view.First-start) + h
			t, td, sun := float64(temp[i]), float64(dew[i]), float64(solar[i])
			if math.IsNaN(t + td + sun + float64(wind[i]) + float64(rain[i])) {
				store, run = 0, 0 // nothing is known of the leaves
				continue
			}
			humidity := RelativeHumidity(t, td)
			light := sun >= sunless
			if light && !up {
				up, day.Dew = true, store > storeDry
			}
			store = wetStore(store, humidity, VaporDeficitKPa(t, td), float64(wind[i]), float64(rain[i]), sun)
			if light && day.Dew && day.DewOff < 0 && store <= storeDry {
				day.DewOff = h
			}
			if light && humidity < cutHumidity && store <= storeDry && rain[i] < smallestHour {
				day.Hours++
				run++
				day.Window = day.Window || run >= windowHours
			} else {
				run = 0
			}
		}
		out[k] = day
	}
	return out
}

// wetStore returns the water on leaves, mm, after an hour.
func wetStore(store, humidity, deficit, wind, rain, sun float64) float64 {
	if humidity >= wetHumidity && sun < sunless && wind < dewWind {
		store += min(dewGainMost, dewGain*(1+(humidity-wetHumidity)/(1-wetHumidity)))
	}
	store = min(storeMost, store+rain)
	return max(0, store-storeByAir*deficit*(1+storeByWind*wind)-storeBySun*sun)
}
