package cli

import (
	"io/fs"

	"threshday/internal/answer"
	"threshday/internal/app"
)

// planFlags are shared by the commands that plan.
type planFlags struct {
	Now      string   `help:"Plan as of this time, RFC 3339 with offset; left out: the season's as_of, or now." placeholder:"2031-09-14T06:00:00-05:00"`
	Seed     uint64   `help:"Seed of every draw; the same seed and inputs give the same answer." default:"1"`
	Members  int      `help:"How many weathers to plan on." default:"100"`
	Data     dataname `help:"Take the season from a data file instead of a season file." placeholder:"farm.db"`
	Cache    string   `help:"Folder of fetched forecasts; left out: forecasts, beside the season or data file." placeholder:"FOLDER"`
	Observed filename `name:"as-of-weather" help:"Hourly weather up to now from another file."`
}

// request turns the flags into what the app asks for.
func (f *planFlags) request(files fs.FS, season string) (app.PlanRequest, error) {
	r := app.PlanRequest{Files: files, Season: season, Seed: f.Seed, Members: f.Members, Observed: string(f.Observed), Book: string(f.Data)}
	if f.Members < leastMembers || f.Members > mostMembers {
		return r, membersRange(f.Members)
	}
	var err error
	r.Now, err = parseNow(f.Now)
	return r, err
}

// kept returns the folder of forecasts beside the season file at path or the data file; none beside the demo.
func (f *planFlags) kept(path string) string {
	switch {
	case f.Data != "":
		return forecastFolder(f.Cache, string(f.Data))
	case path != "":
		return forecastFolder(f.Cache, path)
	}
	return f.Cache
}

// Fewer members than this say nothing of odds; more take memory and tell no more.
const (
	leastMembers = 10
	mostMembers  = 1000
)

type planCmd struct {
	Season string `arg:"" optional:"" help:"Your season file."`
	Demo   bool   `help:"Use the built-in, invented farm."`
	Anew   bool   `help:"With --data: do not keep to the orders of a plan that the screen made earlier the same day."`
	planFlags
}

// Explain says what the day sheet is.
func (planCmd) Explain() string {
	return "The day sheet is the morning's answer for all fields: how wet each is, whether to cut or wait and what waiting is worth in dollars, " +
		"the odds of being under the limit by each day, where the grain goes, the machines' orders, and what was assumed.\n\n" +
		"Dollars are modelled, over many weathers; a range and odds stand beside every figure that is not known."
}

// Answer returns the JSON form.
func (planCmd) Answer() any { return answer.Sheet{} }

// Examples are command lines that work as they stand.
func (planCmd) Examples() []string { return []string{"plan --demo", "plan --demo --json"} }

// Run makes the plan and prints it.
func (c planCmd) Run(s *session) error {
	files, name, err := s.season(c.Season, c.Demo, c.Data)
	if err != nil {
		return err
	}
	r, err := c.request(files, name)
	if err != nil {
		return err
	}
	r.Kept = c.kept(c.Season)
	if c.Data != "" && !c.Anew {
		if r.Earlier, err = s.earlier(string(c.Data)); err != nil {
			return err
		}
	}
	sheet, err := s.App.Plan(s.ctx, r)
	if err != nil {
		return err
	}
	if s.json {
		return s.print(answer.OfSheet(sheet))
	}
	return s.printSheet(sheet)
}

// earlier returns the orders of the last plan that the screen kept beside the data file; nil where it kept none.
func (s *session) earlier(data string) (*app.EarlierOrders, error) {
	kept, err := s.App.KeptPlans(data, 1)
	if err != nil || len(kept) == 0 {
		return nil, err
	}
	return answer.OrdersOf(kept[0]), nil
}

// season finds the season file: the demo's, or the one named.
func (s *session) season(path string, demo bool, data dataname) (fs.FS, string, error) {
	switch {
	case data != "" && (demo || path != ""):
		return nil, "", &commandError{say: "--data is given beside another season", next: "Leave one out."}
	case data != "":
		return nil, "", nil
	case demo && path != "":
		return nil, "", &commandError{say: "both --demo and a season file are given", next: "Leave one out."}
	case demo:
		return s.App.Demo()
	case path == "":
		return nil, "", &commandError{say: "no season file is given", next: "Name yours, give --data, or try the invented farm with --demo."}
	default:
		return s.App.Files(path)
	}
}

type demoCmd struct {
	planFlags
}

// Explain says what the demo is.
func (demoCmd) Explain() string {
	return "An invented farm on its fixed morning, under a recorded autumn. Nothing is read or written."
}

// Answer returns the JSON form.
func (demoCmd) Answer() any { return answer.Sheet{} }

// Run prints the demo's day sheet and what to try next.
func (c demoCmd) Run(s *session) error {
	if err := (planCmd{Demo: true, planFlags: c.planFlags}).Run(s); err != nil || s.json {
		return err
	}
	p := s.printer()
	p.line("")
	p.section("Next", []string{
		"One field, hour by hour: threshday outlook --demo creek-80",
		"A farm of your own to change and plan again: threshday start my-farm, then threshday plan my-farm/season.toml",
		"What selling too dry gives away: threshday pencil overdry --sold-at 9.6% --base 13%",
	})
	return p.Flush()
}
