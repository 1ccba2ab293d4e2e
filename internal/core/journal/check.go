package journal

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// A fence is the range outside which a printed number cannot be true. The fences here are the hard ones, and
// judgement all of them; narrower, usual ranges belong to whoever asks the person. [judgement]
type fence struct {
	low, high int64
	want      string
}

var (
	moistureFence = fence{0, 60_00, "0 to 60 % wet basis"}
	basisFence    = fence{-20_00000, 20_00000, "-20 to 20 dollars"}
	priceFence    = fence{1, 200_00000, "above 0, up to 200 dollars"}
	tempFence     = fence{-80_000, 140_000, "-80 to 140 F"}
)

const (
	maxWeight = 1_000_000_000 // what a scale ticket can say at all
	// heaviest is more than any truck on a public road or farm weighs.
	heaviest = 400_000
	// ahead is how far an entry's day may lie after the office's now: a zone's width and a late night.
	ahead = 36 * time.Hour
	// skewNote and skewUnknown are the clock differences from which a device's time is corrected, and from
	// which it is no time at all.
	skewNote    = 2 * time.Minute
	skewUnknown = 24 * time.Hour
	// maxAhead is how far a device's clock may run before the office's unmeasured.
	maxAhead = 10 * time.Minute
)

// Check returns what is doubtful in e, which the office receives at now. An error says that e cannot be read at
// all and never enters the book. Of the findings, an Error stops a form or an import until the person has mended
// it and puts an entry from a phone's outbox to review; a Warning puts any entry to review; a Note is shown.
func Check(e Event, now time.Time) ([]problem.Finding, error) {
	if err := checkEnvelope(e); err != nil {
		return nil, err
	}
	c := checker{now: now}
	subject, act, _ := e.Kind.Split()
	body := e.Body
	if !act.begins() {
		s, err := ReadSaying(e)
		if err != nil {
			return nil, err
		}
		body = s.To
	} else if err := readable(subject, e.Body); err != nil {
		return nil, err
	}
	if body != nil {
		c.body(subject, body)
	}
	c.clock(e)
	return c.found, nil
}

func checkEnvelope(e Event) error {
	bad := func(label, got, want string) error {
		return &problem.InputError{Rule: "entry.envelope", Label: label, Got: cut(got), Want: want}
	}
	if !e.ID.Valid() {
		return bad("Entry ID", string(e.ID), "a UUID in lower case")
	}
	if _, _, ok := e.Kind.Split(); !ok {
		return &problem.InputError{
			Rule: "entry.kind", Label: "Kind", Got: cut(string(e.Kind)), Want: "a kind this version knows",
			Next: "Update the program that receives the entry, then send it again.",
		}
	}
	_, act, _ := e.Kind.Split()
	switch e.Origin {
	case Form, Outbox, Import, Program:
		if (e.Origin == Program) != (act == Restored) {
			return bad("Origin", string(e.Origin), "program for what the program itself notes, and for nothing else")
		}
	default:
		return bad("Origin", string(e.Origin), "form, outbox, import or program")
	}
	for _, t := range []struct{ label, text string }{{"Farm", e.Farm}, {"Device", e.Device}, {"Entered by", e.By}} {
		if Clean(t.text) != t.text || len(t.text) > maxName {
			return bad(t.label, t.text, "at most 80 characters, none of them control characters")
		}
	}
	switch {
	case e.Farm == "":
		return bad("Farm", "", "the farm's ID")
	case e.Counter < 0 || e.Counter > maxInteger:
		return bad("Device counter", strconv.FormatInt(e.Counter, 10), "from 1, or none")
	case e.At.Year() < 1 || e.At.Year() > 9999:
		return bad("Time of entry", e.At.String(), "an instant of the years 1 to 9999")
	case e.Offset < -24*60 || e.Offset > 24*60:
		return bad("Zone offset", strconv.Itoa(e.Offset), "minutes of a day")
	}
	return nil
}

type checker struct {
	now   time.Time
	found []problem.Finding
}

func (c *checker) add(s problem.Severity, rule, label, got, want, say, next string) {
	c.found = append(c.found, problem.Finding{Rule: rule, Severity: s, Label: label, Got: got, Want: want, Say: say, Next: next})
}

// inside checks a printed number against its fence; unit may be empty.
func (c *checker) inside(f fence, rule, label string, n int64, places int, unit string) {
	if n >= f.low && n <= f.high {
		return
	}
	got := decimal(n, places)
	if unit != "" {
		got += " " + unit
	}
	next := "Correct it, or leave it empty if it is not known."
	for _, power := range []int64{10, 100} {
		if n%power == 0 && n/power > f.low && n/power <= f.high {
			next = "Did you mean " + decimal(n/power, places) + "?"
			break
		}
		if n > 0 && n*power >= f.low && n*power <= f.high {
			next = "Did you mean " + decimal(n*power, places) + "?"
			break
		}
	}
	c.add(problem.Error, rule, label, got, f.want, fmt.Sprintf("%s %s is not possible (%s).", label, got, f.want), next)
}

