package weather

// LongestLead is the last lead day at which a forecast is used. Day 1 is today.
const LongestLead = 14

// An ErrorTable says how far a forecast may be off, by lead day from 1 on.
type ErrorTable struct {
	// Temp is the standard deviation of the error of high and low over that of the weather itself, 1 where the forecast
	// knows no more than the season; Dew that of the mean dew point, Wind that of the square root of the mean wind.
	Temp, Dew, Wind [LongestLead]float64
	// Rain is how much of a chance of rain's distance from the season's usual is believed.
	Rain [LongestLead]float64
}

// DefaultErrors returns figures set with a few published errors in view, not fitted; they give way to the farm's own
// record of forecasts once there is one, see [Verification.Table]. A first-day error of .34 of 5.6 °C is 3.4 °F, where
// highs forecast by an office 12 to 24 hours ahead were off by a root mean square of 3.8 °F. [judgement]
// [nssl-okc-highs]
func DefaultErrors() ErrorTable {
	return ErrorTable{
		Temp: [LongestLead]float64{.34, .38, .43, .49, .56, .65, .75, .82, .88, .92, .95, .97, .985, 1},
		Dew:  [LongestLead]float64{.40, .44, .50, .56, .64, .72, .80, .86, .91, .94, .96, .98, .99, 1},
		Wind: [LongestLead]float64{.60, .65, .70, .76, .82, .87, .91, .94, .96, .98, .99, 1, 1, 1},
		Rain: [LongestLead]float64{.97, .95, .93, .90, .85, .77, .68, .5, .3, .15, .1, 0, 0, 0},
	}
}

// atLead returns the table's value for a lead day from 1 on; beyond the table its last.
func atLead(table [LongestLead]float64, lead int) float64 { return table[min(lead, LongestLead)-1] }

// chance returns the chance of rain to use for a forecast chance at a lead day, where usual is the season's
// frequency of wet days: no day is certain.
func (t *ErrorTable) chance(forecast, usual float64, lead int) float64 {
	return max(leastChance, min(1-leastChance, usual+atLead(t.Rain, lead)*(forecast-usual)))
}

const leastChance = 0.02 // [judgement]
