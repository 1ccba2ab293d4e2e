package web

import (
	"threshday/internal/answer"
)

// snapshotDoc is what a device may keep; docs/reference/http.md describes it.
type snapshotDoc struct {
	Program   string             `json:"program"`
	Demo      bool               `json:"demo"`
	Data      string             `json:"data"`
	At        string             `json:"at"`
	Now       string             `json:"now"`
	Head      headDoc            `json:"head"`
	Epoch     int64              `json:"epoch"`
	ReadOnly  *answer.Complaint  `json:"read_only"`
	Farm      *farmDoc           `json:"farm"`
	Fields    []fieldDoc         `json:"fields"`
	Machines  []machineDoc       `json:"machines"`
	Outlets   []outletDoc        `json:"outlets"`
	Bins      []binDoc           `json:"bins"`
	Contracts []contractDoc      `json:"contracts"`
	Parties   []partyDoc         `json:"parties"`
	Readings  []readingDoc       `json:"readings"`
	Stages    []stageDoc         `json:"stages"`
	Bids      []bidDoc           `json:"bids"`
	Premiums  []premiumDoc       `json:"premiums"`
	Outlook   []outlookDayDoc    `json:"outlook"`
	Loads     loadsDoc           `json:"loads"`
	Plan      *planDoc           `json:"plan"`
	Changed   *changedDoc        `json:"changed"`
	Job       jobDoc             `json:"job"`
	Weather   weatherDoc         `json:"weather"`
	BidsAt    bidsAtDoc          `json:"bids_at"`
	Waiting   []waitDoc          `json:"waiting"`
	WaitMore  int                `json:"waiting_more"` // beyond those that are listed
	Findings  []answer.Complaint `json:"findings"`
}

type headDoc struct {
	Seq  int64  `json:"seq"`
	Hash string `json:"hash"`
}

type farmDoc struct {
	ID        string            `json:"id"`
	Name      string            `json:"name"`
	Place     string            `json:"place"`
	Zone      string            `json:"zone"`
	Year      int               `json:"year"`
	Lat       *float64          `json:"lat"`
	Lon       *float64          `json:"lon"`
	Limits    map[string]string `json:"limits_pct"`
	WorkFrom  string            `json:"work_from"`
	WorkUntil string            `json:"work_until"`
	DaysOff   []string          `json:"days_off"`
	SeasonEnd *string           `json:"season_end"`
	AsOf      *string           `json:"as_of"`
	Credit    string            `json:"weather_credit"`
	Contact   string            `json:"contact"`
}

type fieldDoc struct {
	ID               string             `json:"id"`
	Name             string             `json:"name"`
	Crop             string             `json:"crop"`
	Class            string             `json:"class"`
	Variety          string             `json:"variety"`
	Acres            float64            `json:"acres"`
	CutAcres         float64            `json:"cut_acres"`
	Limit            *string            `json:"limit_pct"`
	Yield            float64            `json:"yield_bu_per_acre"`
	YieldHow         string             `json:"yield_how"`
	Base             string             `json:"base_pct"`
	Planted          *string            `json:"planted"`
	RelativeMaturity *float64           `json:"relative_maturity"`
	Mature           *string            `json:"mature"`
	Evenness         string             `json:"evenness"`
	Miles            map[string]float64 `json:"miles"`
	Entrances        []entranceDoc      `json:"entrances"`
	Shares           []shareDoc         `json:"shares"`
}

type entranceDoc struct {
	Name   string   `json:"name"`
	Width  *float64 `json:"width_ft"`
	Height *float64 `json:"height_ft"`
	Limit  *float64 `json:"limit_lb"`
	Note   string   `json:"note"`
}

type shareDoc struct {
	Party string `json:"party"`
	Name  string `json:"name"`
	Role  string `json:"role"`
	Num   int64  `json:"num"`
	Den   int64  `json:"den"`
}

type machineDoc struct {
	ID         string    `json:"id"`
	Kind       string    `json:"kind"` // combine, cart or truck
	Name       string    `json:"name"`
	Count      int       `json:"count"`
	Heads      []headBar `json:"heads,omitempty"`
	Width      *float64  `json:"width_ft"`
	Height     *float64  `json:"height_ft"`
	Weight     *float64  `json:"weight_lb,omitempty"`
	Gross      *float64  `json:"gross_lb,omitempty"`
	Tare       *float64  `json:"tare_lb,omitempty"`
	Holds      *float64  `json:"holds_bu,omitempty"`
	OutUntil   *string   `json:"out_until,omitempty"`
	ServiceDue string    `json:"service_due,omitempty"`
}

