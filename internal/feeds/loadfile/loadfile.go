// Package loadfile reads the tickets of a season, and the cheques for them, from CSV files.
//
// It is strict: an unknown or repeated column, a row of another length, a figure that is none or stands in another unit is
// refused with file, line and column, everything wrong in one answer up to fifty, and of a file with anything wrong nothing is
// taken. Whether the tickets make sense beside one another is for ledger to say. The form of the files:
// docs/reference/loads.md.
package loadfile

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/ledger"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/feeds/quantity"
)

// Columns returns the columns that a file of loads may have, in the order of the reference.
func Columns() []string {
	out := []string{
		"ticket", "date", "arrived", "time_in", "time_out", "to", "crop", "class", "from", "gross_lb", "tare_lb", "net_lb", "contract", "truck", "flags", "takes_back", "reason",
	}
	for _, f := range settlement.Factors() {
		if !f.IsFlag() {
			out = append(out, f.String())
		}
	}
	return out
}

// Read returns the entries of a file of loads, whose times are on the clock of zone. The error is problem.InputErrors or a
// *problem.InputError, and then there are no entries.
func Read(file string, data []byte, zone *time.Location) ([]ledger.Entry, error) {
	l := &loads{zone: zone, last: map[[2]string]string{}, used: map[string]bool{}}
	if err := read(file, data, Columns(), []string{"date", "to", "crop", "from", "gross_lb", "tare_lb"}, l.row); err != nil {
		return nil, err
	}
	return l.entries, nil
}

// loads are the entries read so far.
type loads struct {
	zone    *time.Location
	entries []ledger.Entry
	last    map[[2]string]string // by place and number, the ID of the newest row
	used    map[string]bool
}

func (l *loads) row(r row) {
	before := len(r.errs)
	where := problem.Place{File: r.file, Line: r.line}
	to := r.needed("to", "the id of the outlet or bin that took the load")
	if back := r.name("takes_back"); back != "" {
		l.takesBack(r, to, back, where)
		return
	}
	t := &ledger.Ticket{Number: r.name("ticket"), Place: to, Contract: r.name("contract"), Truck: r.name("truck"), Where: where}
	l.when(r, t)
	t.Load = weighed(r)
	t.Load.Day = t.Day
	t.From = sources(r)
	if r.name("reason") != "" {
		r.fail(r.line, "reason", "load.reason", "reason", cut(r.cell("reason")), "a reason only in a row that takes a ticket back", "")
	}
	if len(r.errs) > before {
		return
	}
	t.ID = l.idOf(t, r.line)
	l.last[[2]string{to, t.Number}] = t.ID
	l.entries = append(l.entries, ledger.Entry{Ticket: t, Where: where})
}

// idOf returns an ID that no other row has: place and number, which are the ticket's own, else the line.
func (l *loads) idOf(t *ledger.Ticket, line int) string {
	id := t.Place + "/" + t.Number
	if t.Number == "" || l.used[id] {
		id += "#" + strconv.Itoa(line)
	}
	l.used[id] = true
	return id
}

// takesBack reads a row that says an earlier one counts no more.
func (l *loads) takesBack(r row, to, number string, where problem.Place) {
	reason := r.needed("reason", "why the ticket counts no more, in your own words")
	for _, column := range []string{"ticket", "gross_lb", "tare_lb", "net_lb", "from"} {
		if r.cell(column) != "" {
			r.fail(r.line, column, "load.back", column, cut(r.cell(column)), "nothing in a row that takes a ticket back", "Enter the right ticket in a row of its own.")
		}
	}
	id, ok := l.last[[2]string{to, number}]
	if !ok {
		r.fail(r.line, "takes_back", "load.back", "takes_back", number, fmt.Sprintf("the number of an earlier ticket at %q", to), "It stands above the row that takes it back.")
		return
	}
	delete(l.last, [2]string{to, number})
	l.entries = append(l.entries, ledger.Entry{Back: id, Reason: reason, Where: where})
}

// when reads the day and the times, which may be left out. A bare time of day is one of the row's own day.
func (l *loads) when(r row, t *ledger.Ticket) {
	day, ok := parsed(r, "date", quantity.ParseDay)
	if !ok && r.cell("date") == "" {
		r.fail(r.line, "date", "csv.missing", "date", "", "the day at the buyer, as 2031-10-02", "")
	}
	t.Day = day
	at := func(column string) time.Time {
		text := r.cell(column)
		if text == "" || !ok {
			return time.Time{}
		}
		if _, err := calendar.ParseClock(text); err == nil {
			text = day.String() + " " + text
		}
		instant, err := quantity.ParseInstant(column, text, l.zone)
		if err != nil {
			r.refuse(column, err)
		}
		return instant
	}
	t.Weighed = ledger.Times{Arrival: at("arrived"), Gross: at("time_in"), Tare: at("time_out")}
	w := t.Weighed
	for _, pair := range []struct {
		first, second time.Time
		column        string
	}{{w.Arrival, w.Gross, "time_in"}, {w.Gross, w.Tare, "time_out"}} {
		if !pair.first.IsZero() && !pair.second.IsZero() && pair.second.Before(pair.first) {
			r.fail(r.line, pair.column, "load.times", pair.column, r.cell(pair.column), "not before the time that stands before it", "After midnight write the date too, as 2031-10-03 00:20.")
		}
	}
	if !w.Tare.IsZero() {
		t.Day = calendar.DayOf(w.Tare, l.zone)
	}
}

