package cli

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/units"
)

type outlookCmd struct {
	Season string `arg:"" optional:"" help:"Your season file; with --demo the field."`
	Field  string `arg:"" optional:"" help:"Field, by its id or name."`
	Demo   bool   `help:"Use the built-in, invented farm."`
	Hours  int    `help:"Hours to show; left out: ten days, or with --single all of the file." placeholder:"48"`
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
	return "How wet a field is and will be: its mean at the scale hour by hour with the middle eight tenths over many weathers, the share of it over your limit, " +
		"and per day when it opens and closes and the odds that it is fit. Readings are listed with what each moved.\n\n" +
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
	r, err := c.request(files, name)
	if err != nil {
		return err
	}
	o, err := s.App.Outlook(s.ctx, app.OutlookRequest{PlanRequest: r, Field: field, Hours: c.Hours})
	if err != nil {
		return err
	}
	if s.json {
		return s.print(answer.OfOutlook(o))
	}
	return s.printOutlook(o)
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

// printOutlook shows a row per day: the band at three in the afternoon, the odds, opening and closing, and the band drawn.
func (s *session) printOutlook(o *app.FieldOutlook) error {
	p := s.printer()
	in := o.AsOf.Location()
	now := o.Outlook.Hours[0]
	p.line(p.bold(fmt.Sprintf("%s (%s): %.1f %% now, 8 in 10 between %.1f and %.1f", o.Field.Name, o.Field.Crop, now.MeanWB, now.P10, now.P90)))
	p.line(fmt.Sprintf("as of %s; your limit is %s %%; %.0f %% of the crop is over it now", o.AsOf.Format("Mon 2 Jan 2006 15:04"), short(o.LimitPct, 2), 100*now.Over[0]))
	for _, old := range o.Stale {
		p.wrapped("", "! "+old)
	}
	p.line("")
	low, high := rangeOf(o.Outlook.Hours)
	p.line(p.bold(fmt.Sprintf("%-11s %-17s %-5s %-13s  %s", "at 15:00", "mean (8 in 10), %", "odds", "opens-closes", scaleLine(low, high, o.LimitPct))))
	for _, d := range o.Outlook.Days {
		h, ok := afternoonOf(o.Outlook.Hours, d.Day, in)
		if !ok {
			continue
		}
		window := "-"
		if d.Fit && d.OddsFit >= 0.1 {
			window = d.Opens.Start().In(in).Format("15:04") + "-" + d.Closes.Start().In(in).Format("15:04")
		}
		odds := math.Min(math.Max(100*d.OddsFit, 0.5), 99.5)
		p.line(fmt.Sprintf("%-11s %4.1f (%4.1f-%4.1f)  %4.0f  %-13s  %s", d.Day.Weekday().String()[:3]+" "+d.Day.String()[5:], h.MeanWB, h.P10, h.P90, odds, window, drawn(h, low, high, o.LimitPct)))
	}
	p.wrapped("", "Odds in a hundred of at least two hours that day in which it is dry outside and under your limit. Drawn: 8 in 10 (-), half (=), median (o), your limit (|).")
	p.line("")
	var readings []string
	for _, r := range o.Readings {
		readings = append(readings, readingWords(r.ReadingEffect))
	}
	p.section("Readings", readings)
	p.section("Maturity", o.Maturity)
	p.section("Weather", []string{o.Weather.Ensemble + "."})
	var assumed []string
	for _, a := range o.Assumed {
		assumed = append(assumed, fmt.Sprintf("%s: %s (%s)", a.What, a.Value, a.From))
	}
	p.section("Assumed", assumed)
	return p.Flush()
}

const pictureWidth = 40

func rangeOf(hours []drydown.OutlookHour) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, h := range hours {
		low, high = min(low, h.P10), max(high, h.P90)
	}
	return math.Floor(low), math.Ceil(high)
}

func afternoonOf(hours []drydown.OutlookHour, day calendar.Day, in *time.Location) (drydown.OutlookHour, bool) {
	for _, h := range hours {
		if at := h.Hour.Start().In(in); at.Hour() == 15 && calendar.DayOf(at, in) == day {
			return h, true
		}
	}
	return drydown.OutlookHour{}, false
}

func place(x, low, high float64) int {
	return int(math.Round((min(max(x, low), high) - low) / max(high-low, 1) * (pictureWidth - 1)))
}

func scaleLine(low, high, limit float64) string {
	line := []rune(strings.Repeat(" ", pictureWidth))
	copy(line, []rune(short(low, 0)))
	end := []rune(short(high, 0) + " %")
	copy(line[pictureWidth-len(end):], end)
	if at := place(limit, low, high); limit >= low && limit <= high && at > 3 && at < pictureWidth-5 {
		copy(line[at:], []rune(short(limit, 1)))
	}
	return string(line)
}

// drawn pictures one hour's band on a line.
func drawn(h drydown.OutlookHour, low, high, limit float64) string {
	line := []rune(strings.Repeat(" ", pictureWidth))
	for i := place(h.P10, low, high); i <= place(h.P90, low, high); i++ {
		line[i] = '-'
	}
	for i := place(h.P25, low, high); i <= place(h.P75, low, high); i++ {
		line[i] = '='
	}
	if limit >= low && limit <= high {
		line[place(limit, low, high)] = '|'
	}
	line[place(h.P50, low, high)] = 'o'
	return strings.TrimRight(string(line), " ")
}
