package app

import (
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
)

// A DaySheet is the morning's answer for all fields. Money here is modelled, in dollars, never what a cheque says.
type DaySheet struct {
	Farm, Place string
	AsOf        time.Time // in the farm's zone
	Seed        uint64
	Members     int
	Weather     WeatherState
	Bids        BidState
	Window      DayWindow
	Fields      []FieldAdvice
	Orders      []Order
	OrdersFor   calendar.Day
	Against     *OrdersAgainst // what became of orders given out earlier that day; nil: none were
	Hauling     *Hauling       // the orders' loads with their times; nil: no machine goes out
	Season      SeasonOutcome
	Assumed     []Assumption
	NotUsed     []string // keys of the season file that no part of the plan uses yet
	Stale       []string
	Cautions    []Caution
	Findings    []problem.Finding
}

// WeatherState says what the moisture stands on.
type WeatherState struct {
	Ensemble string     // how the members were made
	Outlook  *time.Time // when the farm's own forecast was entered; nil: none
	Days     int        // days of it that the answer stands on
	Sources  []ForecastSource
	Ahead    []string   // who speaks of the days ahead and how old that is, a sentence each
	Observed *time.Time // last observed hour
	Credit   string
}

// BidState says how old the prices are.
type BidState struct {
	Oldest, Newest *time.Time
}

// A DayWindow is when crops can be cut on a day, over the members: nil where fewer than half of them open at all.
type DayWindow struct {
	Day      calendar.Day
	OpenOdds float64     // share of members in which any field opens
	Opens    *[3]float64 // 10, 50 and 90 % hour of the farm's clock
	Closes   *[3]float64
}

// An Advice is cut, wait or cannot.
type Advice string

// The advices.
const (
	Cut    Advice = "cut"
	Leave  Advice = "wait"
	Cannot Advice = "cannot"
)

// FieldAdvice is the row of one field.
type FieldAdvice struct {
	ID, Name, Crop string
	AcresLeft      float64
	MoisturePct    Band // at AsOf
	LimitPct       float64
	Advice         Advice
	TossUp         bool
	Because        string
	Reason         string // the same without the figures that stand beside it in a row
	Beside         string // what a linear program says that the rule does not; empty: nothing
	Choices        []Choice
	Readings       []ReadingEffect
	Flips          []Flip
	Holds          []string      // what would not change the answer, within what range; completes "the answer is the same"
	Goes           []Destined    // where the field's grain goes over the season, largest share first
	Maturity       []string      // how its date was found, a sentence each
	Sample         *SampleAdvice // where to read it next; nil: nothing is left to decide
}

// A Band is a mean with its 10 and 90 % points over the members.
type Band struct{ Mean, P10, P90 float64 }

// A Choice is waiting so many days against cutting today.
type Choice struct {
	WaitDays        int
	USDPerAcre      float64
	USD             float64
	SEUSD           float64
	P10USD, P90USD  float64
	LowUSD, HighUSD float64      // hold two standard errors either way, and the range of Ahead
	Ahead           *LookedAhead // nil: today's side of the comparison cuts nothing, or the farm is too large to ask for every field
	OddsUnderLimit  float64      // the field is workable under its limit at some hour of that day
	OddsByDeadline  *float64     // finished by its deadline when held so; nil: no deadline
	Deadline        *calendar.Day
}

// A ReadingEffect says what one reading did to the field's mean.
type ReadingEffect struct {
	What          string // "11.2 % by meter, Tue 5 Oct 15:30"
	Before, After float64
	SaidPct       float64
	Weight        float64 // share of the difference that was believed, 0 to 1
	Used          bool
	Note          string // why it is not used, or what is doubtful about it
	Doubted       bool   // far off what was possible: most of it was put down to a mistake
}

// Destined is a share of a field's acres that goes to one destination.
type Destined struct {
	To, Contract string
	Name         string // of the outlet or bin, with its contract
	Share        float64
	NetUSDPerBu  float64 // at today's moisture, after freight and drying, per wet bushel
}

// An Order is one machine's stretch of work.
type Order struct {
	Machine, MachineName string
	Field, FieldName     string
	From, To             time.Time
	Acres, Bushels       float64
	Loads                []LoadOrder
	Why                  string
	Entrance             string
	Before               string // what must be done to the machine before its first field
}

// A LoadOrder is a truckload or part of one.
type LoadOrder struct {
	To, ToName, Contract string
	Bushels              float64
	NetUSDPerBu          float64
}

// SeasonOutcome is what the season brings under the plan.
type SeasonOutcome struct {
	Expected, P10, P90, SE float64
	GapPct, GapSEPct       float64 // how far the plan may stay under perfect foresight, percent of a bound on that
	Rules                  []RuleOutcome
	Cannot                 []string
	OneMore                []MoreOutcome
	Margins                []Margin
	MarginsSay             string // those worth saying; empty: none
	PlanRule               string // the rule in words
	WithLandlords          bool   // landlords' shares are in it
}

// A MoreOutcome is what one more of something would earn over the season, by the plan's own rule.
type MoreOutcome struct {
	Of      string
	USD, SE float64
}

// A RuleOutcome is what a rule of thumb earns on the same weathers.
type RuleOutcome struct {
	Rule     string
	Expected float64
	Less     float64 // the plan's mean advantage
	SE       float64 // standard error of that advantage
}

// An Assumption is a value the owner did not give.
type Assumption struct {
	What, Value, From string
}

// A Caution stands where the work can hurt or cost.
type Caution struct {
	Where, Say, Source string
}
