package web

import (
	"encoding/json"
	"maps"
	"strings"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/feeds/quantity"
)

// Each of these puts what stands in the boxes onto a record; what has no box stays as it is.

func (f *form) reading(r *farm.Reading) {
	f.put("field", &r.Field)
	must(f, "moisture", "moist_hundredth_pct", printed, &r.Moisture)
	f.oneOf("device", &r.Device, "meter", "bite", "combine", "ticket")
	f.put("name", &r.Name)
	must(f, "spots", "", count, &r.Spots)
	f.oneOf("zone", &r.Zone, "whole", "low", "knob", "load")
	f.put("note", &r.Note)
	must(f, "at", "", f.instant, &r.At)
}

func (f *form) stage(s *farm.Sighting) {
	f.put("field", &s.Field)
	f.oneOf("stage", &s.Stage, "R5", "R6", "R7", "R8", "dent", "black-layer", "ripe", "brown", "green")
	must(f, "on", "", quantity.ParseDay, &s.On)
	read(f, "plants", "plants_hundredth_pct", percent, &s.Pct)
	f.oneOf("zone", &s.Zone, "whole", "low", "knob")
	f.put("note", &s.Note)
}

func (f *form) bid(b *farm.Bid) {
	f.put("outlet", &b.Outlet)
	must(f, "crop", "", kind, &b.Crop)
	read(f, "cash", "cash_usd_e5", price, &b.Cash)
	read(f, "futures", "futures_usd_e5", price, &b.Futures)
	read(f, "basis", "basis_usd_e5", price, &b.Basis)
	f.put("month", &b.Month)
	read(f, "from", "", quantity.ParseDay, &b.From)
	read(f, "until", "", quantity.ParseDay, &b.Until)
	must(f, "at", "", f.instant, &b.Taken)
	switch {
	case b.Cash != nil && (b.Futures != nil || b.Basis != nil):
		f.refuse(atBox(&problem.InputError{Rule: "bid.both", Label: "Cash price", Got: b.Cash.Fixed(), Want: "the cash price, or futures and basis, not all"}, "cash"))
	case b.From != nil && b.Until != nil && b.Until.Before(*b.From):
		f.refuse(atBox(&problem.InputError{Rule: "bid.order", Label: "Last day", Got: b.Until.String(), Want: "not before the first day, " + b.From.String()}, "until"))
	}
}

func (f *form) forecast(d *farm.OutlookDay) {
	must(f, "on", "", quantity.ParseDay, &d.On)
	must(f, "high", "high_thousandth_f", temperature, &d.High)
	must(f, "low", "low_thousandth_f", temperature, &d.Low)
	read(f, "rain", "rain_hundredth_pct", percent, &d.RainPct)
	f.oneOf("amount", &d.Amount, "trace", "light", "medium", "heavy")
	f.oneOf("when", &d.When, "night", "morning", "afternoon", "evening", "any")
	f.oneOf("dew", &d.Dew, "none", "light", "heavy")
	f.oneOf("wind", &d.Wind, "calm", "light", "breezy", "windy")
	f.oneOf("sky", &d.Sky, "clear", "part", "cloudy")
	read(f, "at", "", f.instant, &d.Entered)
}

