// Package farm holds the records of one farm in one season, each with an identity: fields, machines, outlets,
// bids, contracts, bins, readings. It does no arithmetic and knows no file format.
//
// Conventions: an ID is a short slug unique among its kind, used by other records to refer to it. Optional
// values are pointers, or strings and slices that may be empty; what is absent stays absent and is never a zero.
// Lengths, weights and speeds are units; what is printed on paper is trade.
package farm

import (
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// A Season is everything the plan is made from, except weather records.
type Season struct {
	Farm      Farm
	Prefer    Preferences
	Fields    []Field
	Readings  []Reading
	Stages    []Sighting
	Grounds   []GroundNote
	Anchors   []Anchor
	Combines  []Combine
	Carts     []Cart
	Trucks    []Truck
	Outlets   []Outlet
	Bids      []Bid
	Premiums  []Premium
	Contracts []Contract
	Bins      []Bin
	Dryers    []Dryer
	Outlook   []OutlookDay // the farm's own forecast, by day
	Parties   []Party
}

// A Farm says who and where.
type Farm struct {
	ID      string
	Name    string
	Place   string // shown, never used
	Zone    string // IANA name of the farm's clock
	At      *Point
	Year    int        // crop year: the year of harvest
	AsOf    *time.Time // the instant the season file speaks of; the demo has one, a living farm has none
	Weather WeatherSettings
}

// WeatherSettings name the records the ensemble is made from, and whom to ask for the days ahead.
type WeatherSettings struct {
	Record      string   // file with the station's hourly record, relative to the season file
	StationKind string   // "rural" or "airport": airports hide dew
	Stamp       string   // what a row's time marks: "start", "middle" or "end" of its hour; empty: start
	Note        string   // credit shown beside the answer
	WindHeight  *float64 // metres above ground of the record's wind; nil: 10 m, and said so
	Contact     string   // where the forecast service reaches whoever asks; nothing is asked without it
	Ensemble    Ensemble // another forecast service, of the owner's own choice
}

// An Ensemble is a service of ensemble forecasts that the owner has a licence for. The zero Ensemble is none.
type Ensemble struct {
	URL     string // the question, https, without place and key
	KeyFile string // file with the licence key, relative to the season file; empty: it takes none
	Credit  string // the attribution that its licence asks for
}

// A Point on the WGS 84 ellipsoid, degrees.
type Point struct{ Lat, Lon float64 }

// Preferences are the owner's own limits.
type Preferences struct {
	Limits     map[crop.Kind]trade.Percent // wettest moisture the owner cuts at, field mean
	WorkFrom   calendar.Clock              // earliest start of cutting
	WorkUntil  calendar.Clock              // latest end
	DaysOff    []time.Weekday
	SeasonEnd  calendar.Day // uncut crop is worth nothing after it
	CombineUSD *trade.Price // running cost of a combine, $ per separator hour
	// LossFactors: the k of the loss models by crop; nil means 1 with the published spread.
	LossFactors map[crop.Kind]float64
}

// A Field is a piece of land under one crop.
type Field struct {
	ID               string
	Name             string
	Crop             crop.Kind
	Class            string // wheat: "HRW", "SRW", ...
	Variety          string
	Acres            float64   // stated acres; 0 when only Boundary is given
	Boundary         [][]Point // rings, the outer first; empty when unknown
	At               *Point    // a point in the field; nil: the farm's
	CutAcres         float64   // acres already harvested
	Planted          *calendar.Day
	RelativeMaturity *float64      // corn days ("111"), soybean group (3.2)
	Mature           *calendar.Day // owner's estimate of the crop's maturity stage (R7, black layer, ripe): median plant
	MatureSDDays     *float64      // one standard deviation of that estimate, days
	Evenness         string        // "even", "some", "uneven"; empty: "some", said as assumed
	Yield            Yield
	LodgedPct        *float64 // percent of plants
	GreenPct         *float64 // percent of plants still green-stemmed
	ImmaturePct      *float64 // percent of mass that will not ripen
	Quality          Quality
	Soil             Soil
	Entrances        []Entrance
	Shares           []Share
	Miles            map[string]float64 // road miles to an outlet or bin ID; wins over the outlet's own distance
	Limit            *trade.Percent     // the owner's limit for this field; nil: Preferences
	MovesTo          map[string]float64 // minutes to move the combine to a field ID
}

// Yield is the expected crop standing at maturity, at the base moisture named.
type Yield struct {
	BuPerAcre float64
	SDPct     *float64 // one standard deviation as percent of the mean; nil: by how it was estimated, assumed
	Base      trade.Percent
	How       string // "counts", "guess", "history": shown
}

// Quality is what the owner expects on the ticket besides moisture; nil is unknown.
type Quality struct {
	TestWeight      *trade.Percent // lb/bu in hundredths
	ForeignMaterial *trade.Percent
	Damage          *trade.Percent
	Heat            *trade.Percent
	Splits          *trade.Percent
	BCFM            *trade.Percent
	Dockage         *trade.Percent
	Protein         *trade.Percent
}

// Soil for the ground check.
type Soil struct {
	Texture  string // FAO-56 class: "silt loam", ...
	Tiled    *bool
	Drainage string // "good", "poor"
	Below    string // "dry", "normal", "wet": the subsoil at the start
}

// An Entrance is a way into a field.
type Entrance struct {
	Name   string
	At     *Point
	Width  *units.Length
	Height *units.Length
	Limit  *units.Mass // posted or stated
	Note   string
}

// A Share of a field's crop.
type Share struct {
	Party    string
	Num, Den int64
}

// A Party owns grain or is paid.
type Party struct {
	ID, Name, Role string // roles: owner, family, driver, landlord, bookkeeper
}

// A Reading is one moisture figure of a field.
type Reading struct {
	ID       string
	Field    string
	At       time.Time
	Moisture trade.Percent
	Device   string // "meter", "bite", "combine", "ticket"
	Name     string // which meter, whose bite
	Spots    int    // spots sampled into the figure; 0: one
	Zone     string // "whole", "low", "knob", "load" (a sample of what was cut); empty: whole
	Load     string // of a reading of a load: its ticket, or any name readings of the same load share; empty: none
	By       string
	Note     string
}

// A Sighting is a stage seen in a field.
type Sighting struct {
	ID    string
	Field string
	On    calendar.Day
	Stage string // "R5", "R6", "R7", "R8", "dent", "black-layer", "ripe", "brown" (pods), "green" (still)
	Pct   *float64
	Zone  string // "whole", "low", "knob"; empty: whole
	By    string
	Note  string
}

// A GroundNote says what the ground of a field did under a machine.
type GroundNote struct {
	ID    string
	Field string
	On    calendar.Day
	Found string // "carried" or "too soft"
	By    string
	Note  string
}

// Name tells the note from others: its ID, or where it has none what it says.
func (n GroundNote) Name() string {
	if n.ID != "" {
		return n.ID
	}
	return n.Found + " on " + n.On.String() + " in " + n.Field
}

// An Anchor is a locally known maturity date from which other soybean fields are dated.
type Anchor struct {
	Crop             crop.Kind
	RelativeMaturity float64
	Planted          calendar.Day
	Mature           calendar.Day
	Note             string
}

// A Head of a combine for some crops.
type Head struct {
	Crops    []crop.Kind
	Name     string
	Width    units.Length // working width
	Speed    units.Speed  // fastest in a good stand
	Ceiling  *float64     // bu/h the machine can thresh; nil: default of its class, assumed
	Transfer *time.Duration
}

// A Combine cuts.
type Combine struct {
	ID         string
	Name       string
	Heads      []Head
	Efficiency *float64 // field efficiency 0 to 1; nil: default, assumed
	TankBu     float64
	UnloadBuS  float64
	Width      *units.Length // on the road, head off
	Height     *units.Length
	Weight     *units.Mass
	OutUntil   *calendar.Day // not available before this day
	ServiceDue string        // what must be done before the first field
	StartsIn   string        // field ID where it stands
	Tracks     bool
}

// A Cart carries from combine to truck.
type Cart struct {
	ID, Name  string
	Bu        float64
	UnloadBuS float64
}

// A Truck hauls. Count trucks of one kind share a record.
type Truck struct {
	ID, Name  string
	Count     int
	Gross     *units.Mass // the owner's limit
	Tare      *units.Mass
	PerMile   *trade.Price
	PerHour   *trade.Price
	LoadedMPH *float64
	EmptyMPH  *float64
	Width     *units.Length
	Height    *units.Length
}

// An Outlet is any place a load can go, except an own bin.
type Outlet struct {
	ID        string
	Name      string
	At        *Point
	Miles     *float64 // road miles from the middle of the farm
	Open      map[time.Weekday][2]calendar.Clock
	Closed    []calendar.Day
	Schedules map[crop.Kind]string // file of the posted schedule, relative to the season file
	BuPerHour *float64             // what its pits take in an hour
	BuPerDay  *float64
	QueueMin  *float64 // usual wait, minutes
	ScaleMin  *float64
	DumpMin   *float64
	TicketMin *float64
	Note      string // told to the driver
	Phone     string
}

// A Bid is a price an outlet pays for delivery in a window.
type Bid struct {
	ID      string
	Outlet  string
	Crop    crop.Kind
	Cash    *trade.Price // or Futures and Basis
	Futures *trade.Price
	Basis   *trade.Price
	Month   string // futures month, "Nov 2031"
	From    *calendar.Day
	Until   *calendar.Day // last day of delivery; nil: no end known
	Taken   time.Time     // when the bid was heard
}

// A Premium is paid on top of a bid inside a window.
type Premium struct {
	ID          string
	Outlet      string
	Crop        crop.Kind
	Amount      trade.Price
	From        *calendar.Day
	Until       calendar.Day
	CapBu       *float64
	MaxMoisture *trade.Percent
	Counts      string // "arrival", "gross", "tare": the event that must fall inside; empty: gross
}

// A Contract is grain already promised.
type Contract struct {
	ID        string
	Outlet    string
	Crop      crop.Kind
	Party     string
	Kind      string // "cash", "basis", "hta", ...
	Bu        trade.Bushels
	AppliedBu trade.Bushels
	Price     *trade.Price // complete price, when it has one
	Futures   *trade.Price
	Basis     *trade.Price
	From      *calendar.Day
	Until     calendar.Day
	ShortUSD  *trade.Price // $/bu owed for what is not delivered

	Class        string        // of wheat; empty: any
	Written      *calendar.Day // when it was made
	PriceBy      *calendar.Day // last day on which what is open can be fixed
	Month        string        // futures month as written, "Dec 2031"
	FeeUSD       *trade.Price  // $/bu taken off the price, as for writing
	TolerancePct *trade.Percent
	ToleranceBu  *trade.Bushels // over or under, within which it closes as delivered
	ShortNets    bool           // a market under the contract's price pays the seller on what is short
	BoughtOut    *calendar.Day  // when what was short was bought out
	Rolls        []Roll
}

// A Roll moved a contract to a later futures month.
type Roll struct {
	On        calendar.Day
	To        string       // futures month
	SpreadUSD trade.Price  // $/bu, the new month less the old
	FeeUSD    *trade.Price // $/bu; nil: none
}

// Left returns the bushels that are still to be delivered; none of a contract that was bought out.
func (c *Contract) Left() trade.Bushels {
	if c.BoughtOut != nil {
		return 0
	}
	return max(0, c.Bu-c.AppliedBu)
}

// Open reports whether part of the price is not fixed, as far as the season tells.
func (c *Contract) Open() bool { return c.Price == nil && (c.Futures == nil || c.Basis == nil) }

// An OutlookDay is one line of the farm's own forecast.
type OutlookDay struct {
	On        calendar.Day
	High, Low units.Temperature
	RainPct   *float64 // chance of 0.01 in or more, percent
	Amount    string   // "trace", "light", "medium", "heavy"
	When      string   // "night", "morning", "afternoon", "evening", "any"
	Dew       string   // "none", "light", "heavy"
	Wind      string   // "calm", "light", "breezy", "windy"
	Sky       string   // "clear", "part", "cloudy"
	Entered   *time.Time
}
