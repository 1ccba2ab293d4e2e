package cli

import (
	"time"

	"threshday/internal/app"
)

type weatherRecordsCmd struct {
	Forget string `placeholder:"station.csv" help:"Take the file of that name out; imported again it is back."`
	bookFlags
}

// Explain says what is listed.
func (weatherRecordsCmd) Explain() string {
	return "Lists the files of recorded weather in the data file, in the order of their import: where two overlap, the later one counts. Plans take them over the record that the season file names."
}

type weatherRecordsJSON struct {
	Records   []weatherRecordJSON `json:"records"`
	Forecasts int                 `json:"forecasts"` // archived
	Forgotten string              `json:"forgotten,omitempty"`
}

type weatherRecordJSON struct {
	Name     string `json:"name"`
	First    string `json:"first"`
	End      string `json:"end"`
	Imported string `json:"imported"`
	Station  string `json:"station,omitempty"`
}

// Answer returns the JSON form.
func (weatherRecordsCmd) Answer() any { return weatherRecordsJSON{} }

// Run lists the files.
func (c weatherRecordsCmd) Run(s *session) error {
	if c.Forget != "" {
		if err := s.App.ForgetWeather(s.ctx, c.data(), c.Forget); err != nil {
			return err
		}
	}
	files, forecasts, err := s.App.WeatherInData(s.ctx, c.data())
	if err != nil {
		return err
	}
	zone, err := s.App.SeasonZone(s.ctx, app.PlanRequest{Book: c.data()})
	if err != nil {
		return err
	}
	doc := weatherRecordsJSON{Records: []weatherRecordJSON{}, Forecasts: forecasts, Forgotten: c.Forget}
	for _, f := range files {
		doc.Records = append(doc.Records, weatherRecordJSON{f.Name, stamp(f.First.In(zone)), stamp(f.End.In(zone)), stamp(f.Imported.In(zone)), f.Station})
	}
	if s.json {
		return s.print(doc)
	}
	p := s.printer()
	if c.Forget != "" {
		p.hung("", p.bold("Taken out: ")+c.Forget)
	}
	for _, f := range files {
		station := ""
		if f.Station != "" {
			station = ", " + f.Station
		}
		p.hung("", p.bold(f.Name)+": "+f.First.In(zone).Format(time.DateOnly)+" to "+f.End.In(zone).Format(time.DateOnly)+station+"; imported "+f.Imported.In(zone).Format(momentLayout))
	}
	if len(files) == 0 {
		p.line("No recorded weather is in the data file. threshday weather import puts some in.")
	}
	p.section("Archive", []string{plural(int64(forecasts), "forecast")})
	return p.Flush()
}
