package weather

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
	hoursPerDay = 24
)

// A HarvestDay is what the hours of one day come to.
type HarvestDay struct {
	Hours  int  // daylight hours of dry air on dry leaves
	Window bool // four of them in a row
	DewOff int  // first hour of the day with the leaves dry after sunrise, counted from the day's first; -1: none, or no dew
	Dew    bool // the leaves were wet at sunrise
}

// HarvestDays returns the days of a run of hours that begins at midnight: rows are as in an ensemble.
func HarvestDays(temp, dew, wind, rain, solar []float32) []HarvestDay {
	out := make([]HarvestDay, len(temp)/hoursPerDay)
	store := 0.0
	for k := range out {
		day := HarvestDay{DewOff: -1}
		run, up := 0, false
		for h := range hoursPerDay {
			i := k*hoursPerDay + h
			t, td, sun := float64(temp[i]), float64(dew[i]), float64(solar[i])
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
