package journal

import (
	"fmt"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// A Cheque is what a buyer paid a party, as the paper says it.
type Cheque struct {
	Number, Outlet, Party string
	CropYear              int
	On                    calendar.Day
	Total                 trade.Amount
	Lines                 []ChequeLine
	Note                  string
	Typed                 Typed
}

// A ChequeLine is what a cheque pays for one ticket; one without a ticket is an advance.
type ChequeLine struct {
	Ticket string // printed number
	Amount trade.Amount
}

// A Sheet is what a buyer printed of one ticket; a figure that was not printed is nil.
type Sheet struct {
	Outlet, Ticket string
	CropYear       int
	NetLb          *trade.Pounds
	SettledLb      *trade.Pounds
	GrossQty       *trade.Bushels // in the unit that the buyer pays by, like NetQty and PerUnit
	NetQty         *trade.Bushels
	PerUnit        *trade.Price
	Value          *trade.Amount
	Checkoff       *trade.Amount
	Net            *trade.Amount
	Lines          []SheetLine // discounts and deductions by factor
	Charges        []SheetLine
	Note           string
	Typed          Typed
}

// A SheetLine is what a sheet prints for one factor, or for base or premium; what is taken off is negative.
type SheetLine struct {
	Name    string
	Pounds  *trade.Pounds
	Dollars *trade.Amount
}

// Nobody is the party that grain without shares belongs to where the season names no owner.
const Nobody = "owner"

const maxLines = 500 // on one cheque or sheet; judgement

// PaperKey is the same for two papers that are one: a cheque by its number, buyer, payee and crop year, a sheet by its ticket at
// a buyer in a crop year. Empty for a body that is neither.
func PaperKey(s Subject, body []byte) string {
	switch s {
	case ChequeSubject:
		if c, err := ReadCheque(body); err == nil {
			return c.key()
		}
	case SheetSubject:
		if p, err := ReadSheet(body); err == nil {
			return p.key()
		}
	default: // no paper
	}
	return ""
}

// unitSeparator stands in no name, for [Clean] takes it out.
const unitSeparator = "\x1f"

func (c Cheque) key() string {
	return fmt.Sprint(c.CropYear, unitSeparator, c.Outlet, unitSeparator, c.Number, unitSeparator, c.Party)
}

func (s Sheet) key() string {
	return fmt.Sprint(s.CropYear, unitSeparator, s.Outlet, unitSeparator, s.Ticket)
}

// ChequeBody returns the body of c. Money is in cents.
func ChequeBody(c Cheque) []byte {
	b := builder{
		"number": c.Number, "outlet": c.Outlet, "party": c.Party, "crop_year": int64(c.CropYear), "on": c.On.String(), "total_usd_e2": int64(c.Total),
	}
	lines := make([]any, len(c.Lines))
	for i, l := range c.Lines {
		line := builder{"usd_e2": int64(l.Amount)}
		line.text("ticket", l.Ticket)
		lines[i] = map[string]any(line)
	}
	b["lines"] = lines
	b.text("note", c.Note)
	b.typed(c.Typed)
	return b.body()
}

// ReadCheque returns the cheque in a body.
func ReadCheque(body []byte) (Cheque, error) {
	o, err := openBody(body)
	if err != nil {
		return Cheque{}, err
	}
	c := Cheque{
		Number: o.text("number", maxTicket), Outlet: o.text("outlet", maxName), Party: o.text("party", maxName), CropYear: int(o.integer("crop_year", 1, 9999)),
		On: o.day("on"), Total: trade.Amount(o.integer("total_usd_e2", -maxInteger, maxInteger)), Note: o.optText("note", maxNote), Typed: o.typed(),
	}
	o.each("lines", func(in *object) {
		c.Lines = append(c.Lines, ChequeLine{in.optText("ticket", maxTicket), trade.Amount(in.integer("usd_e2", -maxInteger, maxInteger))})
	})
	return c, o.close()
}

// SheetBody returns the body of s. Money is in cents, quantities in thousandths, prices in hundred-thousandths of a dollar.
func SheetBody(s Sheet) []byte {
	b := builder{"outlet": s.Outlet, "ticket": s.Ticket, "crop_year": int64(s.CropYear)}
	set(b, "net_lb", s.NetLb)
	set(b, "settle_lb", s.SettledLb)
	set(b, "gross_qty_e3", s.GrossQty)
	set(b, "net_qty_e3", s.NetQty)
	set(b, "price_usd_e5", s.PerUnit)
	set(b, "value_usd_e2", s.Value)
	set(b, "checkoff_usd_e2", s.Checkoff)
	set(b, "net_usd_e2", s.Net)
	b.lines("lines", s.Lines)
	b.lines("charges", s.Charges)
	b.text("note", s.Note)
	b.typed(s.Typed)
	return b.body()
}

// lines puts lines where the sheet prints them, be it none of them.
func (b builder) lines(key string, lines []SheetLine) {
	if lines == nil {
		return
	}
	out := make([]any, len(lines))
	for i, l := range lines {
		line := builder{"name": l.Name}
		set(line, "lb", l.Pounds)
		set(line, "usd_e2", l.Dollars)
		out[i] = map[string]any(line)
	}
	b[key] = out
}

// ReadSheet returns the sheet in a body.
func ReadSheet(body []byte) (Sheet, error) {
	o, err := openBody(body)
	if err != nil {
		return Sheet{}, err
	}
	s := Sheet{
		Outlet: o.text("outlet", maxName), Ticket: o.text("ticket", maxTicket), CropYear: int(o.integer("crop_year", 1, 9999)),
		NetLb: number[trade.Pounds](o, "net_lb"), SettledLb: number[trade.Pounds](o, "settle_lb"),
		GrossQty: number[trade.Bushels](o, "gross_qty_e3"), NetQty: number[trade.Bushels](o, "net_qty_e3"), PerUnit: number[trade.Price](o, "price_usd_e5"),
		Value: number[trade.Amount](o, "value_usd_e2"), Checkoff: number[trade.Amount](o, "checkoff_usd_e2"), Net: number[trade.Amount](o, "net_usd_e2"),
		Lines: o.sheetLines("lines"), Charges: o.sheetLines("charges"), Note: o.optText("note", maxNote), Typed: o.typed(),
	}
	return s, o.close()
}

func (o *object) sheetLines(key string) []SheetLine {
	if _, ok := o.m[key]; !ok {
		return nil
	}
	out := []SheetLine{}
	o.each(key, func(in *object) {
		out = append(out, SheetLine{in.text("name", maxName), number[trade.Pounds](in, "lb"), number[trade.Amount](in, "usd_e2")})
	})
	return out
}

// each reads a list of objects.
func (o *object) each(key string, read func(*object)) {
	v, _ := o.get(key)
	list, isList := v.([]any)
	if !isList || len(list) > maxLines {
		o.wrong(key, show(v), fmt.Sprintf("a list of up to %d lines", maxLines))
		return
	}
	for i, x := range list {
		m, _ := x.(map[string]any)
		in := &object{m: m, path: fmt.Sprintf("%s%s %d.", o.path, key, i+1), errs: o.errs}
		read(in)
		_ = in.close() // its errors are o's too, and o closes later
	}
}

// moneyFence is more than any one paper of a farm is over. [judgement]
var moneyFence = fence{-100_000_000_00, 100_000_000_00, "up to 100 million dollars"}

// cheque checks a cheque by itself. One whose lines do not add up is a paper that says so: it goes in as it is, and it is said.
func (c *checker) cheque(q Cheque) {
	c.inside(moneyFence, "cheque.range", "Total", int64(q.Total), 2, "$")
	var sum trade.Amount
	for _, l := range q.Lines {
		c.inside(moneyFence, "cheque.range", "Line", int64(l.Amount), 2, "$")
		sum += l.Amount
	}
	if len(q.Lines) == 0 {
		c.add(problem.Error, "cheque.lines", "Lines", "", "at least one line, or the advance that it pays",
			"Cheque "+q.Number+" has no line.", "Enter what it pays for each ticket; a line without a ticket is an advance.")
	} else if sum != q.Total {
		c.add(problem.Note, "cheque.sum", "Total", "$"+q.Total.String(), "$"+sum.String()+", the sum of its lines",
			fmt.Sprintf("Cheque %s is over $%s and its lines add up to $%s.", q.Number, q.Total, sum), "Look for a line that is missing, then ask the buyer.")
	}
	if q.On.Year < q.CropYear-1 || q.On.Year > q.CropYear+latePay {
		c.add(problem.Error, "cheque.date", "Date", q.On.String(), fmt.Sprintf("a day of %d to %d, for the crop of %d", q.CropYear-1, q.CropYear+latePay, q.CropYear),
			fmt.Sprintf("Cheque %s is dated %s and pays for the crop of %d.", q.Number, q.On, q.CropYear), "Correct the one that is wrong.")
	}
}

// latePay is how many years after the harvest a crop may still be paid for. [judgement]
const latePay = 3

// sheet checks a sheet by itself.
func (c *checker) sheet(s Sheet) {
	for _, f := range []struct {
		label string
		n     *trade.Amount
	}{{"Value", s.Value}, {"Checkoff", s.Checkoff}, {"Net", s.Net}} {
		if f.n != nil {
			c.inside(moneyFence, "sheet.range", f.label, int64(*f.n), 2, "$")
		}
	}
	for _, f := range []struct {
		label string
		n     *trade.Pounds
	}{{"Net weight", s.NetLb}, {"Settled weight", s.SettledLb}} {
		if f.n != nil {
			c.inside(fence{0, heaviest, "0 to 400,000 lb"}, "sheet.range", f.label, int64(*f.n), 0, "lb")
		}
	}
	if s.PerUnit != nil {
		c.inside(priceFence, "sheet.range", "Price", int64(*s.PerUnit), 5, "$")
	}
	if s.empty() {
		c.add(problem.Error, "sheet.empty", "Sheet", "", "at least one figure that the buyer printed",
			"The sheet of ticket "+s.Ticket+" holds no figure.", "Enter what the buyer printed: the net amount at least.")
	}
}

func (s Sheet) empty() bool {
	return s.NetLb == nil && s.SettledLb == nil && s.GrossQty == nil && s.NetQty == nil && s.PerUnit == nil && s.Value == nil && s.Checkoff == nil &&
		s.Net == nil && len(s.Lines)+len(s.Charges) == 0
}
