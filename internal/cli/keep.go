package cli

import (
	"fmt"

	"threshday/internal/app"
)

type backupCmd struct {
	List bool `help:"List the good backups and make none."`
	bookFlags
}

// Explain says what a backup is.
func (backupCmd) Explain() string {
	return "Makes a copy of the data file in the folder backups beside it. It counts only after it was synced, opened again, checked and its totals " +
		"compared. Keep another copy on another machine or a stick: a fire takes both from one desk."
}

type copyJSON struct {
	File    string `json:"file"`
	Made    string `json:"made"`
	Reason  string `json:"reason"`
	Bytes   int64  `json:"bytes"`
	Entries int64  `json:"entries"`
	Loads   int64  `json:"loads"`
}

type backupJSON struct {
	Made *copyJSON  `json:"made"`
	Kept []copyJSON `json:"kept"`
}

// Answer returns the JSON form.
func (backupCmd) Answer() any { return backupJSON{} }

func copyAsJSON(c app.Copy) copyJSON {
	return copyJSON{c.File, stamp(c.Made), c.Reason, c.Bytes, c.Entries, c.Loads}
}

func (c copyJSON) words() string {
	return fmt.Sprintf("%s  %s  %s entries, %s loads, %.1f MB, %s", c.File, c.Made, digits(float64(c.Entries), 0), digits(float64(c.Loads), 0), float64(c.Bytes)/1e6, c.Reason)
}

// Run makes or lists backups.
func (c backupCmd) Run(s *session) error {
	out := backupJSON{Kept: []copyJSON{}}
	var kept []app.Copy
	var err error
	if c.List {
		kept, err = s.App.Backups(s.ctx, c.data())
	} else {
		var made app.Copy
		made, kept, err = s.App.Backup(s.ctx, c.data())
		one := copyAsJSON(made)
		out.Made = &one
	}
	if err != nil {
		return err
	}
	for _, k := range kept {
		out.Kept = append(out.Kept, copyAsJSON(k))
	}
	if s.json {
		return s.print(out)
	}
	p := s.printer()
	if out.Made != nil {
		p.line(p.bold("Backed up and proved: ") + out.Made.words())
	}
	for _, k := range out.Kept {
		p.line("  " + k.words())
	}
	if len(out.Kept) == 0 {
		p.line("There is no backup yet: threshday backup --data " + c.data())
	}
	return p.Flush()
}

type restoreCmd struct {
	From string `arg:"" help:"The backup file."`
	bookFlags
}

// Explain says what a restore does.
func (restoreCmd) Explain() string {
	return "Puts a backup in the place of the data file. The backup is proved first; what was there is kept in a folder beside it, untouched; at the end " +
		"the totals of both are counted and shown."
}

type countsJSON struct {
	Entries int64 `json:"entries"`
	Records int64 `json:"records"`
	Loads   int64 `json:"loads"`
	Counted int64 `json:"loads_counted"`
	NetLb   int64 `json:"net_lb"`
	NetKg   int64 `json:"net_kg"`
}

func (c countsJSON) words() string {
	text := fmt.Sprintf("%s entries, %s loads, %s of them counted, %s lb net", digits(float64(c.Entries), 0), digits(float64(c.Loads), 0), digits(float64(c.Counted), 0), digits(float64(c.NetLb), 0))
	if c.NetKg > 0 {
		text += fmt.Sprintf(" and %s kg", digits(float64(c.NetKg), 0))
	}
	return text
}

type restoreJSON struct {
	From   copyJSON    `json:"from"`
	Kept   string      `json:"kept,omitempty"`
	Before *countsJSON `json:"before"`
	Now    countsJSON  `json:"now"`
}

// Answer returns the JSON form.
func (restoreCmd) Answer() any { return restoreJSON{} }

// Run restores.
func (c restoreCmd) Run(s *session) error {
	r, err := s.App.Restore(s.ctx, c.data(), c.From)
	if err != nil {
		return err
	}
	out := restoreJSON{From: copyAsJSON(r.From), Kept: r.Kept, Now: countsJSON(r.Now)}
	if r.Before != nil {
		before := countsJSON(*r.Before)
		out.Before = &before
	}
	if s.json {
		return s.print(out)
	}
	p := s.printer()
	p.line(p.bold("Restored: ") + c.data())
	p.section("Now", []string{out.Now.words()})
	if out.Before != nil {
		p.section("Before", []string{out.Before.words()})
	}
	if out.Kept != "" {
		p.section("Kept", []string{"what was there before lies untouched in " + out.Kept})
	}
	return p.Flush()
}

type doctorCmd struct {
	Full bool `help:"Read every page and make the derived tables anew in a copy; takes longer and as much disk as the file."`
	bookFlags
}

// Explain says what is checked.
func (doctorCmd) Explain() string {
	return "Checks the data file and its backups and changes nothing: the file's structure, the chain of entries, the tables derived from them, and the age " +
		"of the newest backup. Ends with 1 where something is wrong."
}

type doctorJSON struct {
	OK     bool        `json:"ok"`
	Checks []checkJSON `json:"checks"`
	Counts countsJSON  `json:"counts"`
	Newest *copyJSON   `json:"newest_backup"`
}

type checkJSON struct {
	Name     string      `json:"name"`
	Asked    string      `json:"asked"`
	OK       bool        `json:"ok"`
	Findings []complaint `json:"findings"`
}

// Answer returns the JSON form.
func (doctorCmd) Answer() any { return doctorJSON{} }

