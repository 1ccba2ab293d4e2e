package app

import (
	"fmt"
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/capacity"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// What is usual, beside what the season knows. All of it is judgement: outside it an entry is stored, and a question is
// asked. [judgement]
const (
	// recent is how long the reading before says something of the next.
	recent = 14 * 24 * time.Hour
	// wetter is how far grain may come back in rain and dew, and between one spot and the next.
	wetter trade.Percent = 8_00
	// drier and drierADay are how far it may fall at once, by another spot and meter, and with each day.
	drier, drierADay trade.Percent = 5_00, 3_00
	// driest is drier than grain gets in any field air; a smaller figure is a fraction of 1.
	driest trade.Percent = 3_00
	// farBid is how many times the last bid a new one may be, or the last bid the new one.
	farBid = 1.5
	// heavy is how many times the federal gross limit no truck of a farm weighs.
	heavy = 1.5
	// tareOff is the part of a truck's empty weight by which a tare may differ.
	tareOff = 0.15
	// lightTest and heavyTest bound the test weight as parts of the crop's standard bushel.
	lightTest, heavyTest = 0.75, 1.2
)

// doubts returns what is unusual in an entry: it can be true, and more often is a slip. The entry is in the book either
// way.
func (a *App) doubts(st *standing, e event) []problem.Finding {
	subject, act, _ := e.kind.Split()
	body := e.body
	switch act {
	case journal.Recorded:
	case journal.Correct:
		said, err := journal.ReadSaying(journal.Event{Kind: e.kind, Body: body})
		if err != nil {
			return nil // it is in the book, so it was read
		}
		body = said.To
	default:
		return nil
	}
	d := doubter{season: st.file.Season, now: a.meant(st)}
	// The body was read when it was entered; nothing here can fail.
	switch subject {
	case journal.ReadingSubject:
		r, _, _ := journal.ReadReading(body)
		d.reading(r)
	case journal.StageSubject:
		s, _, _ := journal.ReadStage(body)
		d.checked(farm.Season{Stages: []farm.Sighting{s}}, "stage")
	case journal.BidSubject:
		b, _, _ := journal.ReadBid(body)
		d.bid(b)
	case journal.OutlookSubject:
		o, _, _ := journal.ReadOutlook(body)
		d.forecast(o)
	case journal.LoadSubject:
		l, _ := journal.ReadLoad(body)
		d.load(l)
	case journal.ChequeSubject, journal.SheetSubject, journal.SeasonSubject, journal.BookSubject:
	}
	return d.found
}

// A doubter looks at one entry against the season as it stood before.
type doubter struct {
	season *farm.Season
	now    time.Time
	found  []problem.Finding
}

func (d *doubter) add(rule, label, got, say, next string) {
	d.found = append(d.found, problem.Finding{Rule: rule, Severity: problem.Warning, Label: label, Got: got, Say: say, Next: next})
}

// checked takes over what the season file's own check says of one record, the only one of its kind in with.
func (d *doubter) checked(with farm.Season, kind string) {
	s := *d.season
	s.Readings, s.Stages, s.Bids = with.Readings, with.Stages, with.Bids
	record := farm.RecordName(kind, "", 1)
	for _, f := range append(farm.Check(&s), farm.CheckDates(&s, d.now, d.now.Location())...) {
		if f.Where.Path == record {
			f.Where = problem.Place{}
			d.found = append(d.found, f)
		}
	}
}

func (d *doubter) reading(r farm.Reading) {
	d.checked(farm.Season{Readings: []farm.Reading{r}}, "reading")
	d.moisture(r.Field, r.At, r.Moisture)
}

// moisture compares a figure with the field's reading before it.
func (d *doubter) moisture(field string, at time.Time, m trade.Percent) {
	var last *farm.Reading
	for i, r := range d.season.Readings {
		if age := at.Sub(r.At); r.Field == field && age > 0 && age <= recent && (last == nil || r.At.After(last.At)) {
			last = &d.season.Readings[i]
		}
	}
	if last == nil || m < driest {
		return
	}
	days := trade.Percent(at.Sub(last.At).Hours()/24 + 1)
	word, by := "wetter", m-last.Moisture
	if by < 0 {
		word, by = "drier", -by
	}
	if word == "wetter" && by <= wetter || word == "drier" && by <= drier+days*drierADay {
		return
	}
	next := "Correct it if it was mistyped."
	if other := swapped(m); abs(other-last.Moisture) < by/2 && other != m {
		next = fmt.Sprintf("Did you mean %s?", other)
	}
	d.add("moisture.jump", "Moisture", m.String(), fmt.Sprintf("%s %% is %s points %s than the %s %% read in %s on %s.",
		m, by, word, last.Moisture, field, last.At.In(d.now.Location()).Format("Mon 2 Jan")), next)
}

// swapped returns p with the two digits before its point exchanged.
func swapped(p trade.Percent) trade.Percent {
	whole, rest := p/100, p%100
	if whole > 99 {
		return p
	}
	return (whole%10*10+whole/10)*100 + rest
}

func abs(p trade.Percent) trade.Percent { return max(p, -p) }

func (d *doubter) bid(b farm.Bid) {
	d.checked(farm.Season{Bids: []farm.Bid{b}}, "bid")
	var last *farm.Bid
	for i, other := range d.season.Bids {
		if other.Crop == b.Crop && other.Taken.Before(b.Taken) && (last == nil || other.Taken.After(last.Taken)) && priceOf(other) > 0 {
			last = &d.season.Bids[i]
		}
	}
	if last == nil || priceOf(b) == 0 {
		return
	}
	times := priceOf(b).Float() / priceOf(*last).Float()
	if times <= farBid && times >= 1/farBid {
		return
	}
	d.add("bid.jump", "Price", "$"+priceOf(b).Fixed(), fmt.Sprintf("$%s is %.2g times the last bid for %s, $%s at %s.", priceOf(b).Fixed(), times, b.Crop, priceOf(*last).Fixed(), last.Outlet),
		"Cents or dollars, the right crop, a digit too many? Correct it if so.")
}

// priceOf returns the complete price of a bid; 0 when it has none.
func priceOf(b farm.Bid) trade.Price {
	switch {
	case b.Cash != nil:
		return *b.Cash
	case b.Futures != nil && b.Basis != nil:
		return *b.Futures + *b.Basis
	}
	return 0
}

func (d *doubter) forecast(o farm.OutlookDay) {
	if today := calendar.DayOf(d.now, d.now.Location()); o.On.Before(today) {
		d.add("forecast.past", "Day", o.On.String(), fmt.Sprintf("%s has passed; a plan looks ahead from %s.", o.On, today), "Correct the day if it was mistyped.")
	}
}

func (d *doubter) load(l journal.Load) {
	for _, p := range l.From {
		i := slices.IndexFunc(d.season.Fields, func(f farm.Field) bool { return f.ID == p.Field })
		if i >= 0 && d.season.Fields[i].Crop != l.Crop {
			d.add("load.crop", "Crop", l.Crop.String(), fmt.Sprintf("%s grows %s; this load is %s.", p.Field, d.season.Fields[i].Crop, l.Crop), "Correct the field or the crop.")
		}
		if l.Moisture != nil && l.In != nil {
			d.moisture(p.Field, *l.In, *l.Moisture)
		}
	}
	if l.Moisture != nil && *l.Moisture < driest {
		d.add("load.fraction", "Moisture", l.Moisture.String(), fmt.Sprintf("%s %% is drier than any grain from a field.", *l.Moisture), "If it was written as a fraction, write it in percent.")
	}
	d.weights(l)
	d.testWeight(l)
	d.place(l)
}

// weights compares the scale's figures with the truck's.
func (d *doubter) weights(l journal.Load) {
	if l.Weights.Unit != journal.Pounds {
		return // the limits below are in pounds; a scale of kilograms stands elsewhere
	}
	if g := l.Weights.Gross; g != nil && float64(*g) > heavy*capacity.FederalLimits().Gross.Float() {
		d.add("load.heavy", "Gross", fmt.Sprintf("%d lb", *g), fmt.Sprintf("Gross %d lb is more than any truck of a farm weighs.", *g), "A digit too many?")
	}
	i := slices.IndexFunc(d.season.Trucks, func(t farm.Truck) bool { return t.ID == l.Truck })
	if i < 0 {
		return
	}
	truck := d.season.Trucks[i]
	if t := l.Weights.Tare; t != nil && truck.Tare != nil {
		if is := truck.Tare.Pounds(); float64(*t) > is*(1+tareOff) || float64(*t) < is*(1-tareOff) {
			d.add("load.tare", "Tare", fmt.Sprintf("%d lb", *t), fmt.Sprintf("Tare %d lb; %s weighs %.0f lb empty.", *t, truck.ID, is), "Another truck, or a slip?")
		}
	}
	if g := l.Weights.Gross; g != nil && truck.Gross != nil {
		if f, within := capacity.OverLimit(trade.Pounds(*g), trade.Pounds(math.Round(truck.Gross.Pounds()))); !within {
			f.Severity, f.Next = problem.Warning, "Load less next time."
			d.found = append(d.found, f)
		}
	}
}

func (d *doubter) testWeight(l journal.Load) {
	standard, ok := crop.BushelPounds(l.Crop)
	if w := l.Quality.TestWeight; ok && w != nil && (w.Float() < lightTest*float64(standard) || w.Float() > heavyTest*float64(standard)) {
		d.add("load.test-weight", "Test weight", w.String(), fmt.Sprintf("Test weight %s lb is far from the %d lb of a bushel of %s.", *w, standard, l.Crop), "Correct it if it was mistyped.")
	}
}

// place compares where the load went with its contract and with what lies there.
func (d *doubter) place(l journal.Load) {
	for _, c := range d.season.Contracts {
		if c.ID == l.Contract && c.Outlet != l.Outlet {
			d.add("load.contract-outlet", "Contract", l.Contract, fmt.Sprintf("Contract %s is to be delivered to %s; this load went to %s.", c.ID, c.Outlet, l.Outlet), "Correct the contract or the outlet.")
		}
	}
	for _, b := range d.season.Bins {
		if b.ID == l.Outlet && b.Crop != l.Crop {
			d.add("load.bin-crop", "Bin", l.Outlet, fmt.Sprintf("Bin %s holds %s; this load is %s.", b.ID, b.Crop, l.Crop), "Correct the bin or the crop.")
		}
	}
}