// handed reads one command into what it enters. at is when the device made it, and when it was unless the season speaks of one
// moment or the command says so.
func handed(c command, at time.Time, of app.Clock) (app.Handed, error) {
	zone := of.Zone
	f := newForm(c.Body, zone)
	h := app.Handed{Sign: app.Signed{By: strings.TrimSpace(journal.Clean(c.By)), ID: c.ID, From: &app.Device{Name: strings.TrimSpace(journal.Clean(c.Device)), Counter: c.Seq, At: at}}, Typed: f.typed}
	if of.Stands {
		at = of.Now
	}
	at = at.In(zone).Truncate(time.Second)
	switch c.Type {
	case "reading":
		r := farm.Reading{At: at, By: h.Sign.By}
		f.reading(&r)
		f.need(r.Field != "", "field", "the field")
		f.need(f.text("moisture") != "", "moisture", "the moisture read, as 14.6")
		f.need(r.Device != "", "device", "meter, bite, combine or ticket")
		h.Reading = &r
	case "stage":
		s := farm.Sighting{On: calendar.DayOf(at, zone), By: h.Sign.By}
		f.stage(&s)
		f.need(s.Field != "", "field", "the field")
		f.need(s.Stage != "", "stage", "what was seen")
		h.Stage = &s
	case "bid":
		b := farm.Bid{Taken: at}
		f.bid(&b)
		f.need(b.Outlet != "", "outlet", "the outlet")
		f.need(b.Crop != crop.Unknown, "crop", "the crop")
		f.need(b.Cash != nil || b.Futures != nil && b.Basis != nil, "cash", "a cash price like $9.87, or futures and basis both")
		h.Bid = &b
	case "forecast":
		d := farm.OutlookDay{Entered: &at}
		f.forecast(&d)
		f.need(!d.On.IsZero(), "on", "the day, as 2031-09-15")
		f.need(f.text("high") != "", "high", "the highest temperature, as 82 F")
		f.need(f.text("low") != "", "low", "the lowest temperature, as 61 F")
		h.Outlook = &d
	case "load":
		l := journal.Load{In: &at, Day: calendar.DayOf(at, zone)}
		f.load(&l)
		f.need(l.Outlet != "", "outlet", "the outlet or bin it went to")
		f.need(len(l.From) > 0, "field", "the field it came from")
		f.need(l.Weights.Gross != nil || l.Weights.Net != nil, "gross", "the gross weight, as 78460 lb")
		f.need(l.Weights.Tare != nil || l.Weights.Net != nil, "tare", "the tare weight, as 27180 lb")
		l.Typed = f.typed
		h.Load = &l
	case "cheque":
		q := journal.Cheque{}
		f.cheque(&q)
		f.need(q.Number != "", "number", "the number of the cheque")
		f.need(q.Outlet != "", "outlet", "the outlet that paid")
		f.need(!q.On.IsZero(), "on", "the date on the cheque, as 2031-10-20")
		f.need(f.text("total") != "", "total", "what it is over, as $8,512.40")
		f.need(len(q.Lines) > 0, "lines", "what it pays for each ticket, or the advance that it pays")
		q.Typed = f.typed
		h.Cheque = &q
	case "sheet":
		p := journal.Sheet{}
		f.sheet(&p)
		f.need(p.Outlet != "", "outlet", "the outlet whose sheet it is")
		f.need(p.Ticket != "", "ticket", "the number of the ticket that it settles")
		p.Typed = f.typed
		h.Sheet = &p
	case "correct", "void", "keep", "merge", "undo":
		h.Remark = f.remark(c.Type)
	case "settings":
		h.Setting = f.settings()
	case "schedule":
		h.Post = f.schedule(c.Body)
	case "season":
		text := rawText(c.Body, "text")
		f.used["text"] = true
		f.need(text != "", "text", "the whole season file")
		h.Season = &text
	default:
		return h, &problem.InputError{Rule: "command.type", Label: "Type", Got: shortened(c.Type), Want: "reading, stage, bid, forecast, load, cheque, sheet, correct, void, keep, merge, undo, settings, schedule or season"}
	}
	return h, f.done()
}

var acts = map[string]journal.Act{"correct": journal.Correct, "void": journal.Voided, "keep": journal.Kept, "merge": journal.Merged, "undo": journal.SetAside}

// remark reads what is said of a record.
func (f *form) remark(kind string) *app.Remark {
	r := &app.Remark{Of: f.text("of"), Saw: f.text("saw"), Reason: f.text("why"), Act: acts[kind]}
	f.need(r.Of != "", "of", "the id of an entry")
	f.need(r.Reason != "", "why", "the reason, in your own words")
	switch r.Act {
	case journal.Merged:
		r.Into = f.text("into")
		f.need(r.Into != "", "into", "the id of the load that stands for both")
	case journal.Correct:
		change := f.in["change"]
		f.used["change"] = true
		f.need(len(change) > 0, "change", "the values that change")
		r.Change = func(subject journal.Subject, body []byte) ([]byte, error) {
			return changed(subject, body, newForm(change, f.zone))
		}
	default: // nothing more for the others
	}
	return r
}

