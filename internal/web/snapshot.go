package web

import (
	"math"
	"slices"
	"strings"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// snapshotOf turns the book as it stands into the document.
func (s *Server) snapshotOf(in *app.Snapshot) snapshotDoc {
	doc := snapshotDoc{
		Program: in.Program, Demo: s.set.Demo, Data: baseName(in.Data), At: answer.Stamp(in.At), Now: answer.Stamp(in.Now), Head: headDoc(in.Head), Epoch: in.Restores,
		Fields: []fieldDoc{}, Machines: []machineDoc{}, Outlets: []outletDoc{}, Bins: []binDoc{}, Contracts: []contractDoc{}, Parties: []partyDoc{},
		Readings: []readingDoc{}, Stages: []stageDoc{}, Bids: []bidDoc{}, Premiums: []premiumDoc{}, Outlook: []outlookDayDoc{},
		Loads: s.loadsOf(in.Loads, "day", in.Settled, in.Now.Location()), Waiting: []waitDoc{}, Findings: []answer.Complaint{}, Weather: weatherDoc{Words: []string{}},
	}
	if in.ReadOnly != nil {
		doc.ReadOnly = firstOf(in.ReadOnly)
	}
	if in.Season == nil {
		return doc
	}
	zone := in.Now.Location()
	doc.Farm = farmOf(in.Season)
	v := view{season: in.Season, zone: zone, standing: in.Standing}
	doc.Fields, doc.Machines, doc.Outlets = v.fields(), v.machines(), v.outlets(in.Schedules, s.scheduleOf)
	doc.Bins, doc.Contracts, doc.Parties = v.bins(), v.contracts(), v.parties()
	doc.Readings, doc.Stages, doc.Bids, doc.Premiums, doc.Outlook = v.readings(), v.stages(), v.bids(), v.premiums(), v.outlook()
	doc.WaitMore = in.WaitMore
	for _, w := range in.Waiting {
		doc.Waiting = append(doc.Waiting, waitOf(w, zone))
	}
	for _, f := range in.Findings {
		doc.Findings = append(doc.Findings, answer.OfFinding(f))
	}
	doc.Weather.OutlookAt = moment(in.OutlookAt, zone)
	doc.BidsAt = bidsAtDoc{moment(in.Bids.Oldest, zone), moment(in.Bids.Newest, zone)}
	return doc
}

func farmOf(s *farm.Season) *farmDoc {
	f := &farmDoc{
		ID: s.Farm.ID, Name: s.Farm.Name, Place: s.Farm.Place, Zone: s.Farm.Zone, Year: s.Farm.Year, Limits: map[string]string{},
		WorkFrom: s.Prefer.WorkFrom.String(), WorkUntil: s.Prefer.WorkUntil.String(), DaysOff: []string{}, Credit: s.Farm.Weather.Note, Contact: s.Farm.Weather.Contact,
	}
	if s.Farm.At != nil {
		f.Lat, f.Lon = &s.Farm.At.Lat, &s.Farm.At.Lon
	}
	for k, limit := range s.Prefer.Limits {
		f.Limits[k.String()] = limit.String()
	}
	for _, d := range s.Prefer.DaysOff {
		f.DaysOff = append(f.DaysOff, weekday(d))
	}
	if !s.Prefer.SeasonEnd.IsZero() {
		f.SeasonEnd = dayText(&s.Prefer.SeasonEnd)
	}
	if s.Farm.AsOf != nil {
		at := answer.Stamp(*s.Farm.AsOf)
		f.AsOf = &at
	}
	return f
}

// A view turns the records of one season into documents.
type view struct {
	season   *farm.Season
	zone     *time.Location
	standing map[string]app.Standing
}

func (v view) fields() []fieldDoc {
	out := []fieldDoc{}
	for _, f := range v.season.Fields {
		d := fieldDoc{
			ID: f.ID, Name: f.Name, Crop: f.Crop.String(), Class: f.Class, Variety: f.Variety, Acres: f.Acres, CutAcres: f.CutAcres,
			Yield: f.Yield.BuPerAcre, YieldHow: f.Yield.How, Base: f.Yield.Base.String(), Planted: dayText(f.Planted), RelativeMaturity: f.RelativeMaturity,
			Mature: dayText(f.Mature), Evenness: f.Evenness, Miles: f.Miles, Entrances: []entranceDoc{}, Shares: []shareDoc{},
		}
		if d.Name == "" {
			d.Name = f.ID
		}
		if d.Miles == nil {
			d.Miles = map[string]float64{}
		}
		d.Limit = percentText(f.Limit)
		if limit, ok := v.season.Prefer.Limits[f.Crop]; f.Limit == nil && ok {
			d.Limit = percentText(&limit)
		}
		for _, e := range f.Entrances {
			d.Entrances = append(d.Entrances, entranceDoc{e.Name, feet(e.Width), feet(e.Height), pounds(e.Limit), e.Note})
		}
		for _, sh := range f.Shares {
			one := shareDoc{Party: sh.Party, Num: sh.Num, Den: sh.Den}
			for _, p := range v.season.Parties {
				if p.ID == sh.Party {
					one.Name, one.Role = p.Name, p.Role
				}
			}
			d.Shares = append(d.Shares, one)
		}
		out = append(out, d)
	}
	return out
}

func (v view) machines() []machineDoc {
	out := []machineDoc{}
	for _, c := range v.season.Combines {
		d := machineDoc{
			ID: c.ID, Kind: "combine", Name: named(c.Name, c.ID), Count: 1, Width: feet(c.Width), Height: feet(c.Height), Weight: pounds(c.Weight), Holds: positive(c.TankBu),
			OutUntil: dayText(c.OutUntil), ServiceDue: c.ServiceDue,
		}
		for _, h := range c.Heads {
			d.Heads = append(d.Heads, headBar{h.Name, cropNames(h.Crops), round(h.Width.Feet())})
		}
		out = append(out, d)
	}
	for _, c := range v.season.Carts {
		out = append(out, machineDoc{ID: c.ID, Kind: "cart", Name: named(c.Name, c.ID), Count: 1, Holds: positive(c.Bu)})
	}
	for _, t := range v.season.Trucks {
		out = append(out, machineDoc{
			ID: t.ID, Kind: "truck", Name: named(t.Name, t.ID), Count: max(1, t.Count), Width: feet(t.Width), Height: feet(t.Height), Gross: pounds(t.Gross), Tare: pounds(t.Tare),
		})
	}
	return out
}

// week is the order in which opening hours are listed.
var week = [...]time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday, time.Saturday, time.Sunday}