func (c *checker) body(s Subject, body []byte) {
	// The body was read once already; nothing here can fail.
	switch s {
	case LoadSubject:
		l, _ := ReadLoad(body)
		c.load(l)
	case ReadingSubject:
		r, _, _ := ReadReading(body)
		c.inside(moistureFence, "moisture.range", "Moisture", int64(r.Moisture), 2, "%")
		c.oneOf("reading.device", "Device", r.Device, "meter", "bite", "combine", "ticket")
		if r.Zone != "" {
			c.oneOf("reading.zone", "Zone", r.Zone, "whole", "low", "knob", "load")
		}
		c.notAhead("Time of the reading", r.At)
	case StageSubject:
		g, _, _ := ReadStage(body)
		if g.Zone != "" {
			c.oneOf("stage.zone", "Zone", g.Zone, "whole", "low", "knob")
		}
		c.notAhead("Day of the sighting", g.On.Start(time.UTC))
	case BidSubject:
		b, _, _ := ReadBid(body)
		c.bid(b.Cash, b.Futures, b.Basis)
		c.notAhead("Time the bid was heard", b.Taken)
	case OutlookSubject:
		d, _, _ := ReadOutlook(body)
		high, low := thousandthF(d.High), thousandthF(d.Low)
		c.inside(tempFence, "outlook.temperature", "High", high, 3, "F")
		c.inside(tempFence, "outlook.temperature", "Low", low, 3, "F")
		if low > high {
			c.add(problem.Error, "outlook.order", "Low", decimal(low, 3)+" F", "at most the high",
				fmt.Sprintf("Low %s F is above the high of %s F.", decimal(low, 3), decimal(high, 3)), "Swap them?")
		}
	case ChequeSubject:
		q, _ := ReadCheque(body)
		c.cheque(q)
	case SheetSubject:
		p, _ := ReadSheet(body)
		c.sheet(p)
	default: // nothing for the others
	}
}

func (c *checker) oneOf(rule, label, got string, want ...string) {
	for _, w := range want {
		if got == w {
			return
		}
	}
	list := strings.Join(want, ", ")
	c.add(problem.Error, rule, label, got, list, fmt.Sprintf("%s %q is not one of %s.", label, cut(got), list), "Choose one of them.")
}

func (c *checker) notAhead(label string, t time.Time) {
	if t.Sub(c.now) <= ahead {
		return
	}
	day := t.UTC().Format("2 Jan 2006")
	c.add(problem.Error, "time.window", label, day, "not after tomorrow",
		fmt.Sprintf("%s: %s lies in the future.", label, day), fmt.Sprintf("Year %d?", c.now.UTC().Year()))
}

func (c *checker) bid(cash, futures, basis *trade.Price) {
	if cash == nil && basis == nil {
		c.add(problem.Error, "bid.price", "Price", "", "a cash price, or futures and basis", "Price is missing; nothing is assumed in its place.",
			"Enter the cash price, or futures and basis.")
	}
	if cash != nil {
		c.inside(priceFence, "bid.range", "Cash price", int64(*cash), 5, "$")
	}
	if futures != nil {
		c.inside(priceFence, "bid.range", "Futures", int64(*futures), 5, "$")
	}
	if basis != nil {
		c.inside(basisFence, "bid.range", "Basis", int64(*basis), 5, "$")
	}
}

func (c *checker) load(l Load) {
	c.weights(l)
	if l.Moisture != nil {
		c.inside(moistureFence, "moisture.range", "Moisture", int64(*l.Moisture), 2, "%")
	}
	for _, f := range factors(&l.Quality) {
		if *f.value != nil {
			c.inside(f.fence, "factor.range", f.label, int64(**f.value), 2, strings.Fields(f.fence.want)[3])
		}
	}
	c.notAhead("Harvest day", l.Day.Start(time.UTC))
	if l.CropYear < l.Day.Year-5 || l.CropYear > l.Day.Year+1 {
		c.add(problem.Error, "load.crop-year", "Crop year", strconv.Itoa(l.CropYear), "the year the crop was cut",
			fmt.Sprintf("Crop year %d does not fit the harvest day %s.", l.CropYear, l.Day), "Correct the one that is wrong.")
	}
	if l.In != nil && l.Out != nil && l.Out.Before(*l.In) {
		c.add(problem.Error, "load.times", "Time out", FormatInstant(*l.Out), "after the time in",
			fmt.Sprintf("Time out %s lies before time in %s.", FormatInstant(*l.Out), FormatInstant(*l.In)), "Swapped?")
	}
}

