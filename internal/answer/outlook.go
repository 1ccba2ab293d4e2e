package answer

import (
	"strconv"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/calendar"
)

// An Outlook is the moisture of one field to come.
type Outlook struct {
	Field    string        `json:"field"`
	Crop     string        `json:"crop"`
	AsOf     string        `json:"as_of"`
	Members  int           `json:"members"`
	LimitPct Figure        `json:"limit_pct"`
	Hours    []OutlookHour `json:"hours"`
	Days     []OutlookDay  `json:"days"`
	Readings []Evidence    `json:"readings"`
	Devices  []Device      `json:"devices"`
	Ground   Ground        `json:"ground"`
	Maturity []string      `json:"maturity"`
	Weather  string        `json:"weather"`
	Ahead    []Forecast    `json:"forecasts"`
	Outlook  string        `json:"outlook_entered,omitempty"`
	Observed string        `json:"observed_until,omitempty"`
	Stale    []string      `json:"stale"`
	Assumed  []Assumed     `json:"assumed"`
	Cautions []Caution     `json:"cautions"`
	Sample   *Sample       `json:"next_reading"`
}

// An OutlookHour is one hour of it, over all weathers. Keys of maps are limits, percent wet basis.
type OutlookHour struct {
	Time      string            `json:"time"`
	MeanPct   Figure            `json:"mean_pct"`
	P10Pct    Figure            `json:"p10_pct"`
	P25Pct    Figure            `json:"p25_pct"`
	P50Pct    Figure            `json:"p50_pct"`
	P75Pct    Figure            `json:"p75_pct"`
	P90Pct    Figure            `json:"p90_pct"`
	ShareOver map[string]Figure `json:"share_over"`
	LoadP10   Figure            `json:"load_p10_pct"`
	LoadP90   Figure            `json:"load_p90_pct"`
	LoadsOver map[string]Figure `json:"loads_over"`
	Clear     Figure            `json:"odds_dry_outside"`
	Soft      Figure            `json:"odds_ground_soft"`
	Workable  Figure            `json:"odds_workable"`
}

// An OutlookDay says when a field opens and closes on a day, and what keeps it closed.
type OutlookDay struct {
	Day        string            `json:"day"`
	OddsFit    Figure            `json:"odds_fit"`
	OddsCrop   Figure            `json:"odds_crop_fit"`
	OddsGround Figure            `json:"odds_ground_bears"`
	OddsUnder  map[string]Figure `json:"odds_under"`
	Hours      Figure            `json:"workable_h"`
	Opens      string            `json:"opens,omitempty"`
	OpensP10   string            `json:"opens_p10,omitempty"`
	OpensP90   string            `json:"opens_p90,omitempty"`
	Closes     string            `json:"closes,omitempty"`
	ClosesP10  string            `json:"closes_p10,omitempty"`
	ClosesP90  string            `json:"closes_p90,omitempty"`
}

// An Evidence is one reading or sighting with what it moved and why.
type Evidence struct {
	Reading
	At          string  `json:"at"`
	SaidPct     *Figure `json:"said_pct"`
	ExpectedPct *Figure `json:"expected_pct"`
	BeforeSDPct Figure  `json:"before_sd_pct"`
	AfterSDPct  Figure  `json:"after_sd_pct"`
	Why         string  `json:"why,omitempty"`
}

// A Device is what is believed of one meter, sensor or person on the field's crop: it reads that much more than the truth, and
// one reading is that good besides.
type Device struct {
	Device    string `json:"device"`
	Name      string `json:"name,omitempty"`
	Crop      string `json:"crop"`
	Readings  int    `json:"readings"`
	BiasPct   Figure `json:"bias_pct"`
	BiasSDPct Figure `json:"bias_sd_pct"`
	SDPct     Figure `json:"sd_pct"`
	UsualPct  Figure `json:"usual_sd_pct"`
	Say       string `json:"say"`
}

// A Ground is how the ground of a field stands, percent of field capacity.
type Ground struct {
	WetnessPct Figure   `json:"wetness_pct"`
	BearsPct   Figure   `json:"bears_pct"`
	BearsSDPct Figure   `json:"bears_sd_pct"`
	Say        string   `json:"say"`
	Notes      []string `json:"notes"`
}

// A Caution says where an answer is weak or the work can hurt; the source is a key of the table of sources.
type Caution struct {
	Where  string `json:"where"`
	Say    string `json:"say"`
	Source string `json:"source,omitempty"`
}

// A Sample says where to read a field next and what that is worth today. Spots is 0 where no look changes what to do.
type Sample struct {
	Device  string       `json:"device"`
	Name    string       `json:"name,omitempty"`
	Zone    string       `json:"zone"`
	Spots   int          `json:"spots"`
	USD     Figure       `json:"usd"`
	SEUSD   Figure       `json:"se_usd"`
	KnowUSD Figure       `json:"exactly_known_usd"`
	MostUSD Figure       `json:"at_most_usd"`
	SDPct   Figure       `json:"sd_pct"`
	LeftPct Figure       `json:"sd_after_pct"`
	Steps   []SampleStep `json:"steps"`
	Say     string       `json:"say"`
}

// A SampleStep is a look at so many spots.
type SampleStep struct {
	Spots   int    `json:"spots"`
	USD     Figure `json:"usd"`
	SEUSD   Figure `json:"se_usd"`
	LeftPct Figure `json:"sd_after_pct"`
}

