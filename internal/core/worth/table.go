// Package worth turns weather, moisture, loss and settlement into one table: what an acre of each field nets
// if it is cut in this hour of this weather and hauled to that destination.
//
// It leaves out every decision: the table knows what an acre would bring, the planner decides. Values are
// modelled dollars (float64 or float32), in the US trade bushel, the acre and the hour. The price of a load
// comes from package settlement, the same engine that settles real tickets; there is no second one.
package worth

import (
	"math"

	"threshday/internal/core/calendar"
)

// A Table holds what the planner may know. Members are equally likely weathers with everything that follows
// from them. Arrays over members, hours and fields are laid out member first, then hour, then field:
// index (m*Hours+h)*len(Fields)+f.
type Table struct {
	Start   calendar.Hour // cell of hour 0
	Hours   int
	Members int
	Day     []int    // per hour: number of the farm's local day, the first is 0
	Source  []string // per member: the weather it is made from

	Fields       []FieldRow
	Combines     []CombineRow
	Destinations []DestinationRow
	Sites        []SiteRow

	// Workable is true where the crop can be cut: dry on the outside and at or under the owner's limit.
	Workable []bool
	// Moisture is the field's mean moisture, an index on the grid of GridPct.
	Moisture []uint16
	// Keep is the share of the mature crop that reaches the tank if the acre is cut in that hour, 0 to 1.
	Keep []float32
	// Crop[m*len(Fields)+f] is member m's crop at maturity in field f as a multiple of what is expected. Nobody knows it
	// before the field is cut: it counts in what is earned and hauled, never in a decision.
	Crop []float32
	// Wet is true where crop or ground is wet from outside, whatever the grain's moisture: for the explanation.
	Wet []bool

	// Value[f*len(Destinations)+d] is a curve over the moisture grid: dollars per acre of mature crop with
	// nothing lost, hauled to d, net of settlement, freight and drying. NaN: not accepted there.
	Value [][]float32
	// Bushels[f] is a curve over the moisture grid: wet bushels (by trade weight) per acre with nothing lost.
	Bushels [][]float32

	// TruckHours is what the trucks together can work in one hour of the day's hauling hours.
	TruckHours float64
	// Carts is in how many fields at once grain carts can run with the combines; 0: no cart, trucks are filled at the field's edge.
	Carts int
	// MoveHours[k][f][g] is what combine k loses by going from field f to field g; row len(Fields) is the yard.
	MoveHours [][][]float64
}

// A FieldRow is a field as the planner sees it.
type FieldRow struct {
	ID        string
	Acres     float64   // left to cut
	CutCost   float64   // dollars per acre the machine costs
	TruckBu   []float64 // per destination: truck hours to haul one bushel there and come back
	Deadline  int       // day by which the owner wants it done; the season's end when none is nearer
	LimitPct  float64
	BuPerAcre float64 // expected, at the base moisture, for the explanation
}

// A CombineRow is a combine: acres an hour in each field (0: cannot work there) and the hours it may run.
type CombineRow struct {
	ID      string
	Rate    []float64 // per field, acres per hour
	Runs    []bool    // per hour
	StartIn int       // field index where it stands, or -1: the yard
}

// A DestinationRow is an outlet or bin under one price.
type DestinationRow struct {
	ID       string // of the outlet or bin
	Contract string // contract or premium it stands for; empty: the outlet's open bid
	Name     string
	Site     int       // index of the place with its receiving capacity
	Open     []bool    // per hour: delivery possible and price in force
	Room     float64   // bushels it takes in all; +Inf: no bound
	Posted   float64   // dollars per bushel as posted, for the rules of thumb
	Points   []float32 // over the moisture grid: dryer point-bushels per bushel, nil: no dryer
	PointDay float64   // point-bushels its dryer removes in a day
}

// A SiteRow is a place that receives grain, shared by the destinations there.
type SiteRow struct {
	ID      string
	PerHour float64 // bushels an hour; +Inf: no bound known
	PerDay  float64 // bushels a day; +Inf: no bound known
}

// The moisture grid: step, first value and number of points, percent wet basis.
const (
	GridStep  = 0.05
	GridFirst = 4.0
	GridLen   = 921 // to 50 %
)

// GridPct returns the moisture of grid point i, percent wet basis.
func GridPct(i int) float64 { return GridFirst + GridStep*float64(i) }

// GridIndex returns the grid point nearest to pct, held inside the grid.
func GridIndex(pct float64) uint16 {
	i := math.Round((pct - GridFirst) / GridStep)
	return uint16(min(max(i, 0), GridLen-1))
}

// At returns the index into Workable, Moisture and Keep.
func (t *Table) At(member, hour, field int) int {
	return (member*t.Hours+hour)*len(t.Fields) + field
}

// Net returns what an acre of field with the expected crop nets in dollars if cut in hour of member and hauled to
// destination; ok is false where the crop is not workable or the destination does not take it then.
func (t *Table) Net(member, hour, field, destination int) (usd float64, ok bool) {
	i := t.At(member, hour, field)
	if !t.Workable[i] || !t.Destinations[destination].Open[hour] {
		return 0, false
	}
	v := t.Value[field*len(t.Destinations)+destination][t.Moisture[i]]
	if v != v {
		return 0, false
	}
	return float64(t.Keep[i])*float64(v) - t.Fields[field].CutCost, true
}

// Earned returns what an acre really brings that was expected to net that much: the member's crop scales all but the
// machine's cost.
func (t *Table) Earned(member, field int, net float64) float64 {
	cost := t.Fields[field].CutCost
	return float64(t.Crop[member*len(t.Fields)+field])*(net+cost) - cost
}

// Days returns how many local days the table spans.
func (t *Table) Days() int { return t.Day[len(t.Day)-1] + 1 }
