package cli

import (
	"fmt"

	"threshday/internal/app"
	"threshday/internal/core/problem"
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
	return fmt.Sprintf("%s  made %s, %s, %s, %.1f MB", c.File, c.Made, plural(c.Entries, "entry"), plural(c.Loads, "load"), float64(c.Bytes)/1e6)
}

// Run makes or lists backups.
func (c backupCmd) Run(s *session) error {
	out := backupJSON{Kept: []copyJSON{}}
	var kept []app.Copy
	var err error
	if c.List {
		kept, err = s.App.Backups(c.data())
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
	for i, k := range out.Kept {
		if out.Made == nil || i > 0 {
			p.line("  " + k.words())
		}
	}
	if len(out.Kept) == 0 {
		p.line("There is no backup yet: threshday backup --data " + c.data())
	}
	return p.Flush()
}

type restoreCmd struct {
	From string `arg:"" help:"The backup file, or the name of one that lies in the folder backups beside the data file."`
	bookFlags
}

// Explain says what a restore does.
func (restoreCmd) Explain() string {
	return "Puts a backup in the place of the data file. The backup is proved first; what was there is kept in a folder beside it, untouched; at the end " +
		"the totals of both are counted and shown. It needs nothing but the backup: the data file may be damaged, gone, or never have been there."
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
	text := fmt.Sprintf("%s, %s, %s of them counted, %s lb net", plural(c.Entries, "entry"), plural(c.Loads, "load"), digits(float64(c.Counted), 0), digits(float64(c.NetLb), 0))
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
	p.section("From", []string{out.From.words()})
	p.section("Now", []string{out.Now.words() + "; that this is a restore is an entry too"})
	switch {
	case out.Before != nil:
		p.section("Before", []string{out.Before.words()})
	case out.Kept != "":
		p.section("Before", []string{"could not be read"})
	}
	if out.Kept != "" {
		p.section("Kept", []string{"what was there before lies untouched in " + out.Kept})
	}
	return p.Flush()
}

type doctorCmd struct {
	Full    bool `help:"Read every page and make the derived tables anew in a copy; takes longer and as much disk as the file."`
	Rebuild bool `help:"Make the tables that lists and totals come from anew from the entries, when the check says that they do not agree. No entry is touched."`
	bookFlags
}

// Explain says what is checked.
func (doctorCmd) Explain() string {
	return "Checks the data file and its backups and changes nothing: the file's structure, the chain of entries, the tables derived from them, the age " +
		"of the newest backup, the room on the disk. Ends with 1 where something needs you; each finding says what it means and what to do."
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
	if c.Rebuild {
		return c.rebuild(s)
	}
	d, err := s.App.Doctor(s.ctx, c.data(), c.Full)
	if err != nil {
		return err
	}
	out := doctorJSON{OK: d.OK, Checks: []checkJSON{}, Counts: countsJSON(d.Counts)}
	if d.Newest != nil {
		one := copyAsJSON(*d.Newest)
		out.Newest = &one
	}
	broken := false
	for _, a := range d.Asked {
		one := checkJSON{Name: a.Name, Asked: a.Asked, OK: a.OK, Findings: []complaint{}}
		for _, f := range a.Findings {
			broken = broken || f.Severity == problem.Error
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
	switch {
	case broken:
		return &app.NoAnswer{Rule: "doctor.unwell", Say: "The data file is not well.", Next: "Do what stands there before the next entry; threshday backup --list shows what can be restored."}
	case !d.OK:
		return &app.NoAnswer{Rule: "doctor.look", Say: "The data file is whole, and something needs you.", Next: "It stands beside LOOK."}
	}
	return nil
}

// rebuild makes the derived tables anew.
func (c doctorCmd) rebuild(s *session) error {
	apart, err := s.App.Rebuild(s.ctx, c.data())
	if err != nil {
		return err
	}
	if s.json {
		return s.print(map[string]any{"rebuilt": true, "had_come_apart": apart})
	}
	text := "Lists and totals were made anew from the entries; they are the same as before."
	if apart {
		text = "Lists and totals were made anew from the entries. They had come apart from them; now they agree."
	}
	p := s.printer()
	p.line(text)
	return p.Flush()
}

func (s *session) printDoctor(d doctorJSON, unclean bool) error {
	p := s.printer()
	for _, c := range d.Checks {
		mark := "well   "
		for _, f := range c.Findings {
			switch {
			case f.Severity == string(problem.Error):
				mark = "WRONG  "
			case f.Severity == string(problem.Warning) && mark != "WRONG  ":
				mark = "LOOK   "
			case mark == "well   ":
				mark = "note   "
			}
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
		p.section("Backup", []string{"none yet: threshday backup makes one"})
	}
	if unclean {
		p.section("Mind", []string{"The file was not closed properly the last time: the power failed, or the program was ended. Nothing is lost by that; --full looks closer."})
	}
	return p.Flush()
}