// OfSample returns the document of an advice; null where there is none.
func OfSample(a *app.SampleAdvice) *Sample {
	if a == nil {
		return nil
	}
	out := &Sample{
		Device: a.Device, Name: a.Name, Zone: a.Zone, Spots: a.Spots, USD: Figure(a.USD), SEUSD: Figure(a.SEUSD), KnowUSD: Figure(a.KnowUSD), MostUSD: Figure(a.MostUSD),
		SDPct: Figure(a.SDPct), LeftPct: Figure(a.LeftPct), Steps: []SampleStep{}, Say: a.Say,
	}
	for _, s := range a.Steps {
		out.Steps = append(out.Steps, SampleStep{s.Spots, Figure(s.USD), Figure(s.SEUSD), Figure(s.LeftPct)})
	}
	return out
}

// OfOutlook returns the document of a field's outlook.
func OfOutlook(o *app.FieldOutlook) Outlook {
	in := o.AsOf.Location()
	at := func(h calendar.Hour) string { return h.Start().In(in).Format(time.RFC3339) }
	out := Outlook{
		Field: o.Field.ID, Crop: o.Field.Crop.String(), AsOf: Stamp(o.AsOf), Members: o.Members, LimitPct: Figure(o.LimitPct),
		Hours: []OutlookHour{}, Days: []OutlookDay{}, Readings: []Evidence{}, Devices: []Device{}, Maturity: List(o.Maturity), Weather: o.Weather.Ensemble, Ahead: OfForecasts(o.Weather.Sources, o.AsOf),
		Stale: List(o.Stale), Assumed: []Assumed{}, Cautions: []Caution{}, Sample: OfSample(o.Sample),
		Ground: Ground{Figure(o.Ground.WetnessPct), Figure(o.Ground.BearsPct), Figure(o.Ground.BearsSDPct), o.Ground.Say, List(o.Ground.Notes)},
	}
	if o.Weather.Outlook != nil {
		out.Outlook = Stamp(o.Weather.Outlook.In(in))
	}
	if o.Weather.Observed != nil {
		out.Observed = Stamp(o.Weather.Observed.In(in))
	}
	for _, h := range o.Outlook.Hours {
		one := OutlookHour{
			Time: Stamp(h.Hour.End().In(in)), MeanPct: Figure(h.MeanWB), P10Pct: Figure(h.P10), P25Pct: Figure(h.P25), P50Pct: Figure(h.P50), P75Pct: Figure(h.P75),
			P90Pct: Figure(h.P90), ShareOver: byLimit(o.Limits, h.Over), LoadP10: Figure(h.LoadP10), LoadP90: Figure(h.LoadP90), LoadsOver: byLimit(o.Limits, h.LoadsOver),
			Clear: Figure(h.Clear), Soft: Figure(h.Closed), Workable: Figure(h.Workable),
		}
		out.Hours = append(out.Hours, one)
	}
	for _, d := range o.Outlook.Days {
		one := OutlookDay{
			Day: d.Day.String(), OddsFit: oddsOf(d.OddsFit, o.Members), OddsCrop: oddsOf(d.OddsCrop, o.Members), OddsGround: oddsOf(d.OddsGround, o.Members),
			OddsUnder: map[string]Figure{}, Hours: Figure(d.Hours),
		}
		for k, odds := range d.OddsUnder {
			one.OddsUnder[limitKey(o.Limits[k])] = oddsOf(odds, o.Members)
		}
		if d.Fit {
			one.Opens, one.OpensP10, one.OpensP90 = at(d.Opens), at(d.OpensP10), at(d.OpensP90)
			one.Closes, one.ClosesP10, one.ClosesP90 = at(d.Closes), at(d.CloseP10), at(d.CloseP90)
		}
		out.Days = append(out.Days, one)
	}
	for _, r := range o.Readings {
		one := Evidence{Reading: OfReading(r.ReadingEffect), At: Stamp(r.At), SaidPct: Known(r.SaidPct), BeforeSDPct: Figure(r.BeforeSDPct), AfterSDPct: Figure(r.AfterSDPct), Why: r.Why}
		if r.ExpectedPct != nil {
			one.ExpectedPct = Known(*r.ExpectedPct)
		}
		out.Readings = append(out.Readings, one)
	}
	for _, d := range o.Devices {
		out.Devices = append(out.Devices, Device{
			d.Device.String(), d.Name, d.Crop.String(), d.Readings, Figure(d.BiasWB), Figure(d.BiasSDWB), Figure(d.SDWB), Figure(d.UsualWB), d.Say,
		})
	}
	for _, a := range o.Assumed {
		out.Assumed = append(out.Assumed, Assumed(a))
	}
	for _, c := range o.Cautions {
		out.Cautions = append(out.Cautions, Caution(c))
	}
	return out
}

// oddsOf keeps what happened in no or in all of the members from being called impossible or sure.
func oddsOf(share float64, members int) Figure {
	edge := 0.5 / float64(members)
	return Figure(min(max(share, edge), 1-edge))
}

func limitKey(pct float64) string { return strconv.FormatFloat(pct, 'f', -1, 64) }

func byLimit(limits, shares []float64) map[string]Figure {
	out := map[string]Figure{}
	for k, share := range shares {
		out[limitKey(limits[k])] = Figure(share)
	}
	return out
}
