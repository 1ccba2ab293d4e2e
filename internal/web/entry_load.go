package web

import (
	"fmt"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

func (f *form) load(l *journal.Load) {
	f.put("ticket", &l.Ticket)
	f.put("outlet", &l.Outlet)
	must(f, "crop", "", kind, &l.Crop)
	f.put("contract", &l.Contract)
	f.put("truck", &l.Truck)
	f.put("driver", &l.Driver)
	f.put("note", &l.Note)
	read(f, "moisture", "moist_hundredth_pct", printed, &l.Moisture)
	for _, q := range qualityBoxes(&l.Quality) {
		read(f, q.key, q.as, printed, q.to)
	}
	f.weights(&l.Weights)
	if from := f.list("field"); len(from) > 0 {
		l.From = f.parts(from)
	}
	var at time.Time
	if must(f, "at", "", f.instant, &at) {
		l.In, l.Day = &at, calendar.DayOf(at, f.zone)
	}
	read(f, "out_at", "", f.instant, &l.Out)
}

// A qualityBox is the box of one grade factor: its key, the key of the text as typed, and the value.
type qualityBox struct {
	key, as string
	to      **trade.Percent
}

func qualityBoxes(q *farm.Quality) []qualityBox {
	return []qualityBox{
		{"test_weight", "test_weight_hundredth_lb_bu", &q.TestWeight},
		{"fm", "foreign_material_hundredth_pct", &q.ForeignMaterial},
		{"damage", "damage_hundredth_pct", &q.Damage},
		{"heat", "heat_hundredth_pct", &q.Heat},
		{"splits", "splits_hundredth_pct", &q.Splits},
		{"bcfm", "bcfm_hundredth_pct", &q.BCFM},
		{"dockage", "dockage_hundredth_pct", &q.Dockage},
		{"protein", "protein_hundredth_pct", &q.Protein},
	}
}

// qualityOf returns what a ticket shows of the grain's quality, by the key of its box.
func qualityOf(q farm.Quality) map[string]string {
	out := map[string]string{}
	for _, box := range qualityBoxes(&q) {
		if *box.to != nil {
			out[box.key] = (*box.to).String()
		}
	}
	return out
}

// weights puts the scale's figures onto w. A net that was not printed follows the gross and the tare.
func (f *form) weights(w *journal.Weights) {
	follows := w.Net != nil && w.Gross != nil && w.Tare != nil && *w.Net == *w.Gross-*w.Tare
	for _, one := range []struct {
		key string
		to  **int64
	}{{"gross", &w.Gross}, {"tare", &w.Tare}, {"net", &w.Net}} {
		var given *scaleWeight
		read(f, one.key, "", weight, &given)
		if !f.has(one.key) {
			continue
		}
		if given == nil {
			*one.to = nil
			continue
		}
		if w.Unit != "" && w.Unit != given.unit {
			f.refuse(atBox(&problem.InputError{Rule: "weight.unit", Label: labelOf(one.key), Got: f.text(one.key), Want: fmt.Sprintf("%s, the unit of the load's other weights", w.Unit)}, one.key))
			continue
		}
		n := given.n
		w.Unit, *one.to = given.unit, &n
		f.typed[one.key+"_"+string(given.unit)] = f.text(one.key)
	}
	if w.Gross != nil && w.Tare != nil && (w.Net == nil || follows && f.text("net") == "") {
		net := *w.Gross - *w.Tare
		if net < 0 {
			return // the book says which of the two is doubted
		}
		w.Net = &net
	}
}

// parts reads "creek-80", or for each of several fields "creek-80=60%".
func (f *form) parts(fields []string) []journal.Part {
	var out []journal.Part
	sum := trade.Percent(0)
	for _, text := range fields {
		id, share, given := strings.Cut(text, "=")
		p := journal.Part{Field: strings.TrimSpace(id), Share: 1}
		if given {
			part, err := trade.ParsePercent("Field", share)
			if err != nil || part < 1 {
				f.refuse(atBox(&problem.InputError{Rule: "load.part", Label: "Field", Got: text, Want: "a field, or of several each with its part, as creek-80=60%"}, "field"))
				return nil
			}
			p.Share, sum = int64(part), sum+part
		}
		out = append(out, p)
	}
	if sum != 0 && sum != 100_00 || len(out) > 1 && sum == 0 {
		f.refuse(atBox(&problem.InputError{Rule: "load.shares", Label: "Field", Got: sum.String() + " % in all", Want: "parts that add to 100 %"}, "field"))
	}
	return out
}

// partsOf returns the box of fields that parts reads back: a field, or several each with its percent of the load.
func partsOf(from []journal.Part) []string {
	out, sum := []string{}, int64(0)
	for _, p := range from {
		sum += p.Share
	}
	done, given := int64(0), trade.Percent(0)
	for _, p := range from {
		if len(from) == 1 || sum <= 0 {
			out = append(out, p.Field)
			continue
		}
		done += p.Share
		upTo := trade.Percent(trade.HalfUp.MulDiv(done, 100_00, sum)) // what is rounded off one part is the next one's
		out = append(out, fmt.Sprintf("%s=%s%%", p.Field, upTo-given))
		given = upTo
	}
	return out
}
