package planner

// A Rule says which field a free combine takes and where its grain goes.
type Rule struct {
	Order Order
	Haul  Haul
	// Round is which expectation of waiting is used, for ByLoss alone: 0 expects every acre at its field's next chances;
	// later ones what acres left standing went on to earn under the rule of the round before.
	Round int
	// Margin is the share of the worth of waiting that must be missed by cutting now before a combine stands idle
	// for it; 1: it never does. For ByLoss alone.
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

// The rules tried. The list is short so that choosing among them on the planning weathers cannot follow their noise.
var (
	margins = []float64{1, 0.15, 0.05, 0}
	plain   = []Rule{{Order: ByWorth}, {Order: ByDry}, {Order: ByList}, {Order: ByLoss, Margin: 0.15}}
)

// rounds is how often the expectation of waiting is learned anew from what the best rule so far went on to earn.
const rounds = 3
