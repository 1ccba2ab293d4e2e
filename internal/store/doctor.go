package store

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"threshday/internal/core/problem"
	"threshday/internal/store/backup"
	"threshday/internal/store/proof"
	"threshday/internal/store/sqlite"
)

// Disk space below which a person is told, and below which imports are refused; judgement.
const (
	lowSpace  = 2 << 30
	noImports = 500 << 20
)

// Ages of the newest backup from which a caution is shown; judgement.
const (
	oldBackup     = 24 * time.Hour
	veryOldBackup = 72 * time.Hour
)

// A Report is what Doctor found.
type Report struct {
	Checks []Check
	Totals proof.Totals
	Heads  []proof.Head
	// Backup is the newest good one; nil when there is none.
	Backup *backup.Manifest
}

// A Check is one question that Doctor asked and the answer.
type Check struct {
	Name     string // "file", "chain", "derived", ...
	Asked    string // the question, for people
	Findings []problem.Finding
}

// OK reports whether the check found nothing wrong; notes are not wrong.
func (c Check) OK() bool {
	for _, f := range c.Findings {
		if f.Severity != problem.Note {
			return false
		}
	}
	return true
}

// OK reports whether every check is.
func (r Report) OK() bool {
	for _, c := range r.Checks {
		if !c.OK() {
			return false
		}
	}
	return true
}

// Doctor checks the file and what is kept beside it, and changes nothing. A full check also reads every page with
// its indexes and makes the derived tables anew in a copy, which takes as much disk space as the file.
func (s *Store) Doctor(ctx context.Context, full bool) (Report, error) {
	var r Report
	for _, c := range []struct {
		name, asked string
		full        bool
		run         func(context.Context, bool) ([]problem.Finding, error)
	}{
		{"file", "Is the file whole?", false, s.checkFile},
		{"chain", "Is every entry what was written, in its place?", false, s.checkChain},
		{"parts", "Do the parts of each load add up to the load?", false, s.checkParts},
		{"derived", "Do the tables agree with the entries they are made from?", true, s.checkDerived},
		{"backups", "Is there a fresh, good backup, and does the book still agree with it?", false, s.checkBackups},
		{"clock", "Did the clock go backwards?", true, s.checkClock},
		{"devices", "Did every numbered entry of every device arrive?", false, s.checkDevices},
		{"waiting", "Does anything wait for a person?", false, s.checkWaiting},
		{"disk", "Is there room on the disk?", false, s.checkDisk},
	} {
		if c.full && !full {
			continue
		}
		found, err := c.run(ctx, full)
		if err != nil {
			found = append(found, s.failed(err))
		}
		r.Checks = append(r.Checks, Check{c.name, c.asked, found})
	}
	// A damaged file may refuse these; the checks above have said so.
	r.Totals, _ = proof.Count(ctx, s.reads)
	r.Heads, _ = proof.Heads(ctx, s.reads)
	if list, err := s.Backups(); err == nil && len(list) > 0 {
		r.Backup = &list[0]
	}
	return r, ctx.Err()
}

// failed turns a check that could not be made into a finding.
func (s *Store) failed(err error) problem.Finding {
	err = s.explain("check", err)
	f := problem.Finding{
		Rule: "store.check", Severity: problem.Error, Label: "Data file", Say: fmt.Sprintf("This could not be checked: %v.", err),
		Next: "Restore the newest good backup if it does not go away.",
	}
	if rule := sqlite.Of(err); rule != "" {
		f.Rule = rule
	}
	return f
}

func finding(severity problem.Severity, rule, label, say, next string) []problem.Finding {
	return []problem.Finding{{Rule: rule, Severity: severity, Label: label, Say: say, Next: next}}
}

const restoreNext = "Keep the file as it is and restore the newest good backup; then send again what phones still hold."

func (s *Store) checkFile(ctx context.Context, full bool) ([]problem.Finding, error) {
	wrong, err := proof.Structure(ctx, s.reads, full)
	var out []problem.Finding
	for _, w := range wrong {
		out = append(out, finding(problem.Error, sqlite.Damaged, "Data file", "The file is damaged: "+w+".", restoreNext)...)
	}
	return out, err
}

