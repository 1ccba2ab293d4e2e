package cli

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"threshday/internal/app"
	"threshday/internal/core/crop"
	"threshday/internal/core/ledger"
	"threshday/internal/core/trade"
)

// A grid is a table with a heading; columns from the first figure on stand to the right.
type grid struct {
	head []string
	left int // columns that stand to the left
	rows [][]string
}

func (g *grid) add(cells ...string) { g.rows = append(g.rows, cells) }

// print prints the grid; nothing where it has no rows.
func (g *grid) print(p *printer) {
	if len(g.rows) == 0 {
		return
	}
	width := make([]int, len(g.head))
	for _, row := range append([][]string{g.head}, g.rows...) {
		for i, cell := range row {
			width[i] = max(width[i], utf8.RuneCountInString(cell))
		}
	}
	line := func(row []string) string {
		var out strings.Builder
		for i, cell := range row {
			space := strings.Repeat(" ", width[i]-utf8.RuneCountInString(cell))
			if i < g.left {
				out.WriteString("  " + cell + space)
			} else {
				out.WriteString("  " + space + cell)
			}
		}
		return strings.TrimRight(out.String(), " ")
	}
	p.line(p.bold(line(g.head)))
	for _, row := range g.rows {
		p.line(line(row))
	}
}

// titled prints a grid under a title, or a sentence where there is nothing.
func (p *printer) titled(title string, g *grid, none string) {
	p.line(p.bold(title))
	if len(g.rows) == 0 {
		p.wrapped("  ", none)
	} else {
		g.print(p)
	}
	p.line("")
}

// bu writes a quantity with commas and two decimals.
func bu(b trade.Bushels) string {
	if b == 0 {
		return "-"
	}
	return digits(b.Float(), 2)
}

// lb writes a weight with commas.
func lb(w trade.Pounds) string { return digits(w.Float(), 0) }

func usd(a trade.Amount) string {
	if a == 0 {
		return "-"
	}
	return money(a)
}

// printBooks prints the books for a person.
func (s *session) printBooks(v *app.BooksView) error {
	p := s.printer()
	lead := v.Farm
	if v.Party != "" {
		lead += ": the share of " + v.Called(v.Party)
	}
	p.line(p.bold(lead))
	loads := v.Trace(ledger.Question{Party: v.Party}).Loads
	sum := fmt.Sprintf("as of %s; %s", v.AsOf.Format(momentLayout), plural(int64(len(loads)), "load"))
	if n := len(v.TakenBack); n > 0 && v.Party == "" {
		sum += fmt.Sprintf(", %d more taken back", n)
	}
	if n := len(v.Checks()); n > 0 && v.Party == "" {
		sum += "; " + plural(int64(n), "thing") + " to look at"
		if !v.Shows("checks") {
			sum += ", with --view checks"
		}
	}
	p.wrapped("", sum)
	p.line("")
	printParts(p, v)
	if v.Shows("checks") && (v.Party == "" || len(v.Checks()) > 0) {
		printChecks(p, v)
	}
	var assumed []string
	for _, a := range v.Assumed {
		assumed = append(assumed, a.What+" "+a.Value+": "+a.From)
	}
	p.section("Assumed", assumed)
	p.section("Mind", v.Cautions())
	p.section("Next", []string{"The tickets behind a figure: --trace contract:ID, field:ID, party:ID, bin:ID, outlet:ID or ticket:NUMBER."})
	return p.Flush()
}

func printParts(p *printer, v *app.BooksView) {
	if v.Shows("contracts") {
		printContracts(p, v)
	}
	if v.Shows("bins") && v.Party == "" {
		printBins(p, v)
	}
	if v.Shows("shares") {
		printShares(p, v)
	}
	if v.Shows("yields") && v.Party == "" {
		printYields(p, v)
	}
	if v.Shows("records") {
		printRecords(p, v)
	}
	if v.Shows("cheques") {
		printCheques(p, v)
	}
	if v.Shows("audit") && (v.Show == "audit" || v.Audit != nil) {
		printBooksAudit(p, v)
	}
	if v.Shows("tickets") {
		p.line(p.bold("Tickets"))
		if len(v.Trace(ledger.Question{Party: v.Party}).Loads) == 0 {
			p.wrapped("  ", "No ticket yet.")
		}
		printTickets(p, v, v.Trace(ledger.Question{Party: v.Party}), false)
		for _, t := range v.TakenBack {
			if v.Party == "" {
				p.hung("  ", fmt.Sprintf("%s at %s on %s, taken back: %s", ticketName(t.Ticket), t.Ticket.Place, t.Ticket.Day, t.Reason))
			}
		}
		p.line("")
	}
}

