package worth

import (
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/farm"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/core/weather"
)

// Inputs are what a table is built from.
type Inputs struct {
	Season   *farm.Season
	Terms    map[TermsKey]*settlement.Terms
	Record   *weather.Series // what has been, as far as it was recorded
	Ensemble *weather.Ensemble
	Now      calendar.Hour // the table's first hour; the ensemble must start there
	Zone     *time.Location
	Root     [32]byte // of every draw
	Workers  int      // goroutines, at least one; the answer does not depend on it
}

// A TermsKey names the terms of one crop at one outlet.
type TermsKey struct {
	Outlet string
	Crop   crop.Kind
}

// A Build is the table with what is needed to explain it.
type Build struct {
	Table   *Table
	Span    Span
	Fields  []FieldFacts
	Assumed []Assumed
	Gauges  []drydown.Gauge // what is known of the devices the fields were read with
	payload trade.Pounds
	from    *builder
	Owed    float64 // dollars for contracts nothing is delivered to; Value holds the relief of delivering
}

// FieldFacts are what is known of one field's crop.
type FieldFacts struct {
	Field     *farm.Field
	Maturity  []string     // how its date was found, a sentence each
	Case      drydown.Case // what the belief about it stands on
	Belief    *drydown.Posterior
	Lessons   []drydown.Lesson
	Now       Spread    // field mean at the start, over members, % wet basis
	ByMember  []float64 // the same, per member
	Afternoon []Spread  // per day: field mean at 15:00 of the farm's clock, % wet basis
	Under     []float64 // per day: share of members in which some working hour is fit under the limit
	Dry       []float64 // per day: share of members with some working hour free of rain and dew
	Opens     []Spread  // per day: first workable hour of the farm's clock, over members that open
	Closes    []Spread  // per day: end of the last
	LossPct   []float64 // per day: mean loss in the first workable hour, percent of the crop; NaN: none
	LoadSDPct float64   // how much its truckloads differ around its mean, points wet basis
	Green     float64   // share of its mass not yet mature at the start, in the middle of what is believed
	Wettings  float64   // how often its ripe strata were wetted up to the start, in their mean
	Ground    GroundFacts
	NoWay     []string // machines that cannot get in, with the reason
	// Look runs the field again and returns its track over the first hours, with the share of its mass over each limit.
	Look func(hours int, limits []float64) *drydown.Track
}

// A Spread is a mean with its 10 and 90 % points.
type Spread struct{ Mean, P10, P50, P90 float64 }

// An Assumed value was not given by the owner.
type Assumed struct {
	What  string // "Creek 80: splits on the ticket"
	Value string // with unit
	From  string // why this value, or the key of its source
}
