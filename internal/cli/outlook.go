package cli

import (
	"fmt"
	"strconv"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/crop"
	"threshday/internal/core/units"
)

type outlookCmd struct {
	Season  string `arg:"" optional:"" help:"Your season file; with --demo the field."`
	Field   string `arg:"" optional:"" help:"Field, by its id or name."`
	Demo    bool   `help:"Use the built-in, invented farm."`
	Hours   int    `help:"Hours to show; left out: ten days, or with --single all of the file." placeholder:"48"`
	Plot    string `help:"Draw it into a new file, a name that ends in .svg or .png." placeholder:"creek-80.svg"`
	Picture bool   `help:"Draw it in letters as well."`
	planFlags

	Single     bool          `help:"Run one stratum on one given weather, with no readings: the plain physics, for checking."`
	Crop       crop.Kind     `help:"With --single: the crop."`
	Weather    filename      `help:"With --single: hourly weather, a CSV file." placeholder:"W.csv"`
	Moisture   *percent      `help:"With --single: moisture at the beginning, wet basis."`
	At         string        `help:"With --single: the beginning, RFC 3339 with offset." placeholder:"2031-09-14T00:00:00-05:00"`
	WindHeight *units.Length `help:"With --single: height of the anemometer; left out: 10 m, and said so." placeholder:"10m"`
}

// Explain says what an outlook is.
func (outlookCmd) Explain() string {
	return "How wet a field is and will be: its mean at the scale hour by hour with the middle eight tenths over many weathers, the share of it and of its loads over a limit, " +
		"and per day when it opens and closes, the odds that it is fit, and the crop's and the ground's part in them. Readings are listed with what each moved and why, " +
		"devices with what they are taken to be off by, and beside all that where the outlook is weak.\n\n" +
		"With --single it runs the hourly equations alone on one weather file and prints every hour, for checking them."
}

// Answer returns the JSON form.
func (outlookCmd) Answer() any { return answer.Outlook{} }

// Examples are command lines that work as they stand.
func (outlookCmd) Examples() []string {
	return []string{"outlook --demo creek-80", "outlook --demo creek-80 --json"}
}

type singleJSON struct {
	Hours  []singleHourJSON `json:"hours"`
	Filled []string         `json:"filled"`
}

type singleHourJSON struct {
	Time     string `json:"time"`
	WBPct    figure `json:"moisture_wb_pct"`
	DBPct    figure `json:"moisture_db_pct"`
	FreeMM   figure `json:"free_water_mm"`
	SurfaceC figure `json:"surface_c"`
	EMCDBPct figure `json:"emc_db_pct"`
	PerHour  figure `json:"rate_per_hour"`
	Clear    bool   `json:"clear"`
	Humidity figure `json:"surface_rh"`
	FromRain bool   `json:"film_of_rain"`
}

// Run prints the outlook.
func (c outlookCmd) Run(s *session) error {
	if c.Single {
		return c.single(s)
	}
	season, field := c.Season, c.Field
	if c.Demo || c.Data != "" {
		season, field = "", c.Season
		if c.Field != "" {
			return &commandError{say: "both --demo and a season file are given", next: "Leave one out."}
		}
	}
	files, name, err := s.season(season, c.Demo, c.Data)
	if err != nil {
		return err
	}
	if field == "" {
		return &commandError{say: "no field is given", next: "Name one: threshday outlook season.toml creek-80."}
	}
	if c.Plot != "" {
		if _, err := canvasFor(c.Plot); err != nil {
			return err
		}
	}
	r, err := c.request(files, name)
	if err != nil {
		return err
	}
	r.Kept = c.kept(season)
	o, err := s.App.Outlook(s.ctx, app.OutlookRequest{PlanRequest: r, Field: field, Hours: c.Hours})
	if err != nil {
		return err
	}
	if c.Plot != "" {
		drawn, err := picture(o, c.Plot)
		if err != nil {
			return err
		}
		if err := s.Create(c.Plot, drawn); err != nil {
			return err
		}
	}
	if s.json {
		return s.print(answer.OfOutlook(o))
	}
	return s.printOutlook(o, c.Picture, c.Plot)
}

func (c outlookCmd) single(s *session) error {
	at, err := time.Parse(time.RFC3339, c.At)
	switch {
	case c.Weather == "" || c.Moisture == nil || c.Crop == crop.Unknown:
		return &commandError{say: "--single needs --crop, --weather, --moisture and --at", next: "As: outlook --single --crop soybean --weather W.csv --moisture 60% --at 2031-09-14T00:00:00-05:00."}
	case err != nil:
		return &commandError{say: "--at is " + strconv.Quote(c.At) + "; accepted: a time with offset, as 2031-09-14T00:00:00-05:00", next: "The offset says whose clock it is."}
	}
	files, name, err := s.App.Files(string(c.Weather))
	if err != nil {
		return err
	}
	r := app.SingleRequest{Crop: c.Crop, Files: files, Weather: name, MoistureWB: float64(*c.Moisture), At: at, Hours: c.Hours, Zone: at.Location()}
	if c.WindHeight != nil {
		h := c.WindHeight.Meters()
		r.WindHeight = &h
	}
	one, err := s.App.Single(r)
	if err != nil {
		return err
	}
	out := singleJSON{Hours: []singleHourJSON{}, Filled: []string{}}
	for _, f := range one.Filled {
		out.Filled = append(out.Filled, f.Var.String()+": "+f.Say)
	}
	for _, h := range one.Hours {
		out.Hours = append(out.Hours, singleHourJSON{
			Time: h.Hour.End().In(at.Location()).Format(time.RFC3339), WBPct: figure(h.WB), DBPct: figure(h.DB), FreeMM: figure(h.Film.MM), SurfaceC: figure(h.SurfaceC),
			EMCDBPct: figure(h.EMCDB), PerHour: figure(h.RatePerHour), Clear: h.Clear, Humidity: figure(h.Humidity), FromRain: h.Film.Rain,
		})
	}
	if s.json {
		return s.print(out)
	}
	p := s.printer()
	p.line(p.bold("hour ends                   % wet   % dry  free mm  surface °C  equilibrium % dry"))
	for _, h := range out.Hours {
		p.line(fmt.Sprintf("%-25s %7.2f %7.2f %8.2f %11.1f %18.1f", h.Time, h.WBPct, h.DBPct, h.FreeMM, h.SurfaceC, h.EMCDBPct))
	}
	p.line("")
	p.section("Filled", out.Filled)
	return p.Flush()
}