func weekday(d time.Weekday) string { return strings.ToLower(d.String()[:3]) }

func (v view) outlets(posted []app.Posted, doc func(app.Posted) scheduleDoc) []outletDoc {
	out := []outletDoc{}
	for _, o := range v.season.Outlets {
		d := outletDoc{ID: o.ID, Name: named(o.Name, o.ID), Miles: o.Miles, Phone: o.Phone, Note: o.Note, Open: []openDoc{}, Closed: []string{}, Schedules: []scheduleDoc{}}
		for _, day := range week {
			if h, ok := o.Open[day]; ok {
				d.Open = append(d.Open, openDoc{weekday(day), h[0].String(), h[1].String()})
			}
		}
		for _, day := range o.Closed {
			d.Closed = append(d.Closed, day.String())
		}
		for _, p := range posted {
			if p.Outlet == o.ID {
				d.Schedules = append(d.Schedules, doc(p))
			}
		}
		out = append(out, d)
	}
	return out
}

func (s *Server) scheduleOf(p app.Posted) scheduleDoc {
	d := scheduleDoc{Crop: p.Crop.String(), File: p.File, Words: []string{}, Profile: []string{}}
	if p.Trouble != nil {
		d.Trouble = firstOf(p.Trouble)
		return d
	}
	schedule := p.Terms.Schedule()
	d.Schedule, d.Words, d.Profile = s.set.Schedule(schedule), schedule.Sentences(), schedule.Profile()
	if len(p.Curve) > 0 {
		d.Curve = &curveDoc{Price: p.Price.Fixed()}
	}
	for _, c := range p.Curve {
		point := [2]*string{new(c.Reading.String()), nil}
		if c.Why == nil {
			point[1] = new(c.Net.Fixed())
		}
		d.Curve.Points = append(d.Curve.Points, point)
	}
	return d
}

func (v view) bins() []binDoc {
	out := []binDoc{}
	for _, b := range v.season.Bins {
		out = append(out, binDoc{b.ID, named(b.Name, b.ID), b.Crop.String(), b.HoldsBu, b.InBu, b.MaxMoisture.String(), b.Dryer})
	}
	return out
}

