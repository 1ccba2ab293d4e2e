// Package storage models grain at home: how many bushels a bin holds, what a dryer gets through and burns, how
// long grain keeps at a moisture and temperature, and what holding it costs.
//
// It leaves out who owns what is in a bin (package ledger), what a buyer charges for drying (package
// settlement), and the way air moves through a bin. Lengths, volumes and temperatures are units; moisture is
// percent wet basis in the name; money is modelled dollars.
//
// Volumes are exact geometry of a round bin; bushels from a volume are within about 5 % of the scale and never
// overwrite it. Storage times are a guide, for sound grain held at one temperature.
//
// Sources: docs/sources/storage.md; equations and tests: docs/model/storage.md.
package storage

import "threshday/internal/core/problem"

// Where a caution belongs.
const (
	AtBin    = "bin"    // records of a bin, unloading, going in
	AtDryer  = "dryer"  // drying
	AtHazard = "hazard" // grain out of condition
)

// Cautions returns the texts of one place; nil for a place not listed.
func Cautions(at string) []problem.Caution {
	switch at {
	case AtBin:
		return []problem.Caution{
			{Rule: "bin.flow", Key: "osu-entrapment", Say: "Flowing grain makes a person helpless in 2 to 3 seconds. Never go in while the unloader runs; lock it out. Never let children on grain."},
			{Rule: "bin.ways", Key: "ndsu-ae1102", Say: "People are buried in flowing grain, through a crust that bridges a hollow, and under a wall of grain that falls. Harness, line and two observers, or stay out."},
			{Rule: "bin.permit", Key: "osha-1910-272", Say: "Before anyone enters: permit, lock-out, and the air tested. The federal rule is not enforced on small family farms; the hazard is the same."},
			{Rule: "bin.measure", Key: "bhadra-2018", Say: "A measured bin is within about 5 % of the scale. It never replaces a ticket."},
		}
	case AtDryer:
		return []problem.Caution{
			{Rule: "dryer.soybean-air", Key: "ndsu-soybean-drying", Say: "Soybeans split in hot dry air: at most 130 °F in a continuous dryer, 110 °F in a batch or for seed, and keep the drying air above 40 % humidity."},
			{Rule: "dryer.wet-holding", Key: "judgement", Say: "Wet grain waiting for the dryer uses up its storage life. Above 24 % corn should not wait more than 12 to 24 hours."},
			{Rule: "dust.explosion", Key: "purdue-confined", Say: "Grain dust explodes every year somewhere. No smoking or hot work near legs and pits; wear a mask in moldy grain."},
		}
	case AtHazard:
		return []problem.Caution{
			{Rule: "bin.spoiled", Key: "purdue-confined", Say: "Spoiled or crusted grain is the usual reason people go in and do not come out. In 2023, 29 of 55 recorded confined-space cases were fatal, and not all are recorded. Get it out from outside, or call people trained for it."},
		}
	default:
		return nil
	}
}
