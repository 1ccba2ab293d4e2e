package cli

import (
	"fmt"
	"strings"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/crop"
	"threshday/internal/core/market"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

type priceCmd struct {
	Crop         crop.Kind      `placeholder:"soybean" help:"The crop; left out, that of the field, or the only one."`
	Field        string         `placeholder:"creek-80" help:"Whose grade and roads; left out, from the middle of the farm and at a grade that costs nothing."`
	Moisture     *wetBasis      `placeholder:"14.2" help:"What the grain tests today: adds what each outlet nets now, and whether to dry, sell wet or wait."`
	From         *wetBasis      `placeholder:"12" help:"Driest moisture of the table; left out, two points under the crop's usual base."`
	To           *wetBasis      `placeholder:"20" help:"Wettest moisture of the table; left out, seven points over it."`
	Step         trade.Percent  `default:"0.5" placeholder:"0.5" help:"Points between the rows that are printed; --json has every tenth."`
	Bushels      trade.Bushels  `default:"1000" placeholder:"10000" help:"Wet bushels to dry, sell wet or leave standing."`
	WaitMoisture *wetBasis      `placeholder:"13" help:"What it is expected to test after standing, to weigh waiting."`
	WaitLoss     *trade.Percent `placeholder:"1.5" help:"Percent of the crop lost in the field meanwhile."`
	SVG          string         `name:"svg" placeholder:"price.svg" help:"Also draw the table into this file, which must not exist yet."`
	seasonFlags
}

// Explain says what is compared.
func (priceCmd) Explain() string {
	return "What one truckload nets at every outlet, bid, premium, contract and own bin that is open today, after discounts, drying, checkoff and freight, at " +
		"every moisture: by the same terms that settle its ticket afterwards. The posted bid ranks nothing. Break-evens are exact on the tenths that a scale " +
		"prints: how wet the load may be and still pay to haul to an outlet.\n\n" +
		"With --moisture also what each nets now, how far a bid may fall before the next one is better, how many more miles the lead would pay for, and what drying " +
		"at home, selling wet and, with --wait-moisture and --wait-loss, waiting bring. Waiting over many weathers is threshday plan's to weigh."
}

// Examples are command lines that work as they stand.
func (priceCmd) Examples() []string {
	return []string{"price --demo --field creek-80 --moisture 14.2", "price --demo --crop corn --moisture 20 --wait-moisture 17 --wait-loss 1.5"}
}

// Answer returns the JSON form.
func (priceCmd) Answer() any { return answer.Price{} }

// Run prices.
func (c priceCmd) Run(s *session) error {
	r := app.PriceRequest{
		Crop: c.Crop, Field: c.Field, Moisture: (*trade.Percent)(c.Moisture), From: (*trade.Percent)(c.From), To: (*trade.Percent)(c.To), Lot: c.Bushels,
	}
	if err := c.check(&r); err != nil {
		return err
	}
	var err error
	if r.Files, r.Season, r.Book, r.Now, err = c.find(s); err != nil {
		return err
	}
	sheet, err := s.App.Prices(s.ctx, r)
	if err != nil {
		return err
	}
	if c.SVG != "" {
		if err := s.Create(c.SVG, pricePicture(sheet)); err != nil {
			return err
		}
	}
	if s.json {
		return s.print(answer.OfPrices(sheet))
	}
	return s.printPrices(sheet, c.Step)
}

// check holds the flags against each other.
func (c priceCmd) check(r *app.PriceRequest) error {
	switch {
	case c.Step < market.Tenth || c.Step%market.Tenth != 0:
		return &problem.InputError{Rule: "flag.range", Label: "--step", Got: c.Step.String(), Want: "tenths of a point from 0.1"}
	case c.Bushels < 1000 || c.Bushels%10 != 0:
		return &problem.InputError{Rule: "flag.range", Label: "--bushels", Got: c.Bushels.String(), Want: "1 or more, at most two decimals"}
	case (c.WaitMoisture == nil) != (c.WaitLoss == nil):
		return refuse("flag.together", "--wait-moisture", "--wait-moisture and --wait-loss go together.", "Waiting is weighed by both.")
	case c.WaitMoisture != nil:
		r.Wait = &app.PriceWait{Moisture: trade.Percent(*c.WaitMoisture), Loss: *c.WaitLoss}
	}
	return nil
}

func (s *session) printPrices(sheet *app.PriceSheet, step trade.Percent) error {
	p := s.printer()
	what := sheet.Crop.String()
	if sheet.Field != "" {
		what += " from " + sheet.Field
	}
	p.line(p.bold(sheet.Farm + ": what a load of " + what + " nets"))
	p.wrapped("", fmt.Sprintf("as of %s; %s lb in truck %s, after discounts, checkoff, drying and freight", sheet.AsOf.Format(momentLayout), lb(sheet.Load.Net()), sheet.Truck))
	p.line("")
	printOffers(p, sheet)
	printPriceTable(p, sheet, step)
	printBreakEvens(p, sheet)
	printToday(p, sheet)
	printChoice(p, sheet)
	p.section("Closed", sheet.Closed)
	var assumed []string
	for _, a := range sheet.Assumed {
		assumed = append(assumed, a.What+" "+a.Value+": "+a.From)
	}
	p.section("Assumed", assumed)
	p.section("Mind", sheet.Cautions)
	return p.Flush()
}

func printOffers(p *printer, sheet *app.PriceSheet) {
	g := grid{head: []string{"#", "at", "until", "$ a bu", "miles", "freight $", "room bu", "wettest"}, left: 3}
	for i, o := range sheet.Offers {
		until, room, wettest := "open", "-", "-"
		if o.Until != nil {
			until = o.Until.String()
		}
		if o.Room != nil {
			room = digits(o.Room.Float(), 0)
		}
		if o.Wettest != nil {
			wettest = o.Wettest.String() + " %"
		}
		price := o.Cash.Fixed()
		if o.Premium != 0 {
			price += "+" + o.Premium.Fixed()
		}
		if o.Expected {
			price = "~" + price
		}
		if o.Cwt {
			price += " cwt"
		}
		g.add(fmt.Sprint(i+1), o.Name, until, price, short(o.Miles, 1), money(o.Freight), room, wettest)
	}
	p.titled("Offers open today (~ expected, not promised)", &g, "")
}

func printPriceTable(p *printer, sheet *app.PriceSheet, step trade.Percent) {
	g := grid{head: []string{"moisture"}, left: 0}
	for i := range sheet.Offers {
		g.head = append(g.head, fmt.Sprintf("[%d]  ", i+1))
	}
	for _, row := range sheet.Rows {
		if row.Moisture%step != 0 && step != market.Tenth {
			continue
		}
		cells := []string{row.Moisture.String() + " %"}
		best, any := row.Best()
		for i, c := range row.Cells {
			text := "-  "
			if c.OK() {
				text = sheet.PerUnit(c).Fixed() + "  "
			}
			if any && i == best {
				text = strings.TrimSuffix(text, "  ") + " *"
			}
			cells = append(cells, text)
		}
		g.add(cells...)
	}
	unit, _ := sheet.Unit()
	p.titled("Net dollars a gross "+unit+" (* nets most; - not taken)", &g, "")
}

// printBreakEvens says who nets most over which moistures, and against whom.
func printBreakEvens(p *printer, sheet *app.PriceSheet) {
	p.line(p.bold("Break-even moistures"))
	for i, run := range sheet.Best {
		who := "nobody takes the load"
		if run.Offer >= 0 {
			who = fmt.Sprintf("[%d] %s nets most", run.Offer+1, sheet.Offers[run.Offer].Name)
		}
		span := run.From.String() + " to " + run.To.String() + " %"
		if run.From == run.To {
			span = run.From.String() + " %"
		}
		p.hung("  ", span+": "+who)
		if i == 11 && len(sheet.Best) > 12 {
			p.hung("  ", fmt.Sprintf("and %d shorter runs; steps cross more than once, and --json lists them all", len(sheet.Best)-12))
			break
		}
	}
	for _, b := range sheet.BreakEvens {
		if len(b.Ahead) == 0 || sheet.Offers[b.Offer].Kind != "premium" {
			continue
		}
		last := b.Ahead[len(b.Ahead)-1]
		if last.To != sheet.Rows[len(sheet.Rows)-1].Moisture {
			p.hung("  ", fmt.Sprintf("[%d] %s pays against [%d] %s up to %s %%", b.Offer+1, sheet.Offers[b.Offer].Name, b.Rival+1, sheet.Offers[b.Rival].Name, last.To))
		}
	}
	p.line("")
}

func printToday(p *printer, sheet *app.PriceSheet) {
	t := sheet.Today
	if t == nil {
		return
	}
	g := grid{head: []string{"#", "at", "value $", "checkoff", "charges", "home costs", "freight", "net $", "evens at $", "lead in miles"}, left: 2}
	var refused []string
	for i, c := range t.Cells {
		name := sheet.Offers[i].Name
		if !c.OK() {
			refused = append(refused, fmt.Sprintf("[%d] %s: %s", i+1, name, c.Why.Error()))
			continue
		}
		evens, miles := "-", "-"
		if t.Needs[i] != nil {
			evens = t.Needs[i].Fixed()
		}
		if i != t.Best {
			miles = short(t.ExtraMiles[i], 1)
		} else {
			name += " *"
		}
		g.add(fmt.Sprint(i+1), name, money(c.Paid.Value), usd(c.Paid.Checkoff), usd(c.Paid.Charges), usd(c.Costs), money(c.Freight), money(c.Net), evens, miles)
	}
	p.titled(fmt.Sprintf("Today, at %s %%", t.Moisture), &g, "No outlet takes the load at this moisture.")
	for _, r := range refused {
		p.hung("  ", r)
	}
	if len(g.rows) > 0 {
		p.wrapped("  ", "Evens: the price at which it nets what the best other one does. Lead: extra miles one way that the best one's lead would pay for.")
	}
	p.line("")
}

func printChoice(p *printer, sheet *app.PriceSheet) {
	c := sheet.Choice
	if c == nil {
		return
	}
	g := grid{head: []string{"what", "to", "at", "paid bu", "revenue $", "checkoff", "charges", "drying", "handling", "freight", "net $"}, left: 2}
	for _, x := range c.Choices {
		s := x.Sale
		g.add(x.What, fmt.Sprintf("[%d]", x.Offer+1), x.Moisture.String()+" %", bu(s.Paid), money(s.Revenue), usd(s.Checkoff), usd(s.Charges), usd(s.Drying), usd(s.Handling), usd(s.Freight), money(s.Net))
	}
	p.titled(fmt.Sprintf("Dry it, sell wet or wait: %s wet bu at %s %%", digits(c.Lot.Float(), 0), c.Moisture), &g, "")
	if c.UndoneBy != nil {
		p.wrapped("  ", "Waiting nets less than selling wet from a field loss of "+c.UndoneBy.String()+" % on.")
		p.line("")
	}
}
