package cli

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
)

type weatherCmd struct {
	Fetch  weatherFetchCmd  `cmd:"" help:"Ask the forecast services for the days ahead, and keep what they say."`
	Import weatherImportCmd `cmd:"" help:"Put a station's record, or a forecast you were sent, into the data file."`
	Show   weatherShowCmd   `cmd:"" help:"Show the days ahead: who says what, how old it is, and how sure."`
	Enter  weatherEnterCmd  `cmd:"" help:"Enter days of your own forecast in words."`
	Score  weatherScoreCmd  `cmd:"" help:"Hold what was forecast against what came."`

	Records weatherRecordsCmd `cmd:"" help:"List the recorded weather in the data file, or take a file out."`
}

// Explain says how the weather of a plan comes about.
func (weatherCmd) Explain() string {
	return "A plan stands on many equally likely weathers. They are drawn from what your station recorded, around what services and you yourself say of the days ahead, " +
		"as far as such forecasts have deserved it. Everything works without a network: what was fetched before stays in use, and its age is always said.\n\n" +
		"Believed of each day, in this order: a service's forecast younger than 12 hours; what you entered after it was made; the service's older one; what you entered before."
}

// fromFlags say which farm is meant and where its forecasts are kept.
type fromFlags struct {
	Season string   `arg:"" optional:"" help:"Your season file; left out, the data file."`
	Data   dataname `env:"THRESHDAY_DATA" default:"farm.db" placeholder:"farm.db" help:"The data file of the farm, where no season file is named; also read from THRESHDAY_DATA."`
	Cache  string   `placeholder:"FOLDER" help:"Folder of the forecasts that are fetched; left out: forecasts, beside the season or data file."`
}

// request finds the season and the folder.
func (f *fromFlags) request(s *session) (app.PlanRequest, error) {
	if f.Season == "" {
		return app.PlanRequest{Book: string(f.Data), Kept: forecastFolder(f.Cache, string(f.Data))}, nil
	}
	if s.named("--data") {
		return app.PlanRequest{}, &commandError{say: "--data is given beside another season", next: "Leave one out."}
	}
	files, name, err := s.App.Files(f.Season)
	return app.PlanRequest{Files: files, Season: name, Kept: forecastFolder(f.Cache, f.Season)}, err
}

// forecastFolder returns the folder that is named, else the one beside a file.
func forecastFolder(named, beside string) string {
	if named != "" {
		return named
	}
	return filepath.Join(filepath.Dir(beside), "forecasts")
}

// named reports whether a flag stands on the command line.
func (s *session) named(flag string) bool {
	for _, g := range s.given {
		if g == flag {
			return true
		}
	}
	return false
}

type weatherFetchCmd struct {
	fromFlags
	Contact string `placeholder:"farm@example.com" help:"Where the service may reach you, a mail address or an https page; left out: contact under [farm.weather] of the season file."`
	Page    string `name:"service" placeholder:"https://api.weather.gov" help:"Another page that answers in the form of the national service; left out: that itself."`
}

// Explain says what is asked and what is sent.
func (weatherFetchCmd) Explain() string {
	return "Asks the US National Weather Service for the farm's place (lat and lon under [farm]), and the ensemble service under [farm.weather.ensemble] where you have one. " +
		"Sent are the place to four decimals, the program's name and your contact, which the service asks for; nothing else, and to nobody else. " +
		"Nobody is asked more often than every half hour. Whatever goes wrong, the forecast that was kept stays in use, and its age is said: that ends with exit code 3.\n\n" +
		"With a data file what each forecast says is archived there, for weather score."
}

type fetchJSON struct {
	Services []fetchedJSON      `json:"services"`
	Findings []answer.Complaint `json:"findings"`
}

type fetchedJSON struct {
	Service   string  `json:"service"`
	Result    string  `json:"result"`           // new, same, too-soon or trouble
	Issued    string  `json:"issued,omitempty"` // of the forecast that is kept now
	AgeHours  *figure `json:"age_hours,omitempty"`
	Cell      string  `json:"cell,omitempty"`
	Near      string  `json:"near,omitempty"`
	NextAfter string  `json:"next_after,omitempty"`
	Rule      string  `json:"rule,omitempty"`
	Say       string  `json:"say,omitempty"`
	Next      string  `json:"next,omitempty"`
}

