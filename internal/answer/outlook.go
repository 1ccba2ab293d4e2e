package answer

import (
	"math"
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
	Readings []Reading     `json:"readings"`
	Maturity []string      `json:"maturity"`
	Weather  string        `json:"weather"`
	Outlook  string        `json:"outlook_entered,omitempty"`
	Observed string        `json:"observed_until,omitempty"`
	Stale    []string      `json:"stale"`
	Assumed  []Assumed     `json:"assumed"`
}

// An OutlookHour is one hour of it, over all weathers.
type OutlookHour struct {
	Time      string            `json:"time"`
	MeanPct   Figure            `json:"mean_pct"`
	P10Pct    Figure            `json:"p10_pct"`
	P25Pct    Figure            `json:"p25_pct"`
	P50Pct    Figure            `json:"p50_pct"`
	P75Pct    Figure            `json:"p75_pct"`
	P90Pct    Figure            `json:"p90_pct"`
	ShareOver map[string]Figure `json:"share_over"`
	Workable  Figure            `json:"odds_workable"`
}

// An OutlookDay says when a field opens and closes on a day.
type OutlookDay struct {
	Day       string `json:"day"`
	OddsFit   Figure `json:"odds_fit"`
	Opens     string `json:"opens,omitempty"`
	OpensP10  string `json:"opens_p10,omitempty"`
	OpensP90  string `json:"opens_p90,omitempty"`
	Closes    string `json:"closes,omitempty"`
	ClosesP10 string `json:"closes_p10,omitempty"`
	ClosesP90 string `json:"closes_p90,omitempty"`
}

// OfOutlook returns the document of a field's outlook.
func OfOutlook(o *app.FieldOutlook) Outlook {
	in := o.AsOf.Location()
	at := func(h calendar.Hour) string { return h.Start().In(in).Format(time.RFC3339) }
	out := Outlook{
		Field: o.Field.ID, Crop: o.Field.Crop.String(), AsOf: Stamp(o.AsOf), Members: o.Members, LimitPct: Figure(o.LimitPct),
		Hours: []OutlookHour{}, Days: []OutlookDay{}, Readings: []Reading{}, Maturity: List(o.Maturity), Weather: o.Weather.Ensemble,
		Stale: List(o.Stale), Assumed: []Assumed{},
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
			P90Pct: Figure(h.P90), ShareOver: map[string]Figure{}, Workable: Figure(h.Workable),
		}
		for k, share := range h.Over {
			one.ShareOver[strconv.FormatFloat(o.Limits[k], 'f', -1, 64)] = Figure(share)
		}
		out.Hours = append(out.Hours, one)
	}
	for _, d := range o.Outlook.Days {
		one := OutlookDay{Day: d.Day.String(), OddsFit: Figure(math.Min(math.Max(d.OddsFit, 0.5/float64(o.Members)), 1-0.5/float64(o.Members)))}
		if d.Fit {
			one.Opens, one.OpensP10, one.OpensP90 = at(d.Opens), at(d.OpensP10), at(d.OpensP90)
			one.Closes, one.ClosesP10, one.ClosesP90 = at(d.Closes), at(d.CloseP10), at(d.CloseP90)
		}
		out.Days = append(out.Days, one)
	}
	for _, r := range o.Readings {
		out.Readings = append(out.Readings, Reading{r.What, r.Used, Figure(r.Before), Figure(r.After), Figure(r.Weight), r.Doubted, r.Note})
	}
	for _, a := range o.Assumed {
		out.Assumed = append(out.Assumed, Assumed(a))
	}
	return out
}
