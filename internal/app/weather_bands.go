package app

import (
	"slices"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
	"threshday/internal/core/worth"
)

// A DayBand is what the members make of one day.
type DayBand struct {
	On        calendar.Day
	High, Low Band    // °C
	Dew       Band    // mean dew point, °C
	RainOdds  float64 // of 0.254 mm or more
	RainMM    float64 // mean of the wet members; 0: none is wet
	CutHours  Band    // hours of dry air on dry leaves
	Window    float64 // odds of four such hours in a row
	DewOdds   float64 // odds that the leaves are wet at sunrise
	// DewOff is the hour of the clock from which leaves are dry, 10, 50 and 90 % of the members with dew; nil where
	// fewer than one in ten has any.
	DewOff *[3]float64
}

// bands returns what members make of each of their days.
func bands(e *weather.Ensemble, zone *time.Location) []DayBand {
	days := weather.Days(e.Start, e.End(), zone)
	harvest := make([][]weather.HarvestDay, e.Members)
	for m := range harvest {
		harvest[m] = e.HarvestDays(m, days)
	}
	out := make([]DayBand, len(days))
	for l, d := range days {
		var high, low, dew, cut, off []float64
		wet, windows, dewy := 0, 0, 0
		mm := 0.0
		for m := range e.Members {
			air, h := e.Summary(m, int(d.First-e.Start), int(d.End-e.Start)), harvest[m][l]
			high, low, dew, cut = append(high, air.High), append(low, air.Low), append(dew, air.Dew), append(cut, float64(h.Hours))
			if air.Wet() {
				wet++
				mm += air.Rain
			}
			if h.Window {
				windows++
			}
			if h.Dew {
				dewy++
				if h.DewOff >= 0 {
					at := (d.First + calendar.Hour(h.DewOff)).Start().In(zone)
					off = append(off, float64(at.Hour()))
				}
			}
		}
		b := DayBand{
			On: d.Date, High: bandOf(high), Low: bandOf(low), Dew: bandOf(dew), CutHours: bandOf(cut),
			RainOdds: odds(wet, e.Members), Window: odds(windows, e.Members), DewOdds: odds(dewy, e.Members),
		}
		if wet > 0 {
			b.RainMM = mm / float64(wet)
		}
		if 10*len(off) >= e.Members && len(off) > 0 {
			b.DewOff = tenFiftyNinety(off)
		}
		out[l] = b
	}
	return out
}

// bandOf returns the mean and the middle eight tenths; x is sorted.
func bandOf(x []float64) Band {
	slices.Sort(x)
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return Band{Mean: sum / float64(len(x)), P10: worth.Quantile(x, 0.1), P90: worth.Quantile(x, 0.9)}
}

// stationSaid says where each record was measured and what that does to it; empty where there is none.
func (mo *morning) stationSaid() string {
	var parts []string
	kind := mo.season.Farm.Weather.StationKind
	if name := mo.season.Farm.Weather.Record; name != "" {
		parts = append(parts, kindSaid(kind))
	}
	for _, f := range mo.files {
		if f.Station == "" {
			f.Station = kind
		}
		parts = append(parts, f.Name+" in the data file: "+kindSaid(f.Station))
	}
	return strings.Join(parts, "; ")
}

// kindSaid says what a kind of station does to a record.
func kindSaid(kind string) string {
	switch kind {
	case airport:
		return "airport: it hides dew, so dew points of hours without sun are raised by 1 °C"
	case "":
		return "rural, assumed; if it stands on an airport, say so with station under [farm.weather], for airports hide dew"
	}
	return "rural: taken as measured"
}