func printContracts(p *printer, v *app.BooksView) {
	g := grid{head: []string{"contract", "outlet", "crop", "party", "until", "promised bu", "delivered", "left", "$/bu", "net $"}, left: 5}
	for _, c := range v.ContractSums() {
		if !v.Of(c.Party) {
			continue
		}
		price := strings.Join(c.Price.Open(), ", ") + " open"
		if by := c.Price.PriceBy(); by != nil {
			price += ", by " + by.String()
		}
		if cash, ok := c.Price.Price(c.Until); ok {
			price = cash.Fixed()
		}
		left := bu(c.Left())
		if c.Closed {
			left = "closed"
		}
		g.add(c.ID, c.Outlet, c.Crop.String(), c.Party, c.Until.String(), bu(c.Promised), bu(c.Applied+c.Filled), left, price, usd(c.Net))
	}
	none := "No contract is in the season."
	if v.Party != "" {
		none = "No contract is in its name."
	}
	p.titled("Contracts", &g, none)
	printBuyOuts(p, v)
	h := grid{head: []string{"promised by", "of", "promised bu", "delivered", "in bins", "counted on", "short"}, left: 2}
	for _, x := range v.Promises {
		if v.Of(x.Party) {
			h.add(x.Party, x.Crop.String(), bu(x.Promised), bu(x.Delivered), bu(x.InBins), bu(x.CountedOn), bu(x.Short))
		}
	}
	if len(h.rows) > 0 {
		p.titled("Promises against the harvest (counted on: what stands brings more in nine autumns of ten)", &h, "")
	}
}

// printBuyOuts says what the bushels still missing would cost if they never came.
func printBuyOuts(p *printer, v *app.BooksView) {
	any := false
	for _, c := range v.ContractSums() {
		if cost, bid, ok := v.BuyOut(&c.ContractState); ok && v.Of(c.Party) {
			any = true
			p.hung("  ", fmt.Sprintf("%s: not delivering the %s bu that are left would cost $%s at today's bid of $%s: $%s market over contract, $%s fee.",
				c.ID, bu(c.Left()), money(cost.Total), bid.Fixed(), money(cost.Market), money(cost.Fee)))
		}
	}
	if any {
		p.line("")
	}
}

func printBins(p *printer, v *app.BooksView) {
	g := grid{head: []string{"bin", "crop", "counted at", "before bu", "in", "out", "should hold", "in lb", "out lb"}, left: 2}
	for _, b := range v.BinBalances() {
		base := "not known"
		if b.Base > 0 {
			base = b.Base.String() + " %"
		}
		g.add(b.Bin, b.Crop.String(), base, bu(b.Opening), bu(b.In), bu(b.Out), bu(b.Now), lb(b.InLb), lb(b.OutLb))
	}
	p.titled("Bins", &g, "No own bin is in the season.")
	if len(v.Lives) == 0 {
		return
	}
	h := grid{head: []string{"bin", "life used", "worst load", "at", "grain", "read on", "days left"}, left: 1}
	for _, l := range v.Lives {
		if l.Why != "" {
			p.hung("  ", l.Bin+": its storage life is not known: "+l.Why+".")
			continue
		}
		left := fmt.Sprintf("%.0f", l.Left)
		switch {
		case l.Long:
			left = "over " + left
		case l.Outside:
			left = "under " + left
		}
		h.add(l.Bin, fmt.Sprintf("%.0f %%", 100*float64(l.Spent)), l.Ticket, l.Moist.String()+" %", fmt.Sprintf("%.0f F", l.Temp.Fahrenheit()), l.Read.String(), left)
		for _, a := range l.Assumed {
			p.hung("  ", l.Bin+": taken as given: "+a+".")
		}
	}
	if len(h.rows) > 0 {
		p.line("")
		p.titled("Storage life, of the load that is worst off", &h, "")
	} else {
		p.line("")
	}
}