// headBar is the head of a combine.
type headBar struct {
	Name  string   `json:"name"`
	Crops []string `json:"crops"`
	Width float64  `json:"width_ft"`
}

type outletDoc struct {
	ID        string        `json:"id"`
	Name      string        `json:"name"`
	Miles     *float64      `json:"miles"`
	Phone     string        `json:"phone"`
	Note      string        `json:"note"`
	Open      []openDoc     `json:"open"`
	Closed    []string      `json:"closed"`
	Schedules []scheduleDoc `json:"schedules"`
}

type openDoc struct {
	Day   string `json:"day"`
	From  string `json:"from"`
	Until string `json:"until"`
}

type scheduleDoc struct {
	Crop     string            `json:"crop"`
	File     string            `json:"file"`
	Schedule any               `json:"schedule"`
	Words    []string          `json:"words"`
	Profile  []string          `json:"profile"`
	Curve    *curveDoc         `json:"curve"`
	Trouble  *answer.Complaint `json:"trouble"`
}

// curveDoc is what a gross unit nets by moisture at one price; a point is a reading and a price, or null where it is refused.
type curveDoc struct {
	Price  string       `json:"price_usd"`
	Points [][2]*string `json:"points"`
}

type binDoc struct {
	ID          string  `json:"id"`
	Name        string  `json:"name"`
	Crop        string  `json:"crop"`
	Holds       float64 `json:"holds_bu"`
	In          float64 `json:"in_bu"`
	MaxMoisture string  `json:"max_moisture_pct"`
	Dryer       string  `json:"dryer"`
}

type contractDoc struct {
	ID      string  `json:"id"`
	Outlet  string  `json:"outlet"`
	Crop    string  `json:"crop"`
	Kind    string  `json:"kind"`
	Bu      string  `json:"bu"`
	Applied string  `json:"applied_bu"`
	Price   *string `json:"price_usd"`
	Futures *string `json:"futures_usd"`
	Basis   *string `json:"basis_usd"`
	From    *string `json:"from"`
	Until   string  `json:"until"`
}

type partyDoc struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Role string `json:"role"`
}

// entryDoc is what every record that can be entered one by one has.
type entryDoc struct {
	ID      string   `json:"id"`
	Version string   `json:"version,omitempty"`
	Entered bool     `json:"entered"`
	Waits   []string `json:"waits"`
}

type readingDoc struct {
	entryDoc
	Field    string `json:"field"`
	At       string `json:"at"`
	Moisture string `json:"moisture_pct"`
	Device   string `json:"device"`
	Name     string `json:"name"`
	Spots    int    `json:"spots"`
	Zone     string `json:"zone"`
	By       string `json:"by"`
	Note     string `json:"note"`
}

type stageDoc struct {
	entryDoc
	Field  string   `json:"field"`
	On     string   `json:"on"`
	Stage  string   `json:"stage"`
	Plants *float64 `json:"plants_pct"`
	Zone   string   `json:"zone"`
	By     string   `json:"by"`
	Note   string   `json:"note"`
}

type bidDoc struct {
	entryDoc
	Outlet  string  `json:"outlet"`
	Crop    string  `json:"crop"`
	Cash    *string `json:"cash_usd"`
	Futures *string `json:"futures_usd"`
	Basis   *string `json:"basis_usd"`
	Price   *string `json:"price_usd"`
	Month   string  `json:"month"`
	From    *string `json:"from"`
	Until   *string `json:"until"`
	At      *string `json:"at"`
}

type premiumDoc struct {
	ID          string   `json:"id"`
	Outlet      string   `json:"outlet"`
	Crop        string   `json:"crop"`
	Amount      string   `json:"amount_usd"`
	From        *string  `json:"from"`
	Until       string   `json:"until"`
	Cap         *float64 `json:"cap_bu"`
	MaxMoisture *string  `json:"max_moisture_pct"`
}

type outlookDayDoc struct {
	On     string   `json:"on"`
	High   float64  `json:"high_f"`
	Low    float64  `json:"low_f"`
	Rain   *float64 `json:"rain_pct"`
	Amount string   `json:"amount"`
	When   string   `json:"when"`
	Dew    string   `json:"dew"`
	Wind   string   `json:"wind"`
	Sky    string   `json:"sky"`
	At     *string  `json:"at"`
}

type weatherDoc struct {
	RecordUntil *string  `json:"record_until"`
	OutlookAt   *string  `json:"outlook_at"`
	Words       []string `json:"words"`
}

type bidsAtDoc struct {
	Oldest *string `json:"oldest"`
	Newest *string `json:"newest"`
}

type waitDoc struct {
	answer.Wait
	Words []string `json:"words"`
	Say   string   `json:"say"`
}