// weighed reads what the scale and the grader found.
func weighed(r row) settlement.Load {
	var l settlement.Load
	l.Crop, _ = parsed(r, "crop", parseCrop)
	if r.cell("crop") == "" {
		r.fail(r.line, "crop", "csv.missing", "crop", "", cropNames(), "")
	}
	l.Class = r.name("class")
	var whole [2]bool
	l.Gross, whole[0] = parsed(r, "gross_lb", trade.ParsePounds)
	l.Tare, whole[1] = parsed(r, "tare_lb", trade.ParsePounds)
	for _, column := range []string{"gross_lb", "tare_lb"} {
		if r.cell(column) == "" {
			r.fail(r.line, column, "csv.missing", column, "", "whole pounds, as 78460", "")
		}
	}
	if net, ok := parsed(r, "net_lb", trade.ParsePounds); ok && whole[0] && whole[1] && net != l.Net() {
		r.fail(r.line, "net_lb", "T01", "net_lb", net.String(), l.Net().String()+", gross less tare", "Read the three weights on the ticket again.")
	}
	for _, f := range settlement.Factors() {
		if f.IsFlag() {
			continue
		}
		if x, ok := parsed(r, f.String(), parseReading); ok {
			l.Readings = l.Readings.With(f, x)
		}
	}
	for _, name := range strings.Fields(strings.ReplaceAll(r.cell("flags"), ";", " ")) {
		f, ok := settlement.ParseFactor(name)
		if !ok || !f.IsFlag() || f == settlement.EveryLoad {
			r.fail(r.line, "flags", "flag.unknown", "flags", cut(name), flagNames(), "")
			continue
		}
		l.Readings = l.Readings.WithFlag(f)
	}
	return l
}

// parseReading reads a grade factor in hundredths of its unit; whether a load can have it is for settlement to say.
func parseReading(label, text string) (trade.Percent, error) {
	d, err := trade.ParseDecimal(label, strings.TrimSpace(strings.TrimSuffix(text, "%")))
	if err != nil {
		return 0, err
	}
	x, exact := d.Units(2)
	if !exact || x < 0 || x > 10_000_00 {
		return 0, &problem.InputError{Rule: "reading.precision", Label: label, Got: text, Want: "0 to 10,000, at most two decimals, like 14.2"}
	}
	return trade.Percent(x), nil
}

// mostSources is how many fields one load may hold.
const mostSources = 20

// sources reads where a load came from: "creek-80", "bin:bigbin", or several with their pounds, "creek-80=19840 + ridge=31520".
func sources(r row) []ledger.Source {
	text := r.needed("from", "the field's id, or bin:ID, or several with their pounds, as creek-80=19840 + ridge=31520")
	if text == "" {
		return nil
	}
	var out []ledger.Source
	parts := strings.Split(text, "+")
	bad := func(got, want string) []ledger.Source {
		r.fail(r.line, "from", "load.part", "from", cut(got), want, "")
		return nil
	}
	if len(parts) > mostSources {
		return bad(text, fmt.Sprintf("at most %d fields in one load", mostSources))
	}
	seen := map[string]bool{}
	for _, part := range parts {
		id, share, given := strings.Cut(part, "=")
		id, share = strings.TrimSpace(id), strings.TrimSpace(share)
		s := ledger.Source{Field: id, Part: 1}
		if bin, ok := strings.CutPrefix(id, "bin:"); ok {
			s.Field, s.Bin = "", strings.TrimSpace(bin)
		}
		if s.Field == "" && s.Bin == "" {
			return bad(part, "a field's id or bin:ID")
		}
		if seen[id] {
			return bad(text, "each field once")
		}
		seen[id] = true
		if given != (len(parts) > 1) && !given {
			return bad(part, "its pounds too, as "+id+"=19840, where a truck holds several")
		}
		if given {
			pounds, err := trade.ParsePounds("from", share)
			if err != nil || pounds < 1 {
				return bad(part, "whole pounds from 1, as "+id+"=19840")
			}
			s.Part = int64(pounds)
		}
		out = append(out, s)
	}
	return out
}

func parseCrop(label, text string) (crop.Kind, error) {
	k, ok := crop.Parse(strings.ToLower(text))
	if !ok {
		return 0, &problem.InputError{Rule: "crop.unknown", Label: label, Got: cut(text), Want: cropNames()}
	}
	return k, nil
}

func cropNames() string {
	var names []string
	for _, k := range crop.Kinds() {
		names = append(names, k.String())
	}
	return "one of " + strings.Join(names, ", ")
}

func flagNames() string {
	var names []string
	for _, f := range settlement.Factors() {
		if f.IsFlag() && f != settlement.EveryLoad {
			names = append(names, f.String())
		}
	}
	return "one of " + strings.Join(names, ", ") + ", parted by spaces"
}