// changed returns the body of a record with what stands in the boxes put onto it.
func changed(subject journal.Subject, body []byte, f *form) ([]byte, error) {
	switch subject {
	case journal.ReadingSubject:
		return with(f, body, journal.ReadReading, f.reading, journal.ReadingBody)
	case journal.StageSubject:
		return with(f, body, journal.ReadStage, f.stage, journal.StageBody)
	case journal.BidSubject:
		return with(f, body, journal.ReadBid, f.bid, journal.BidBody)
	case journal.OutlookSubject:
		return with(f, body, journal.ReadOutlook, f.forecast, journal.OutlookBody)
	case journal.LoadSubject:
		l, err := journal.ReadLoad(body)
		if err != nil {
			return nil, err
		}
		f.load(&l)
		l.Typed = retyped(l.Typed, f)
		return journal.LoadBody(l), f.done()
	case journal.ChequeSubject:
		c, err := journal.ReadCheque(body)
		if err != nil {
			return nil, err
		}
		f.cheque(&c)
		c.Typed = retyped(c.Typed, f)
		return journal.ChequeBody(c), f.done()
	case journal.SheetSubject:
		p, err := journal.ReadSheet(body)
		if err != nil {
			return nil, err
		}
		f.sheet(&p)
		p.Typed = retyped(p.Typed, f)
		return journal.SheetBody(p), f.done()
	case journal.SeasonSubject, journal.BookSubject:
	}
	return nil, &problem.InputError{Rule: "correct.kind", Label: "Entry", Got: string(subject), Want: "a reading, stage, bid, forecast day, load, cheque or sheet"}
}

func with[T any](f *form, body []byte, open func([]byte) (T, journal.Typed, error), onto func(*T), write func(T, journal.Typed) []byte) ([]byte, error) {
	v, typed, err := open(body)
	if err != nil {
		return nil, err
	}
	onto(&v)
	return write(v, retyped(typed, f)), f.done()
}

// retyped returns what was typed before, with what is typed now in its place.
func retyped(before journal.Typed, f *form) journal.Typed {
	out := journal.Typed{}
	maps.Copy(out, before)
	maps.Copy(out, f.typed)
	return out
}

// settings reads the owner's own words and limits.
func (f *form) settings() *app.Settings {
	s := &app.Settings{}
	for key, to := range map[string]**string{"name": &s.Name, "place": &s.Place, "contact": &s.Contact} {
		if text := f.text(key); f.has(key) {
			*to = &text
		}
	}
	s.Limits = f.limits()
	read(f, "season_end", "", quantity.ParseDay, &s.SeasonEnd)
	read(f, "work_from", "", clock, &s.WorkFrom)
	read(f, "work_until", "", clock, &s.WorkUntil)
	if days := f.list("days_off"); f.has("days_off") {
		off := []time.Weekday{}
		for _, name := range days {
			i := -1
			for k, d := range week {
				if weekday(d) == strings.ToLower(name) {
					i = k
				}
			}
			if i < 0 {
				f.refuse(atBox(&problem.InputError{Rule: "box.word", Label: "Days off", Got: shortened(name), Want: "mon, tue, wed, thu, fri, sat or sun"}, "days_off"))
				continue
			}
			off = append(off, week[i])
		}
		s.DaysOff = &off
	}
	return s
}

// schedule reads a schedule to be kept for an outlet and a crop.
func (f *form) schedule(body json.RawMessage) *app.NewSchedule {
	n := &app.NewSchedule{Outlet: f.text("outlet"), Text: rawText(body, "text")}
	f.used["text"] = true
	f.need(n.Outlet != "", "outlet", "the outlet that posts it")
	f.need(must(f, "crop", "", kind, &n.Crop), "crop", "the crop it is for")
	f.need(strings.TrimSpace(n.Text) != "", "text", "the whole schedule, in TOML or JSON")
	return n
}

// limits reads the wettest moistures that the owner cuts at, by crop.
func (f *form) limits() map[crop.Kind]trade.Percent {
	f.used["limits"] = true
	raw, ok := f.in["limits"]
	if !ok {
		return nil
	}
	in := newForm(raw, f.zone)
	out := map[crop.Kind]trade.Percent{}
	for name := range in.in {
		k, err := kind("Limit", name)
		if err != nil {
			f.refuse(atBox(err, "limits"))
			continue
		}
		p, err := trade.ParsePercentIn("Limit for "+name, pointed(in.text(name)), 5_00, 40_00)
		if err != nil {
			f.refuse(atBox(err, "limits"))
			continue
		}
		out[k] = p
	}
	return out
}