// Answer returns the JSON form.
func (weatherFetchCmd) Answer() any { return fetchJSON{} }

// Run asks the services.
func (c weatherFetchCmd) Run(s *session) error {
	r, err := c.request(s)
	if err != nil {
		return err
	}
	s.busy.say("asking for the days ahead")
	report, err := s.App.FetchWeather(s.ctx, app.FetchRequest{
		Files: r.Files, Season: r.Season, Book: r.Book, Folder: r.Kept, Contact: strings.TrimSpace(c.Contact), Page: c.Page,
	})
	if err != nil {
		return err
	}
	doc := fetchJSON{Services: []fetchedJSON{}, Findings: []answer.Complaint{}}
	for _, f := range report.Services {
		doc.Services = append(doc.Services, fetchedAsJSON(f, report))
	}
	for _, f := range report.Findings {
		doc.Findings = append(doc.Findings, answer.OfFinding(f))
	}
	if s.json {
		err = s.print(doc)
	} else {
		err = s.printFetched(doc, report)
	}
	for _, f := range report.Services {
		if err == nil && f.Result == app.FetchTroubled {
			return f.Trouble
		}
	}
	return err
}

func fetchedAsJSON(f app.Fetched, report *app.FetchReport) fetchedJSON {
	one := fetchedJSON{Service: f.Service, Result: string(f.Result)}
	if f.Kept != nil {
		old := figure(report.Now.Sub(f.Kept.Issued).Hours())
		one.Issued, one.AgeHours, one.Cell, one.Near = stamp(f.Kept.Issued.In(report.Zone)), &old, f.Kept.Cell, f.Kept.Near
	}
	if !f.Next.IsZero() {
		one.NextAfter = stamp(f.Next.In(report.Zone))
	}
	if f.Trouble != nil {
		one.Rule, one.Say, one.Next = f.Trouble.Rule, f.Trouble.Say, f.Trouble.Next
	}
	return one
}

// printFetched says what came of asking. Trouble goes to standard error at the end.
func (s *session) printFetched(doc fetchJSON, report *app.FetchReport) error {
	p := s.printer()
	for _, f := range report.Services {
		lead := p.bold(capitalized(f.Service) + ": ")
		switch f.Result {
		case app.FetchedNew:
			p.hung("", lead+"a new forecast, "+madeWords(f.Kept, report)+".")
		case app.FetchedSame:
			p.hung("", lead+"nothing new; the forecast kept still stands, "+madeWords(f.Kept, report)+".")
		case app.FetchTooSoon:
			p.hung("", lead+"was asked a while ago and may be asked again after "+f.Next.In(report.Zone).Format("15:04")+"; kept is the forecast "+madeWords(f.Kept, report)+".")
		default:
			p.hung("", lead+"no new forecast.")
			if f.Kept != nil {
				p.hung("", "! In use stays the old one, "+madeWords(f.Kept, report)+".")
			} else {
				p.hung("", "! None is kept: plans stand on your own forecast and on other years.")
			}
		}
		if f.Kept != nil {
			p.section("Look at", lookAt(f.Kept.Findings))
		}
	}
	for _, f := range doc.Findings {
		p.section("Look at", []string{f.Say + " " + f.Next})
	}
	return p.Flush()
}

func madeWords(k *app.KeptForecast, report *app.FetchReport) string {
	text := "made " + k.Issued.In(report.Zone).Format(momentLayout) + ", " + ageWords(report.Now.Sub(k.Issued)) + " old"
	if k.Near != "" {
		text += ", near " + k.Near
	}
	return text
}

func ageWords(d time.Duration) string {
	switch d = max(0, d); {
	case d < time.Hour:
		return fmt.Sprintf("%.0f min", d.Minutes())
	case d < 48*time.Hour:
		return fmt.Sprintf("%.0f h", d.Hours())
	}
	return fmt.Sprintf("%.0f days", d.Hours()/24)
}

func capitalized(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