func (s *Store) checkChain(ctx context.Context, _ bool) ([]problem.Finding, error) {
	breaks, err := proof.Chain(ctx, s.reads, 0)
	var out []problem.Finding
	for _, b := range breaks {
		out = append(out, finding(problem.Error, "book.chain", "Entry",
			fmt.Sprintf("Entry %d of %s: %s. Entries before it are as they were written.", b.Seq, b.Farm, b.Why), restoreNext)...)
	}
	return out, err
}

func (s *Store) checkParts(ctx context.Context, _ bool) ([]problem.Finding, error) {
	rows, err := s.reads.QueryContext(ctx, `SELECT l.load_id, coalesce(l.net_lb, l.net_kg), sum(coalesce(f.net_lb, f.net_kg))
		FROM load_fields f JOIN loads l ON l.farm_id = f.farm_id AND l.load_id = f.load_id
		GROUP BY l.farm_id, l.load_id, l.net_lb, l.net_kg HAVING coalesce(l.net_lb, l.net_kg) <> sum(coalesce(f.net_lb, f.net_kg)) LIMIT 20`)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	var out []problem.Finding
	for rows.Next() {
		var id string
		var net, parts int64
		if err := rows.Scan(&id, &net, &parts); err != nil {
			return nil, err
		}
		out = append(out, finding(problem.Error, "load.parts", "Load", fmt.Sprintf("Load %s weighs %d and its fields' parts add to %d.", id, net, parts),
			"Rebuild the derived tables.")...)
	}
	return out, rows.Err()
}

// checkDerived makes the derived tables anew in a copy and compares.
func (s *Store) checkDerived(ctx context.Context, _ bool) (out []problem.Finding, err error) {
	if s.engine.Virtual {
		return nil, nil
	}
	if s.readOnly != nil {
		return finding(problem.Note, "book.derived", "Totals", "Whether lists and totals agree with the entries was not checked: the file is only read.",
			"Open it where it may be written."), nil
	}
	if err := os.MkdirAll(s.backups, 0o700); err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp(s.backups, "check-*"+backup.Unfinished)
	if err != nil {
		return nil, err
	}
	defer func() {
		if e := os.RemoveAll(dir); err == nil {
			err = e
		}
	}()
	copied := filepath.Join(dir, "copy.db")
	live, err := s.engine.Open(s.path, sqlite.Source)
	if err != nil {
		return nil, err
	}
	defer func() { _ = live.Close() }() // it only reads
	if _, err := live.ExecContext(ctx, `VACUUM INTO $1`, copied); err != nil {
		return nil, err
	}
	c, err := Open(ctx, copied, Options{Now: s.now, Program: s.program, Engine: &s.engine, What: "doctor"})
	if err != nil {
		return nil, err
	}
	defer func() { _ = c.Close() }() // the copy goes away
	was, is, err := c.Rebuild(ctx)
	if err != nil {
		return nil, err
	}
	if was != is {
		return finding(problem.Error, "book.derived", "Totals", "The tables that lists and totals come from do not agree with the entries.",
			"Rebuild them; the entries themselves are not touched by that."), nil
	}
	return nil, nil
}

func (s *Store) checkBackups(ctx context.Context, _ bool) ([]problem.Finding, error) {
	list, err := s.Backups()
	if err != nil {
		return nil, err
	}
	entries, _, err := s.since(ctx, list)
	if err != nil {
		return nil, err
	}
	var out []problem.Finding
	now := s.now()
	switch {
	case len(list) == 0 && entries > 0:
		out = finding(problem.Warning, "backup.none", "Backup", fmt.Sprintf("There is no good backup; %d entries exist once.", entries), "Make one now.")
	case len(list) > 0 && entries > 0 && now.Sub(list[0].Made) > oldBackup:
		age := now.Sub(list[0].Made)
		say := fmt.Sprintf("The newest good backup is %d hours old; %d entries came since.", int(age.Hours()), entries)
		if age > veryOldBackup {
			say = "Nothing protects the newest entries: " + say
		}
		out = finding(problem.Warning, "backup.old", "Backup", say, "Make one now.")
	}
	restored, err := s.restoredBooks(ctx)
	if err != nil {
		return out, err
	}
	for _, m := range list {
		for _, h := range m.Heads {
			hash, ok, err := proof.HashAt(ctx, s.reads, h.Farm, h.Seq)
			if err != nil {
				return out, err
			}
			if ok && hash.String() == h.Hash {
				continue
			}
			severity, say := problem.Error, "The book was changed from outside, or another book was put in its place."
			if restored[h.Farm] {
				severity, say = problem.Note, "The book was continued from an older backup since; this one holds entries that are not in it."
			}
			out = append(out, finding(severity, "book.anchor", "Backup", fmt.Sprintf("Backup %s holds an entry %d of %s that the book does not. %s",
				m.File, h.Seq, h.Farm, say), "Keep that backup; compare its entries with the book's by dump.")...)
		}
	}
	return out, nil
}

