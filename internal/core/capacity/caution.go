package capacity

import "threshday/internal/core/problem"

// Where a caution belongs.
const (
	AtAxles    = "axles"    // weights and axle checks
	AtDispatch = "dispatch" // sending a truck or machine on the road
	AtMachine  = "machine"  // running augers, carts, PTO
	AtStart    = "start"    // the start of a cutting day
)

// Cautions returns the texts of one place; nil for a place not listed.
func Cautions(at string) []problem.Caution {
	switch at {
	case AtAxles:
		return []problem.Caution{
			{Rule: "axle.state-law", Key: "cfr-658-17", Say: "Axle and gross limits here are the federal ones of the Interstate System. Check your state's rules; this tool does not know them: harvest tolerances, permits, farm plates, posted bridges and county roads differ."},
			{Rule: "axle.split", Key: "judgement", Say: "Without the weight on each axle only the gross weight is checked."},
		}
	case AtDispatch:
		return []problem.Caution{
			{Rule: "road.covered-farm-vehicle", Key: "ndhp-cfv", Say: "A covered farm vehicle over 26,000 lb may be exempt from some federal rules in its own state or within 150 air miles of the farm. That may apply; ask your state."},
			{Rule: "road.machines", Key: "common-practice-1", Say: "Slow-moving emblem and lights on, escort on hills, no riders, brakes of an empty cart checked. Mind dusk traffic; after 14 hours, stop."},
			{Rule: "road.header", Key: "common-practice-1", Say: "Heads over 14 to 16 ft go on a trailer; above set widths most states want escort, flags or a permit. Local law decides."},
		}
	case AtMachine:
		return []problem.Caution{
			{Rule: "machine.pto", Key: "clemson-pto", Say: "A PTO at 540 rpm turns nine times a second, at 1,000 rpm sixteen: faster than anyone reacts. Shields on; stop it before you step down."},
			{Rule: "machine.power-line", Key: "common-practice-1", Say: "Look up for power lines before you raise auger, box or antenna."},
			{Rule: "machine.slope", Key: "judgement", Say: "Above about 15 % side slope check the operator's manual; a full tank raises the center of gravity."},
			{Rule: "machine.soft-ground", Key: "judgement", Say: "A single-axle cart is the heaviest load in the field; after rain keep it on the headland you know."},
		}
	case AtStart:
		return []problem.Caution{
			{Rule: "fire.engine", Key: "oregon-em-9326", Say: "Of 9,000 combine fires 77 % began around the engine. Blow off residue and check bearings before you start."},
			{Rule: "fire.extinguisher", Key: "shutske-2021", Say: "Keep an ABC dry-chemical extinguisher of 10 lb or more within reach."},
			{Rule: "fire.second", Key: "judgement", Say: "Keep a second extinguisher, a phone, a shovel, water and a tillage tractor near."},
			{Rule: "fire.wind", Key: "sdsu-fire", Say: "With a dry crop and wind near 30 mph wait for the evening or for damp."},
		}
	default:
		return nil
	}
}

// FireWeather reports whether the air calls for the cautions of [AtStart] to be shown loudly: under 30 %
// humidity with wind over 20 mph and gusts over 30. [judgement]
func FireWeather(humidityPct, windMPH, gustMPH float64) bool {
	return humidityPct < 30 && windMPH > 20 && gustMPH > 30
}
