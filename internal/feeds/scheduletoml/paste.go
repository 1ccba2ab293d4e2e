package scheduletoml

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// A Draft is a schedule that is not whole yet, with what is to be asked of the buyer.
type Draft struct {
	Schedule settlement.Schedule
	Ask      []string         // beside the rows
	AskRow   map[int][]string // by row
}

// Paste reads the table of a buyer's sheet as it is copied out of a page or message: a heading that names what is measured and what
// is taken, and below it a line for each band.
//
//	Moisture discount, % of price, net bushels
//	13.1 - 13.5   1.25%
//	13.6 - 14.0   2.50%
//	over 18.0     rejected
//
// What the lines say is taken as the whole of what a reading in that band costs. Bands that go up by equal amounts become one row
// with steps. What the table does not say is asked for and never filled in. The error is problem.InputErrors or a
// *problem.InputError.
func Paste(file string, text string, k crop.Kind) (Draft, error) {
	p := &paster{file: file, d: Draft{AskRow: map[int][]string{}}}
	p.d.Schedule.Crop = k
	for n, line := range strings.Split(strings.TrimPrefix(text, "\ufeff"), "\n") {
		p.line(n+1, strings.TrimSpace(line))
		if len(p.errs) > 20 {
			break
		}
	}
	p.end()
	if len(p.errs) == 0 && len(p.d.Schedule.Rows) == 0 {
		p.fail(1, "paste.empty", "the table", "", `a heading like "Moisture discount, % of price" and lines like "13.1 - 13.5  1.25%"`)
	}
	slices.SortStableFunc(p.errs, func(a, b *problem.InputError) int { return cmp.Compare(a.Where.Line, b.Where.Line) })
	if err := p.errs.Or(); err != nil {
		return Draft{}, err
	}
	p.ask(k)
	return p.d, nil
}

// A paster reads line by line; section is the table under the newest heading.
type paster struct {
	file    string
	d       Draft
	errs    problem.InputErrors
	section *section
}

// A section is one heading with its bands.
type section struct {
	line    int
	heading string
	factor  settlement.Factor
	below   bool
	bands   []band
	limit   *trade.Decimal // beyond it a load is refused
}

// A band is one printed line: readings from low to high, both as printed, and what they cost.
type band struct {
	line      int
	low, high trade.Percent
	open      bool // no end is printed on the worse side
	amount    amount
	free      bool
}

func (p *paster) fail(line int, rule, label, got, want string) {
	p.errs = append(p.errs, &problem.InputError{Rule: rule, Label: label, Got: got, Want: want, Where: problem.Place{File: p.file, Line: line}})
}

const number = `(\d+(?:\.\d+)?)`

var (
	twoEnds = regexp.MustCompile(`^` + number + `\s*%?\s*(?:-|–|—|to|thru|through)\s*` + number + `\s*%?\s*[:=,|\s]\s*(.+)$`)
	oneEnd  = regexp.MustCompile(`(?i)^(?:(over|above|more than|greater than|>|under|below|less than|<)\s*)` + number + `\s*%?\s*[:=,|\s]\s*(.+)$`)
	andOn   = regexp.MustCompile(`(?i)^` + number + `\s*%?\s*(\+|(?:&|and|or)\s*(?:over|above|up|more|higher|under|below|less|lower|down))\s*[:=,|\s]\s*(.+)$`)
	refusal = regexp.MustCompile(`(?i)^(reject(ed|ion)?|refused?|not accepted|no)\b`)
	nothing = regexp.MustCompile(`(?i)^(none|no discount|no dock|no charge|free|base|0+(\.0+)?\s*(%|c|¢)?|-+)$`)
)

func (p *paster) line(n int, line string) {
	switch {
	case line == "" || strings.HasPrefix(line, "#"):
	case line[0] < '0' || line[0] > '9':
		if m := oneEnd.FindStringSubmatch(line); m != nil {
			p.beyond(n, m[1], m[2], m[3], false)
			return
		}
		p.heading(n, line)
	default:
		if m := twoEnds.FindStringSubmatch(line); m != nil {
			p.band(n, m[1], m[2], m[3])
		} else if m := andOn.FindStringSubmatch(line); m != nil {
			p.beyond(n, m[2], m[1], m[3], true)
		} else {
			p.fail(n, "paste.line", "the line", line, `a band and what it costs, as "13.1 - 13.5  1.25%", "over 18.0  rejected" or "13.0 or less  none"`)
		}
	}
}