func (c *checker) weights(l Load) {
	w := l.Weights
	weigh := func(n int64) string { return grouped(n) + " " + string(w.Unit) }
	for _, one := range []struct {
		label string
		n     *int64
	}{{"Full weight", w.Gross}, {"Empty weight", w.Tare}, {"Net weight", w.Net}} {
		if one.n == nil {
			continue
		}
		if *one.n < 0 {
			c.add(problem.Error, "load.negative", one.label, weigh(*one.n), "0 or more",
				fmt.Sprintf("%s %s is negative; a weight cannot be.", one.label, weigh(*one.n)),
				"To take a load back, void its ticket instead.")
		} else if *one.n > heaviest {
			c.add(problem.Error, "load.weight", one.label, weigh(*one.n), "up to 400,000",
				fmt.Sprintf("%s %s is more than a truck can weigh.", one.label, weigh(*one.n)), "A digit too many?")
		}
	}
	net, known := w.Carried()
	switch {
	case w.Gross != nil && w.Tare != nil && *w.Tare > *w.Gross && *w.Gross >= 0:
		c.add(problem.Error, "load.weight-order", "Empty weight", weigh(*w.Tare), "at most the full weight",
			fmt.Sprintf("Empty weight %s is more than full weight %s.", weigh(*w.Tare), weigh(*w.Gross)), "Swapped?")
	case known && net == 0 && !l.Empty:
		c.add(problem.Error, "load.empty", "Net weight", weigh(0), "more than 0",
			"Net weight is 0 "+string(w.Unit)+".", "Record an empty trip, or correct the weights.")
	case w.Gross != nil && w.Tare != nil && w.Net != nil && *w.Net != *w.Gross-*w.Tare:
		c.add(problem.Warning, "load.net", "Net weight", weigh(*w.Net), weigh(*w.Gross-*w.Tare),
			fmt.Sprintf("Net weight %s on the ticket is not full less empty weight, %s.", weigh(*w.Net), weigh(*w.Gross-*w.Tare)),
			"Look at the paper ticket and correct the weight that is wrong.")
	}
}

// clock judges the device's clock.
func (c *checker) clock(e Event) {
	if e.Skew == nil {
		if e.At.Sub(c.now) > maxAhead {
			c.add(problem.Warning, "clock.ahead", "Time of entry", FormatInstant(e.At), "not after the office's time",
				fmt.Sprintf("The entry says it was made at %s; the office's clock says %s.", FormatInstant(e.At), FormatInstant(c.now)),
				"Set the clock that is wrong; the order of entries does not depend on it.")
		}
		return
	}
	off, word := *e.Skew, "behind"
	if off < 0 {
		off, word = -off, "ahead"
	}
	switch {
	case off > skewUnknown:
		c.add(problem.Warning, "clock.unknown", "Time of entry", FormatInstant(e.At), "within 24 hours of the office's clock",
			fmt.Sprintf("This device's clock is %s %s; when the entry was made is not known.", span(off), word),
			"Set the device's clock, and give the time of this entry.")
	case off > skewNote:
		c.add(problem.Note, "clock.skew", "Time of entry", FormatInstant(e.At), "",
			fmt.Sprintf("This device's clock is %s %s; times are shown corrected, the original is kept.", span(off), word),
			"Set the device's clock.")
	}
}

// span returns d in the largest fitting unit, "3 days".
func span(d time.Duration) string {
	for _, u := range []struct {
		of   time.Duration
		name string
	}{{24 * time.Hour, "day"}, {time.Hour, "hour"}, {time.Minute, "minute"}} {
		if n := int(d.Round(u.of) / u.of); n >= 1 {
			if n > 1 {
				u.name += "s"
			}
			return strconv.Itoa(n) + " " + u.name
		}
	}
	return d.String()
}

// decimal returns n units of the last of places decimals, grouped, without trailing zeros.
func decimal(n int64, places int) string {
	sign, digits := "", strconv.FormatInt(n, 10)
	if n < 0 {
		sign, digits = "-", digits[1:]
	}
	for len(digits) <= places {
		digits = "0" + digits
	}
	whole, rest := digits[:len(digits)-places], strings.TrimRight(digits[len(digits)-places:], "0")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if rest == "" {
		return sign + whole
	}
	return sign + whole + "." + rest
}

func grouped(n int64) string { return decimal(n, 0) }
