package planner

// A Rule says which field a free combine takes and where its grain goes.
type Rule struct {
	Order Order
	Haul  Haul
	// Queue scales how long a field left now is expected to wait for its next turn: 0 ignores the work in
	// line, 1 takes all of it. For ByLoss alone.
	Queue float64
	// Margin is the share of an acre's worth that must be gained by waiting before a combine stands idle for
	// it. For ByLoss alone.
	Margin float64
}

// An Order ranks fields.
type Order uint8

// The orders.
const (
	ByLoss  Order = iota // most worth lost per combine hour of waiting
	ByList               // in the order the farm lists them
	ByDry                // driest first
	ByWorth              // most worth per combine hour now
)

// A Haul picks a destination for a load.
type Haul uint8

// The hauls.
const (
	HaulBest    Haul = iota // nets most
	HaulNearest             // least truck time
	HaulPosted              // highest posted price
)

var simpleRules = []struct {
	name string
	rule Rule
}{
	{"dry enough first", Rule{Order: ByDry}},
	{"field order", Rule{Order: ByList}},
	{"most valuable first", Rule{Order: ByWorth}},
	{"nearest outlet", Rule{Order: ByDry, Haul: HaulNearest}},
	{"best posted bid", Rule{Order: ByDry, Haul: HaulPosted}},
}

// candidates are the rules tried; the first is the neutral one. The list is short so that choosing among them on
// the planning weathers cannot follow their noise.
func candidates() []Rule {
	var out []Rule
	for _, margin := range []float64{0, 0.01, 0.03, 0.06} {
		for _, queue := range []float64{0.5, 0, 0.25, 1} {
			out = append(out, Rule{Order: ByLoss, Queue: queue, Margin: margin})
		}
	}
	return append(out, Rule{Order: ByWorth}, Rule{Order: ByDry}, Rule{Order: ByList})
}