func printShares(p *printer, v *app.BooksView) {
	g := grid{head: []string{"party", "at", "crop", "sold", "value $", "checkoff", "charges", "net $", "claim", "stored", "in bin"}, left: 3}
	for _, x := range v.Positions() {
		if v.Of(x.Party) {
			sold := bu(x.Sold)
			if x.Cwt {
				sold += " cwt"
			}
			g.add(x.Party, x.Place, x.Crop.String(), sold, usd(x.Value), usd(x.Checkoff), usd(x.Charges), usd(x.Net), bu(x.Claim), bu(x.Stored), bu(x.InBin))
		}
	}
	p.titled("Shares: sold, delivered without a price (claim), stored at the buyer, in own bins", &g, "Nobody has anything yet.")
}

func printYields(p *printer, v *app.BooksView) {
	g := grid{head: []string{"field", "crop", "loads", "net lb", "at", "bu", "acres", "bu/ac"}, left: 2}
	for _, y := range v.Yields() {
		acres, per := short(y.Acres, 1), bu(y.PerAcre)
		if y.Acres <= 0 {
			acres, per = "not known", "-"
		} else if y.Whole {
			acres += " (all)"
		}
		n := fmt.Sprint(y.Loads)
		if y.Unread > 0 {
			n += fmt.Sprintf(" (%d without moisture)", y.Unread)
		}
		g.add(y.Field, y.Crop.String(), n, lb(y.Net), y.Base.String()+" %", bu(y.Bushels), acres, per)
	}
	p.titled("Yields, by dry matter at the moisture named", &g, "Nothing has come off a field yet.")
}

func printRecords(p *printer, v *app.BooksView) {
	g := grid{head: []string{"field", "party", "share", "loads", "shared trucks", "net lb", "to buyers", "to bins", "over", "insured bu"}, left: 3}
	recalled := map[crop.Kind]bool{}
	for _, r := range v.Records() {
		if !v.Of(r.Party) {
			continue
		}
		base := r.Base.String() + " %"
		if r.Recalled {
			base += " (?)"
			recalled[r.Crop] = true
		}
		g.add(r.Field, r.Party, r.Share.Ratio(), fmt.Sprint(r.Loads), fmt.Sprint(r.Commingled), lb(r.Net), lb(r.ToBuyers), lb(r.ToBins), base, bu(r.Insured))
	}
	p.titled("Production records, after moisture", &g, "Nothing has come off a field yet.")
	if len(recalled) > 0 {
		p.wrapped("  ", "(?) The moisture base is from memory: the policy's crop provisions decide.")
		p.line("")
	}
}

func printCheques(p *printer, v *app.BooksView) {
	g := grid{head: []string{"cheque", "outlet", "party", "on", "lines", "total $"}, left: 4}
	ids := v.Show == "cheques" && v.Data != ""
	if ids {
		g.head = append(g.head, "id")
	}
	var paid trade.Amount
	for _, c := range v.Cheques {
		if v.Of(c.Party) {
			row := []string{c.Number, c.Outlet, c.Party, c.On.String(), fmt.Sprint(len(c.Lines)), money(c.Total)}
			if ids {
				row = append(row, c.ID)
			}
			g.add(row...)
			paid += c.Total
		}
	}
	p.titled("Cheques, $"+money(paid)+" in all", &g, "No cheque is entered: threshday add cheque enters one, threshday import --cheques a CSV file of them.")
}

// mostChecks is how many findings a person is shown, errors first.
const mostChecks = 60

func printChecks(p *printer, v *app.BooksView) {
	found := v.Checks()
	if len(found) == 0 {
		p.line(p.bold("It all adds up") + ": buyers, contracts, bins and shares agree with the tickets.")
		p.line("")
		return
	}
	p.line(p.bold("What does not add up"))
	widest := 0
	shown := found[:min(len(found), mostChecks)]
	for _, f := range shown {
		widest = max(widest, len(f.Rule))
	}
	for _, f := range shown {
		text := sentence(f.Say) + " " + f.Next
		if at := f.Where.String(); at != "" {
			text += " (" + at + ")"
		}
		p.hung("  "+pad(f.Rule, widest)+"  ", strings.TrimSpace(text))
	}
	if more := len(found) - len(shown); more > 0 {
		p.hung("  ", "and "+digits(float64(more), 0)+" more; --json lists them all.")
	}
	p.line("")
}

// cwtOrBu is the unit of a load's quantities.
func cwtOrBu(cwt bool) string {
	if cwt {
		return "cwt"
	}
	return "bu"
}