// heads are the words by which sheets call what is measured, the longer first.
var heads = []struct {
	words  []string
	factor settlement.Factor
}{
	{[]string{"test weight", "test wt", "tw"}, settlement.TestWeight},
	{[]string{"broken corn", "bcfm"}, settlement.BCFM},
	{[]string{"shrunken"}, settlement.ShrunkenBroken},
	{[]string{"foreign m", "foreign", "fm", "f.m."}, settlement.ForeignMaterial},
	{[]string{"heat"}, settlement.HeatDamage},
	{[]string{"damage", "dmg"}, settlement.DamageTotal},
	{[]string{"split"}, settlement.Splits},
	{[]string{"dockage"}, settlement.Dockage},
	{[]string{"protein"}, settlement.Protein},
	{[]string{"vomitoxin", "don "}, settlement.Vomitoxin},
	{[]string{"aflatoxin"}, settlement.Aflatoxin},
	{[]string{"falling number"}, settlement.FallingNumber},
	{[]string{"green"}, settlement.Green},
	{[]string{"oil"}, settlement.Oil},
	{[]string{"moisture", "shrink", "drying"}, settlement.Moisture},
}

func (p *paster) heading(n int, line string) {
	p.end()
	lower := strings.ToLower(line) + " "
	for _, h := range heads {
		for _, w := range h.words {
			if at := strings.Index(lower, w); at >= 0 && (at == 0 || lower[at-1] < 'a' || lower[at-1] > 'z') {
				p.section = &section{line: n, heading: lower, factor: h.factor}
				p.section.below = h.factor == settlement.TestWeight || h.factor == settlement.FallingNumber || strings.Contains(lower, "below ")
				return
			}
		}
	}
	p.fail(n, "paste.heading", "the heading", line, "a line that names what is measured: moisture, test weight, foreign material, damage, heat, splits, dockage, protein, …")
	p.section = &section{line: n, heading: lower} // so that its lines are not each refused too
}

// reading parses a printed limit.
func (p *paster) reading(n int, text string) trade.Percent {
	d, err := trade.ParseDecimal("reading", text)
	x, ok := d.Units(2)
	if err != nil || !ok {
		p.fail(n, "paste.reading", "the band", text, "a reading of at most two decimals")
	}
	return trade.Percent(x)
}

func (p *paster) under(n int, line string) bool {
	if p.section == nil {
		p.fail(n, "paste.heading", "the line", line, "a heading above it that names what is measured")
		p.section = &section{line: n}
	}
	return p.section.factor != settlement.NoFactor
}

func (p *paster) band(n int, a, b, cost string) {
	if !p.under(n, cost) {
		return
	}
	low, high := p.reading(n, a), p.reading(n, b)
	if low > high {
		low, high = high, low
	}
	p.add(n, band{line: n, low: low, high: high}, cost)
}

// beyond reads a band with one end: "over 18.0 rejected", "54.0 and up none". Where at, the printed reading belongs to the band.
func (p *paster) beyond(n int, side, limit, cost string, at bool) {
	if !p.under(n, cost) {
		return
	}
	side = strings.ToLower(side)
	up := strings.ContainsAny(side, "+>") || strings.Contains(side, "over") || strings.Contains(side, "above") || strings.Contains(side, "more") || strings.Contains(side, "greater") ||
		strings.Contains(side, "up") || strings.Contains(side, "higher")
	x := p.reading(n, limit)
	s, step := p.section, precision(p.section.factor)
	better := up == s.below
	switch {
	case better && nothing.MatchString(cost):
		return // the free side
	case better:
		p.fail(n, "paste.line", "the line", cost, "nothing on the side that costs nothing")
	case refusal.MatchString(cost):
		from := x
		if at && up {
			from -= step
		} else if at {
			from += step
		}
		s.limit = decimal(from)
	default:
		first := x
		if !at && up {
			first += step
		} else if !at {
			first -= step
		}
		p.add(n, band{line: n, low: first, high: first, open: true}, cost)
	}
}

