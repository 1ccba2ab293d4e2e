package cli

import (
	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
)

type loadsCmd struct {
	Outlet   string        `placeholder:"ossing" help:"Only this outlet or bin."`
	Field    string        `placeholder:"creek-80" help:"Only loads from this field; of a load from several only its part is added up."`
	Contract string        `placeholder:"oss-101" help:"Only loads on this contract."`
	Crop     crop.Kind     `placeholder:"soybean" help:"Only this crop."`
	CropYear *count        `placeholder:"2031" help:"Only this crop year." low:"1900" high:"2199"`
	From     *calendar.Day `placeholder:"2031-09-15" help:"Only from this day on."`
	Until    *calendar.Day `placeholder:"2031-10-31" help:"Only up to this day."`
	Waiting  bool          `help:"Only those that wait for a person."`
	By       string        `default:"day" placeholder:"field" help:"What to add up by: day, field, outlet, contract or crop."`
	Limit    int           `default:"50" help:"Rows to show."`
	bookFlags
}

// Explain says what the list shows.
func (loadsCmd) Explain() string {
	return "The loads of the data file, the newest day first, with what each day and all of them add up to. A load that waits for a person or is void is marked."
}

// Answer returns the JSON form.
func (loadsCmd) Answer() any { return answer.Loads{} }

// Run lists the loads.
func (c loadsCmd) Run(s *session) error {
	if err := firstOf(oneOfWords("--by", c.By, "day", "field", "outlet", "contract", "crop"), need(c.Limit > 0, "--limit", "1 or more")); err != nil {
		return err
	}
	f := app.LoadFilter{Outlet: c.Outlet, Field: c.Field, Contract: c.Contract, Waiting: c.Waiting, By: c.By, Limit: c.Limit}
	if c.Crop != crop.Unknown {
		f.Crop = c.Crop.String()
	}
	if c.CropYear != nil {
		f.CropYear = int(*c.CropYear)
	}
	if c.From != nil {
		f.From = *c.From
	}
	if c.Until != nil {
		f.Until = *c.Until
	}
	l, err := s.App.Loads(s.ctx, c.data(), f)
	if err != nil {
		return err
	}
	if s.json {
		return s.print(answer.OfLoads(l, c.By))
	}
	return s.printLoads(l, c.By)
}

// sumSaid says what loads add up to, each unit of a scale by itself.
func sumSaid(sum app.LoadSum) string {
	text := plural(sum.Loads, "load")
	if sum.NetLb > 0 || sum.NetKg == 0 {
		text += ", " + digits(float64(sum.NetLb), 0) + " lb"
	}
	if sum.NetKg > 0 {
		text += ", " + digits(float64(sum.NetKg), 0) + " kg"
	}
	return text
}

func (s *session) printLoads(l *app.Loads, by string) error {
	p := s.printer()
	if len(l.Rows) == 0 {
		p.line("No such load is in the book: threshday add load --help says how one gets there.")
		return p.Flush()
	}
	days := map[string]string{}
	if by == "day" {
		for _, sum := range l.By {
			days[sum.Key] = "   " + sumSaid(sum)
		}
	}
	day := ""
	for _, r := range l.Rows {
		if is := r.Load.Day.String(); is != day {
			day = is
			p.line(p.bold(day + days[day]))
		}
		mark := ""
		switch {
		case r.Void:
			mark = "  void"
		case !r.Counted:
			mark = "  not counted, waits for a person"
		case len(r.Waits) > 0:
			mark = "  waits for a person"
		}
		p.hung("  ", answer.LoadSaid(r.Load)+mark)
	}
	if l.More {
		p.line("  … more: --limit shows them")
	}
	p.line("")
	if by != "day" {
		var rows []row
		for _, sum := range l.By {
			name := sum.Key
			if name == "" {
				name = "none"
			}
			rows = append(rows, row{name, sumSaid(sum)})
		}
		p.line("By " + by)
		p.table(rows)
		p.line("")
	}
	p.line("All that count: " + sumSaid(l.All) + " net")
	return p.Flush()
}