// Run checks the file.
func (c doctorCmd) Run(s *session) error {
	d, err := s.App.Doctor(s.ctx, c.data(), c.Full)
	if err != nil {
		return err
	}
	out := doctorJSON{OK: d.OK, Checks: []checkJSON{}, Counts: countsJSON(d.Counts)}
	if d.Newest != nil {
		one := copyAsJSON(*d.Newest)
		out.Newest = &one
	}
	for _, a := range d.Asked {
		one := checkJSON{Name: a.Name, Asked: a.Asked, OK: a.OK, Findings: []complaint{}}
		for _, f := range a.Findings {
			one.Findings = append(one.Findings, ofFinding(f))
		}
		out.Checks = append(out.Checks, one)
	}
	if s.json {
		if err := s.print(out); err != nil {
			return err
		}
	} else if err := s.printDoctor(out, d.Unclean); err != nil {
		return err
	}
	if !d.OK {
		return &app.NoAnswer{Rule: "doctor.unwell", Say: "The data file is not well: see above.", Next: "Do what stands there before the next entry; threshday backup --list shows what can be restored."}
	}
	return nil
}

func (s *session) printDoctor(d doctorJSON, unclean bool) error {
	p := s.printer()
	for _, c := range d.Checks {
		mark := "well   "
		if !c.OK {
			mark = "WRONG  "
		}
		p.hung("  "+mark, c.Asked)
		for _, f := range c.Findings {
			p.hung("         ", f.Say+" "+f.Next)
		}
	}
	p.line("")
	p.section("Holds", []string{d.Counts.words()})
	if d.Newest != nil {
		p.section("Backup", []string{"newest: " + d.Newest.words()})
	} else {
		p.section("Backup", []string{"none yet"})
	}
	if unclean {
		p.section("Mind", []string{"The file was not closed properly the last time: the power failed, or the program was ended. Nothing is lost by that; --full looks closer."})
	}
	return p.Flush()
}

type loadsCmd struct {
	Outlet string `placeholder:"ossing" help:"Only this outlet or bin."`
	Field  string `placeholder:"creek-80" help:"Only loads from this field."`
	Crop   string `placeholder:"soybean" help:"Only this crop."`
	Limit  int    `default:"50" help:"Rows to show."`
	bookFlags
}

// Explain says what the list shows.
func (loadsCmd) Explain() string {
	return "The loads of the data file, the newest day first, with what each day and all of them add up to. A load that waits for a person or is void is marked."
}

type loadsJSON struct {
	Loads []loadLineJSON `json:"loads"`
	More  bool           `json:"more"`
	Days  []loadSumJSON  `json:"days"`
	All   loadSumJSON    `json:"all"`
}

type loadLineJSON struct {
	ID       string   `json:"id"`
	Day      string   `json:"day"`
	Ticket   string   `json:"ticket"`
	Outlet   string   `json:"outlet"`
	Crop     string   `json:"crop"`
	Fields   []string `json:"fields"`
	NetLb    *int64   `json:"net_lb"`
	Moisture string   `json:"moisture_pct,omitempty"`
	Counted  bool     `json:"counted"`
	Void     bool     `json:"void"`
	Waits    []string `json:"waits"`
}

type loadSumJSON struct {
	Key   string `json:"day,omitempty"`
	Loads int64  `json:"loads"`
	NetLb int64  `json:"net_lb"`
	NetKg int64  `json:"net_kg"`
}

// Answer returns the JSON form.
func (loadsCmd) Answer() any { return loadsJSON{} }

// Run lists the loads.
func (c loadsCmd) Run(s *session) error {
	l, err := s.App.Loads(s.ctx, c.data(), app.LoadFilter{Outlet: c.Outlet, Field: c.Field, Crop: c.Crop, Limit: c.Limit})
	if err != nil {
		return err
	}
	out := loadsJSON{Loads: []loadLineJSON{}, More: l.More, Days: []loadSumJSON{}, All: loadSumJSON(l.All)}
	for _, r := range l.Rows {
		one := loadLineJSON{
			ID: r.ID, Day: r.Load.Day.String(), Ticket: r.Load.Ticket, Outlet: r.Load.Outlet, Crop: r.Load.Crop.String(), Fields: []string{},
			NetLb: r.Load.Weights.Net, Counted: r.Counted, Void: r.Void, Waits: list(r.Waits),
		}
		if r.Load.Moisture != nil {
			one.Moisture = r.Load.Moisture.String()
		}
		for _, part := range r.Load.From {
			one.Fields = append(one.Fields, part.Field)
		}
		out.Loads = append(out.Loads, one)
	}
	for _, d := range l.By {
		out.Days = append(out.Days, loadSumJSON(d))
	}
	if s.json {
		return s.print(out)
	}
	return s.printLoads(out, l)
}

func (s *session) printLoads(out loadsJSON, l *app.Loads) error {
	p := s.printer()
	if len(out.Loads) == 0 {
		p.line("No load is in the book yet: threshday add load --help says how.")
		return p.Flush()
	}
	sums := map[string]loadSumJSON{}
	for _, d := range out.Days {
		sums[d.Key] = d
	}
	day := ""
	for i, r := range out.Loads {
		if r.Day != day {
			day = r.Day
			p.line(p.bold(fmt.Sprintf("%s   %d loads, %s lb", day, sums[day].Loads, digits(float64(sums[day].NetLb), 0))))
		}
		mark := ""
		switch {
		case r.Void:
			mark = "  void"
		case !r.Counted:
			mark = "  not counted"
		case len(r.Waits) > 0:
			mark = "  waits for a person"
		}
		p.hung("  ", loadSaid(l.Rows[i].Load)+mark)
	}
	if out.More {
		p.line("  … more: --limit shows them")
	}
	p.line("")
	p.line(fmt.Sprintf("All: %d loads that count, %s lb net", out.All.Loads, digits(float64(out.All.NetLb), 0)))
	return p.Flush()
}