func (p *paster) add(n int, b band, cost string) {
	s := p.section
	switch {
	case nothing.MatchString(cost):
		b.free = true
	case refusal.MatchString(cost):
		from := b.low - precision(s.factor)
		if s.below {
			from = b.high + precision(s.factor)
		}
		s.limit = decimal(from)
		return
	default:
		var ok bool
		if b.amount, ok = costOf(s.heading, cost); !ok {
			p.fail(n, "paste.amount", "the amount", cost, `what it is: "1.25%" under a heading that says "% of price" or "shrink", "2c", "$0.02", or a bare number under a heading that says cents or %`)
			return
		}
	}
	s.bands = append(s.bands, b)
}

// costOf reads an amount with the help of its heading.
func costOf(heading, cost string) (amount, bool) {
	cost = strings.ToLower(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(cost), "discount")))
	for _, tail := range []string{"per bushel", "per bu.", "per bu", "/bushel", "/bu.", "/bu", "a bushel", "a bu"} {
		cost = strings.TrimSpace(strings.TrimSuffix(cost, tail))
	}
	unit := settlement.Unit("")
	weight := strings.Contains(heading, "shrink") || strings.Contains(heading, "weight") && !strings.Contains(heading, "test weight") || strings.Contains(heading, "dockage")
	percents := settlement.PctPrice
	if weight && !strings.Contains(heading, "of price") {
		percents = settlement.PctWeightPerStep
	}
	known := percents == settlement.PctWeightPerStep || strings.Contains(heading, "price") || strings.Contains(heading, "discount") && !weight
	digits := cost
	switch {
	case strings.HasSuffix(cost, "%"):
		digits = strings.TrimSpace(strings.TrimSuffix(cost, "%"))
		if unit = percents; !known {
			return amount{}, false
		}
	case strings.HasSuffix(cost, "c"), strings.HasSuffix(cost, "¢"), strings.HasSuffix(cost, "cents"), strings.HasSuffix(cost, "cent"):
		digits = strings.TrimSpace(strings.TrimRight(cost, "cents¢ "))
		unit = settlement.CentsPerBu
	case strings.HasPrefix(cost, "$"), strings.HasPrefix(cost, ".") && !strings.Contains(heading, "%") && !strings.Contains(heading, "cent"):
		price, err := trade.ParsePrice("", cost)
		if err != nil {
			return amount{}, false
		}
		f := trade.NewFraction(int64(price), 1000)
		return amount{f, f.String(), settlement.CentsPerBu}, true
	case strings.Contains(heading, "cent") || strings.Contains(heading, "¢"):
		unit = settlement.CentsPerBu
	case strings.Contains(heading, "%") && known:
		unit = percents
	default:
		return amount{}, false
	}
	f, err := trade.ParseFraction("", digits)
	if err != nil || f.Sign() < 0 {
		return amount{}, false
	}
	return amount{f, digits, unit}, true
}

// precision returns the step in which a factor is recorded.
func precision(f settlement.Factor) trade.Percent {
	for _, step := range []trade.Percent{1, 10, 100} {
		if f.Recorded(step) == step && f.Recorded(3*step) == 3*step {
			return step
		}
	}
	return 100
}

func decimal(x trade.Percent) *trade.Decimal {
	d := trade.MustDecimal(x.String())
	return &d
}

func (p *paster) ask(k crop.Kind) {
	s := p.d.Schedule
	uses := func(f func(settlement.Row) bool) bool {
		for _, row := range s.Rows {
			if f(row) {
				return true
			}
		}
		return false
	}
	ask := func(line string) { p.d.Ask = append(p.d.Ask, line) }
	ask("Pasted from a table. Fill in what the table does not say, from the buyer; take the # away.")
	pounds := ""
	if lb, ok := crop.BushelPounds(k); ok {
		pounds = fmt.Sprintf("   # %d in most states", lb)
	}
	ask(`lb_per_bu =` + pounds + `; or price_per = "cwt"`)
	ask(`decimals = 2   # of the bushels the buyer prints, 0 to 3`)
	ask(`rounding = "net price"   # discounts into the price and multiplied once; or "line by line"`)
	if uses(func(r settlement.Row) bool { return r.Unit == settlement.PctPrice }) {
		ask(`percent_of = "cash"   # or "cash and premium", "futures"`)
	}
	if uses(func(r settlement.Row) bool { return r.Kind == settlement.WeightRow }) {
		ask(`weight_of = "what is left"   # each factor of what earlier ones left; or of the "scale weight"`)
	}
	ask(`average = "load"   # or "day", "contract"`)
	ask(`checkoff = "0.5 %"   # what the state and the buyer withhold`)
}
