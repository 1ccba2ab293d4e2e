package cli

import (
	"fmt"

	"threshday/internal/app"
	"threshday/internal/core/units"
)

type weatherImportCmd struct {
	File       filename      `arg:"" help:"Hourly weather as plain CSV or ISD-Lite, packed with gzip or not; or a forecast in JSON as a service sends it."`
	Station    string        `placeholder:"rural" help:"Where the station stands, rural or airport: airports hide dew. Left out: as the season says."`
	Stamp      string        `placeholder:"start" help:"What the time of a row marks of its hour: start, middle or end. Left out: as the season says."`
	WindHeight *units.Length `placeholder:"10m" help:"Height of the wind mast. Left out: as the season says." low:"1" high:"50"`
	bookFlags
}

// Explain says what an import does.
func (weatherImportCmd) Explain() string {
	return "Puts a file of weather into the data file, whole or not at all; every row that cannot be used is named. A file imported again counts once, and what is said of its station this time counts. " +
		"Where files overlap, the later import counts. Plans, outlooks and scores then take it without the file.\n\n" +
		"Of two whole years of every month on, the odds stand on your own climate."
}

type weatherImportJSON struct {
	Name     string   `json:"name"`
	Kind     string   `json:"kind"`   // record or forecast
	Status   string   `json:"status"` // stored; already: was there before
	Data     string   `json:"data"`
	First    string   `json:"first,omitempty"`
	End      string   `json:"end,omitempty"`
	Hours    int      `json:"hours,omitempty"`
	Missing  int      `json:"missing_hours,omitempty"`
	Station  string   `json:"station,omitempty"`
	Filled   []string `json:"filled"`
	Climate  string   `json:"climate,omitempty"`
	Issued   string   `json:"issued,omitempty"`
	DaysSaid int      `json:"days,omitempty"`
}

// Answer returns the JSON form.
func (weatherImportCmd) Answer() any { return weatherImportJSON{} }

// Run imports the file.
func (c weatherImportCmd) Run(s *session) error {
	if err := firstOf(oneOfWords("--station", c.Station, "", "rural", "airport"), oneOfWords("--stamp", c.Stamp, "", "start", "middle", "end")); err != nil {
		return err
	}
	r := app.WeatherImport{Data: c.data(), File: string(c.File), Station: c.Station, Stamp: c.Stamp}
	if c.WindHeight != nil {
		h := c.WindHeight.Meters()
		r.WindHeight = &h
	}
	got, err := s.App.ImportWeather(s.ctx, r)
	if err != nil {
		return err
	}
	doc := weatherImportJSON{Name: got.Name, Kind: "record", Status: "stored", Data: got.Data, Hours: got.Hours, Missing: got.Missing, Station: got.Station, Filled: []string{}, Climate: got.Climate}
	if got.Again {
		doc.Status = "already"
	}
	for _, f := range got.Filled {
		doc.Filled = append(doc.Filled, f.Var.String()+": "+f.Say)
	}
	if got.Forecast != nil {
		doc.Kind, doc.Issued, doc.DaysSaid = "forecast", stamp(got.Forecast.Issued.In(got.Zone)), got.Days
	} else {
		doc.First, doc.End = stamp(got.First), stamp(got.End)
	}
	if s.json {
		return s.print(doc)
	}
	p := s.printer()
	switch {
	case got.Forecast != nil:
		p.hung("", p.bold("In the data file: ")+fmt.Sprintf("the forecast of the %s of %s, %s.", got.Forecast.Service, got.Forecast.Issued.In(got.Zone).Format(momentLayout), plural(int64(got.Days), "day")))
	case got.Again:
		p.hung("", p.bold("Was in the data file already: ")+got.Name+". What is said of its station now counts.")
	default:
		p.hung("", p.bold("In the data file: ")+got.Name)
	}
	if got.Forecast == nil {
		p.section("Hours", []string{fmt.Sprintf("%s from %s to %s, %s without a temperature", digits(float64(got.Hours), 0), got.First.Format(momentLayout), got.End.Format(momentLayout), digits(float64(got.Missing), 0))})
		p.section("Station", []string{sentence(got.Station)})
		p.section("Filled", doc.Filled)
		p.section("Climate", []string{sentence(got.Climate)})
	}
	p.section("Data", []string{got.Data})
	return p.Flush()
}
