// Package weather holds the air of the farm hour by hour: what was measured, and an ensemble of equally likely
// weathers to come, drawn from the climate of a record around what is observed and forecast, see [Climate.Generate]. It also
// holds the formulas of damp air and of the sun, and the scores by which forecasts and ensembles are judged, see [Verify] and
// [VerifyMembers].
//
// It leaves out snow and frost as such, wind direction, and how weather differs from field to field: an
// ensemble is the weather of one place.
//
// Hours are UTC cells. Temperature and dew point are °C over water, wind m/s at 2 m, rain mm in the hour,
// cloud and relative humidity fractions, radiation W/m². State is that of the beginning of an hour, rain its
// total and radiation its mean. Everywhere the dew point is at or below the temperature. Computed in float64,
// kept in float32. The formulas hold for open farmland between 25° and 60° of latitude.
//
// The package draws chance only from a [Stream], a pure function of root, member, day and purpose. Sources stand
// at the formulas; docs/model/air.md and docs/model/weather.md tell the whole.
package weather