func (v view) contracts() []contractDoc {
	out := []contractDoc{}
	for _, c := range v.season.Contracts {
		out = append(out, contractDoc{
			ID: c.ID, Outlet: c.Outlet, Crop: c.Crop.String(), Kind: c.Kind, Bu: c.Bu.String(), Applied: c.AppliedBu.String(),
			Price: priceText(c.Price), Futures: priceText(c.Futures), Basis: priceText(c.Basis), From: dayText(c.From), Until: c.Until.String(),
		})
	}
	return out
}

func (v view) parties() []partyDoc {
	out := []partyDoc{}
	for _, p := range v.season.Parties {
		out = append(out, partyDoc(p))
	}
	return out
}

func (v view) entry(id string) entryDoc {
	d := entryDoc{ID: id, Waits: []string{}}
	if s, ok := v.standing[id]; ok && id != "" {
		d.Version, d.Entered, d.Waits = s.Version, true, answer.List(s.Waits)
	}
	return d
}

func (v view) readings() []readingDoc {
	out := []readingDoc{}
	for _, r := range v.season.Readings {
		out = append(out, readingDoc{v.entry(r.ID), r.Field, answer.Stamp(r.At.In(v.zone)), r.Moisture.String(), r.Device, r.Name, r.Spots, r.Zone, r.By, r.Note})
	}
	slices.SortStableFunc(out, func(a, b readingDoc) int { return strings.Compare(a.At, b.At) })
	return out
}

func (v view) stages() []stageDoc {
	out := []stageDoc{}
	for _, s := range v.season.Stages {
		out = append(out, stageDoc{v.entry(s.ID), s.Field, s.On.String(), s.Stage, s.Pct, s.Zone, s.By, s.Note})
	}
	return out
}

func (v view) bids() []bidDoc {
	out := []bidDoc{}
	for _, b := range v.season.Bids {
		d := bidDoc{
			entryDoc: v.entry(b.ID), Outlet: b.Outlet, Crop: b.Crop.String(), Cash: priceText(b.Cash), Futures: priceText(b.Futures), Basis: priceText(b.Basis),
			Price: priceText(b.Cash), Month: b.Month, From: dayText(b.From), Until: dayText(b.Until),
		}
		if b.Cash == nil && b.Futures != nil && b.Basis != nil {
			whole := *b.Futures + *b.Basis
			d.Price = priceText(&whole)
		}
		if !b.Taken.IsZero() {
			d.At = moment(&b.Taken, v.zone)
		}
		out = append(out, d)
	}
	return out
}

func (v view) premiums() []premiumDoc {
	out := []premiumDoc{}
	for _, p := range v.season.Premiums {
		out = append(out, premiumDoc{p.ID, p.Outlet, p.Crop.String(), p.Amount.Fixed(), dayText(p.From), p.Until.String(), p.CapBu, percentText(p.MaxMoisture)})
	}
	return out
}

func (v view) outlook() []outlookDayDoc {
	out := []outlookDayDoc{}
	for _, d := range v.season.Outlook {
		out = append(out, outlookDayDoc{
			d.On.String(), round(d.High.Fahrenheit()), round(d.Low.Fahrenheit()), d.RainPct, d.Amount, d.When, d.Dew, d.Wind, d.Sky, moment(d.Entered, v.zone),
		})
	}
	return out
}

func dayText(d *calendar.Day) *string {
	if d == nil {
		return nil
	}
	s := d.String()
	return &s
}

func percentText(p *trade.Percent) *string {
	if p == nil {
		return nil
	}
	s := p.String()
	return &s
}

func priceText(p *trade.Price) *string {
	if p == nil {
		return nil
	}
	s := p.Fixed()
	return &s
}

func moment(t *time.Time, zone *time.Location) *string {
	if t == nil {
		return nil
	}
	s := answer.Stamp(t.In(zone))
	return &s
}

func feet(l *units.Length) *float64 {
	if l == nil {
		return nil
	}
	x := round(l.Feet())
	return &x
}

func pounds(m *units.Mass) *float64 {
	if m == nil {
		return nil
	}
	x := math.Round(m.Pounds())
	return &x
}

// round keeps what a person typed in the other unit from showing its last bits.
func round(x float64) float64 { return math.Round(x*1000) / 1000 }

// positive returns nil for what a season file leaves at 0: it is not known.
func positive(x float64) *float64 {
	if x == 0 {
		return nil
	}
	return &x
}

func named(name, id string) string {
	if name == "" {
		return id
	}
	return name
}

func cropNames(all []crop.Kind) []string {
	out := make([]string, len(all))
	for i, k := range all {
		out[i] = k.String()
	}
	return out
}
