// Package drydown models the moisture of a standing crop hour by hour: when it is mature, how it dries and
// takes up water after that, how uneven a field is, and what a reading teaches about it.
//
// A field is a handful of strata that ripen on different days. Grain moves toward the moisture at which it is
// in equilibrium with the air at the pod, ear or head, at a rate set by the warmth of that air and by how dry
// the grain is already; rain and dew make a film of free water that must leave before the crop can be cut.
// What every field of a crop shares in one weather is worked out once ([Drivers]); a field then costs two
// exponentials per stratum and hour ([Field.Run]). The same code serves the outlook and the season's plan.
//
// It leaves out losses (package loss), whether ground carries, disease and frost damage, and grain in a bin.
//
// Units: °C, mm, m/s at 2 m, W/m², relative humidity as a fraction, one hour a step. Moisture carries its
// basis in its name: WB is percent wet basis, what scales say; DB percent dry basis, what the equations use.
// A value of hour h is the state at the end of cell h.
//
// Validity: calibrated by hand to published rates of corn and soybean in the Midwest from September to
// November; wheat, sorghum, canola and sunflower are orders of magnitude. The equilibrium curves were fitted
// at 5–40 °C and 20–90 % relative humidity. Nothing measured stands behind the coefficients of rain, dew and
// spread: all are parameters, listed by [Params.Coefficients] with their tag, and readings correct them.
//
// Sources: relaxation toward equilibrium with a rate per crop follows the algorithm tested on 138 series of
// maize and soybean [martinez-feria-2019]; free water on the plant beside absorbed water follows the hourly
// model of wheat and barley [atzema-1998]; the equations between them are ours. See docs/model/drydown.md.
package drydown

// DryBasis returns percent dry basis for wb percent wet basis, which must lie below 100.
func DryBasis(wb float64) float64 { return 100 * wb / (100 - wb) }

// WetBasis returns percent wet basis for db percent dry basis, 0 or more.
func WetBasis(db float64) float64 { return 100 * db / (100 + db) }
