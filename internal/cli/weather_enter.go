package cli

import (
	"regexp"
	"strings"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/farm"
)

type weatherEnterCmd struct {
	Words []string `arg:"" help:"The days, parted by semicolons, as: 'Thursday 82/61, 40 % light rain in the evening, heavy dew, breezy, cloudy; Friday 75/50, no rain'."`
	atFlags
	whoFlags
	bookFlags
}

// Explain says which words there are.
func (weatherEnterCmd) Explain() string {
	return "Enters days of your own forecast as you would say them. Each needs its day (a weekday, today, tomorrow or a date) and high/low; numbers of 60 and more are taken for °F, below that the unit must be said. " +
		"Rain: a chance with trace, light, medium or heavy, and in the night, morning, afternoon or evening. Dew: no, light or heavy. Wind: calm, light wind, breezy or windy. Sky: clear, part cloudy or cloudy. " +
		"What you leave out is filled as the season usually goes, and the answer says how. The same as add forecast, day by day, into the data file; for a season file write [[outlook]]."
}

type weatherEnterJSON struct {
	Days []enteredDayJSON `json:"days"`
}

type enteredDayJSON struct {
	Day     string          `json:"day"`
	HighC   figure          `json:"high_c"`
	LowC    figure          `json:"low_c"`
	RainPct *figure         `json:"rain_pct"`
	Entry   answer.Entered  `json:"entry"`
	Assumed []string        `json:"assumed"`
	day     farm.OutlookDay // as it was understood
}

// Answer returns the JSON form.
func (weatherEnterCmd) Answer() any { return weatherEnterJSON{} }

// unitSaid finds a temperature with its unit.
var unitSaid = regexp.MustCompile(`(?i)\d\s*°?\s*[fc]\b`)

// Run enters the days.
func (c weatherEnterCmd) Run(s *session) error {
	sign, err := c.signed(c.At != "", "--at")
	if err != nil {
		return err
	}
	clock, err := s.App.Clock(s.ctx, c.data())
	if err != nil {
		return err
	}
	made, err := c.when(clock)
	if err != nil {
		return err
	}
	text := strings.Join(c.Words, " ")
	days, err := s.App.OutlookWords(text, made.In(clock.Zone))
	if err != nil {
		return err
	}
	if sign.ID != "" && len(days) > 1 {
		return refuse("flag.together", "--id", "--id names one entry, and these are "+plural(int64(len(days)), "day")+".", "Enter them one by one.")
	}
	doc := weatherEnterJSON{Days: []enteredDayJSON{}}
	for _, d := range days {
		assumed, err := app.OutlookAssumed(d)
		if err != nil {
			return err
		}
		if !unitSaid.MatchString(text) {
			assumed = append([]string{"Temperatures are taken for °F, for nothing else could be meant."}, assumed...)
		}
		e, err := s.App.AddForecast(s.ctx, c.data(), d, nil, sign)
		if err != nil {
			return err
		}
		one := enteredDayJSON{Day: d.On.String(), HighC: figure(d.High.Celsius()), LowC: figure(d.Low.Celsius()), Entry: answer.OfEntered(e), Assumed: assumed, day: d}
		if d.RainPct != nil {
			x := figure(*d.RainPct)
			one.RainPct = &x
		}
		doc.Days = append(doc.Days, one)
	}
	if s.json {
		return s.print(doc)
	}
	p := s.printer()
	for _, d := range doc.Days {
		lead := "In the book: "
		if d.Entry.Status == "already" {
			lead = "Was in the book already: "
		}
		p.hung("", p.bold(lead)+d.day.On.Weekday().String()+", "+outlookSaid(d.day))
		p.section("Assumed", d.Assumed)
		p.section("Id", []string{d.Entry.ID})
	}
	p.section("Data", []string{c.data()})
	return p.Flush()
}

// outlookSaid says a day of the farm's own forecast whole.
func outlookSaid(d farm.OutlookDay) string {
	text := answer.ForecastSaid(d)
	if d.Amount != "" {
		text += " " + d.Amount
	}
	if d.When != "" {
		text += " in the " + d.When
	}
	if d.Dew != "" {
		text += ", " + strings.Replace(d.Dew, "none", "no", 1) + " dew"
	}
	if d.Wind != "" {
		text += ", wind " + d.Wind
	}
	if d.Sky != "" {
		text += ", sky " + d.Sky
	}
	return text
}