// restoredBooks returns the farms whose book was ever continued from a backup.
func (s *Store) restoredBooks(ctx context.Context) (map[string]bool, error) {
	rows, err := s.reads.QueryContext(ctx, `SELECT DISTINCT farm_id FROM events WHERE kind = 'book.restored'`)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	out := map[string]bool{}
	for rows.Next() {
		var f string
		if err := rows.Scan(&f); err != nil {
			return nil, err
		}
		out[f] = true
	}
	return out, rows.Err()
}

func (s *Store) checkClock(ctx context.Context, _ bool) ([]problem.Finding, error) {
	rows, err := s.reads.QueryContext(ctx, `SELECT farm_id, seq, before, received_at FROM (
			SELECT farm_id, seq, received_at, lag(received_at) OVER (PARTITION BY farm_id ORDER BY seq) AS before FROM events) AS ordered
		WHERE received_at < before ORDER BY farm_id, seq LIMIT 20`)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	var out []problem.Finding
	for rows.Next() {
		var farmID, before, at string
		var seq int64
		if err := rows.Scan(&farmID, &seq, &before, &at); err != nil {
			return nil, err
		}
		out = append(out, finding(problem.Note, "clock.back", "Clock", fmt.Sprintf("The office's clock went from %s back to %s at entry %d of %s.", before, at, seq, farmID),
			"Set the computer's clock. The order of entries does not depend on it.")...)
	}
	return out, rows.Err()
}

func (s *Store) checkDevices(ctx context.Context, _ bool) ([]problem.Finding, error) {
	farms, err := s.Farms(ctx)
	if err != nil {
		return nil, err
	}
	var out []problem.Finding
	for _, f := range farms {
		gaps, err := s.Gaps(ctx, f)
		if err != nil {
			return nil, err
		}
		for _, g := range gaps {
			which := fmt.Sprintf("entry %d is", g.First)
			if g.Last > g.First {
				which = fmt.Sprintf("entries %d to %d are", g.First, g.Last)
			}
			out = append(out, finding(problem.Warning, "device.gap", "Device", fmt.Sprintf("Of %s, %s missing.", g.Device, which),
				"Open the program on that device while it is connected; it sends what it still holds.")...)
		}
	}
	return out, nil
}

func (s *Store) checkWaiting(ctx context.Context, _ bool) ([]problem.Finding, error) {
	var waiting, refused int64
	if err := s.reads.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM loads WHERE review <> '') + (SELECT count(*) FROM records WHERE review <> ''),
		(SELECT count(*) FROM refused)`).Scan(&waiting, &refused); err != nil {
		return nil, err
	}
	var out []problem.Finding
	if waiting > 0 {
		say := fmt.Sprintf("%d records wait for a person.", waiting)
		if waiting == 1 {
			say = "A record waits for a person."
		}
		out = finding(problem.Note, "book.waiting", "Records", say, "threshday waiting lists what waits.")
	}
	if refused > 0 {
		out = append(out, finding(problem.Note, "book.refused", "Entries", fmt.Sprintf("%d entries from phones could not be read; they are kept as they came.", refused),
			"Look at them on the phone that sent them.")...)
	}
	return out, nil
}

func (s *Store) checkDisk(context.Context, bool) ([]problem.Finding, error) {
	if s.engine.Virtual {
		return nil, nil
	}
	free, err := sqlite.Free(filepath.Dir(s.path))
	if err != nil || free >= lowSpace {
		return nil, err
	}
	return finding(problem.Warning, "store.low-space", "Disk", fmt.Sprintf("Only %d MB are free on the disk that holds the book.", free>>20), "Make room: entries are refused when it is full."), nil
}
