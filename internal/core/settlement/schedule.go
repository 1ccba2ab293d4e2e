package settlement

import (
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/trade"
)

// A Schedule is one outlet's posted terms for one crop, as data. What is absent is absent: nil or empty.
// The strings of its enumerations are those of schedule files.
type Schedule struct {
	ID, Buyer, Location string
	Crop                crop.Kind
	Class               string // of wheat; empty: any
	ValidFrom, ValidTo  *calendar.Day
	AppliesTo           []string // "spot" or kinds of contract; empty: all
	Average             Averaging
	DeductBasis         DeductBasis
	PctBase             PctBase
	Style               Style
	BuDecimals          *int           // decimals of a printed quantity, 0 to 3
	LbPerBu             *trade.Decimal // pounds of a trade bushel
	PriceUnit           PriceUnit
	Checkoff            *Checkoff
	Note                string
	Rows                []Row
}

// A Row is one line of a posted schedule.
type Row struct {
	Seq       int
	Factor    Factor
	Kind      Kind
	Direction Direction
	From      *trade.Decimal // threshold: free up to and including it
	To        *trade.Decimal // end of the band, inclusive; nil: open
	Step      *trade.Decimal
	StepMode  StepMode
	Amount    *trade.Fraction // per step; negative is a premium
	Printed   string          // the amount with the digits the buyer prints, "2.0"; empty: as it falls out
	Unit      Unit
	Qty       Qty
	Group     string // "", "sum", "max", or "max:name" where a schedule has several
	Cap       *trade.Fraction
	Min       *trade.Fraction
	Text      string // as the buyer printed it
}

// Kind says what a row does.
type Kind string

// The kinds, in the order they are evaluated: reject first.
const (
	RejectRow Kind = "reject" // no settlement; ask the buyer
	WarnRow   Kind = "warn"
	WeightRow Kind = "weight" // removes pounds
	PriceRow  Kind = "price"  // discount, or premium where negative; enters the checkoff base
	ChargeRow Kind = "charge" // drying, inspection; after the checkoff
)

// Direction says which side of the threshold counts.
type Direction string

// The directions. Above counts (from, to], Below counts [to, from).
const (
	Above   Direction = "above"
	Below   Direction = "below"
	Flagged Direction = "flag"
)

// StepMode says how a started step counts.
type StepMode string

// The step modes.
const (
	OrFraction StepMode = "ceil"  // each step or fraction thereof
	EachFull   StepMode = "floor" // each full step
	Prorated   StepMode = "prorate"
	Flat       StepMode = "flat" // once, while the reading is inside the band
)

// Unit says what an amount is.
type Unit string

// The units of an amount.
const (
	PctWeightPerStep Unit = "pct_weight_per_step"
	PctExcess        Unit = "pct_excess" // the excess itself, percent of weight, times the amount
	TablePct         Unit = "table_pct"  // a band of a printed shrink table, percent of weight
	PctPrice         Unit = "pct_price"
	CentsPerBu       Unit = "cents_bu"
	CentsPerCwt      Unit = "cents_cwt"
	DollarsPerLoad   Unit = "dollars_load"
)

// Qty says what an amount is multiplied by.
type Qty string

// The quantity bases. Where a schedule is priced by the hundredweight, NetBu and GrossBu mean hundredweight.
const (
	NetBu        Qty = "net_bu"
	GrossBu      Qty = "gross_bu"
	NetLb        Qty = "net_lb"         // scale weight
	AfterPriorLb Qty = "after_prior_lb" // weight rows: what earlier factors left; others: settled weight
	PerLoad      Qty = "load"
)

// Averaging says which loads are settled together.
type Averaging string

// The averagings.
const (
	LoadByLoad  Averaging = "load"
	PerContract Averaging = "contract"
	PerDay      Averaging = "day"
)

// DeductBasis says what a weight percentage is taken of.
type DeductBasis string

// The deduct bases.
const (
	Sequential DeductBasis = "sequential" // of what earlier factors left
	Additive   DeductBasis = "additive"   // of the scale weight
)

// PctBase says what a percentage of price is taken of.
type PctBase string

// The bases of a percentage of price.
const (
	CashNoPremium   PctBase = "cash_no_premium"
	CashWithPremium PctBase = "cash_with_premium"
	FuturesPrice    PctBase = "futures"
)

// Style says where dollars are rounded.
type Style string

// The styles.
const (
	NetPrice Style = "net_price" // discounts into the price, one product
	LineItem Style = "line_item" // base, premium and each factor rounded to the cent, then summed
)

// PriceUnit says what a price is for.
type PriceUnit string

// The price units; empty means PerBu.
const (
	PerBu  PriceUnit = "bu"
	PerCwt PriceUnit = "cwt"
)

// A Checkoff is an assessment the buyer withholds.
type Checkoff struct {
	Kind CheckoffKind
	Rate trade.Fraction
	Base CheckoffBase // of a percentage; empty: AfterQuality
}

// CheckoffKind says what a rate is.
type CheckoffKind string

// The kinds of checkoff. Cents are per net bushel, or per net hundredweight where priced by that.
const (
	CheckoffPercent CheckoffKind = "percent"
	CheckoffCents   CheckoffKind = "cents_bu"
)

// CheckoffBase says which dollars a percentage is taken of.
type CheckoffBase string

// The checkoff bases. AfterQuality is the federal one: price after premium and discount for quality, before
// drying, storage and freight. [cfr-1220-223]
const (
	AfterQuality  CheckoffBase = "after_quality"
	BeforeQuality CheckoffBase = "before_quality"
	AfterCharges  CheckoffBase = "after_charges"
)

// Known reports whether the enumeration has that value.
func (k Kind) Known() bool {
	return k == RejectRow || k == WarnRow || k == WeightRow || k == PriceRow || k == ChargeRow
}

// Known reports whether the enumeration has that value.
func (d Direction) Known() bool { return d == Above || d == Below || d == Flagged }

// Known reports whether the enumeration has that value.
func (m StepMode) Known() bool {
	return m == OrFraction || m == EachFull || m == Prorated || m == Flat
}

// Known reports whether the enumeration has that value.
func (u Unit) Known() bool { return u.forWeight() || u.forMoney() }

func (u Unit) forWeight() bool { return u == PctWeightPerStep || u == PctExcess || u == TablePct }

func (u Unit) forMoney() bool {
	return u == PctPrice || u == CentsPerBu || u == CentsPerCwt || u == DollarsPerLoad
}

// Known reports whether the enumeration has that value.
func (q Qty) Known() bool {
	return q == NetBu || q == GrossBu || q == NetLb || q == AfterPriorLb || q == PerLoad
}
