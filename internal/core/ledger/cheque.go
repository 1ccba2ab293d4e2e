package ledger

import (
	"fmt"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// A Cheque is what a buyer paid a party, with what it says it is for.
type Cheque struct {
	ID                    string // of the record; empty: it has none
	Number, Outlet, Party string
	On                    calendar.Day
	Total                 trade.Amount
	Lines                 []ChequeLine
	Where                 problem.Place
}

// A ChequeLine is one line of a cheque; one without a ticket is an advance.
type ChequeLine struct {
	Ticket string // printed number
	Amount trade.Amount
	Where  problem.Place
}

// lineMay is how far a cheque's line may lie from ours before it is reported: roundings of a few cents are honest. [judgement]
const lineMay = trade.Amount(5)

// checkCheques holds what was paid against what the loads pay.
func (b *builder) checkCheques() {
	if len(b.setup.Cheques) == 0 {
		return
	}
	type key struct{ outlet, ticket, party string }
	due := map[key]trade.Amount{}
	known := map[key]bool{}
	value := map[[2]string]trade.Amount{}
	unsettled := map[[2]string]bool{} // outlet and ticket of a load that pays nobody yet
	for i := range b.book.Loads {
		t := b.book.Loads[i].Ticket
		unsettled[[2]string{t.Place, t.Number}] = true
	}
	for _, l := range b.book.Sales {
		t := b.book.Loads[l.Ticket].Ticket
		k := key{t.Place, t.Number, b.parties[l.Party]}
		known[k] = true
		delete(unsettled, [2]string{t.Place, t.Number})
		due[k] += l.Net()
		value[[2]string{t.Place, b.parties[l.Party]}] += l.Net()
	}
	paid := map[key]string{}
	advances := map[[2]string]trade.Amount{}
	for _, c := range b.setup.Cheques {
		var sum trade.Amount
		for _, l := range c.Lines {
			sum += l.Amount
			k := key{c.Outlet, l.Ticket, c.Party}
			switch first, twice := paid[k]; {
			case l.Ticket == "":
				advances[[2]string{c.Outlet, c.Party}] += l.Amount
			case unsettled[[2]string{c.Outlet, l.Ticket}]:
				b.cheque(c, l, fmt.Sprintf("Cheque %s pays ticket %s of %s, which is in the book and not settled yet.", c.Number, l.Ticket, c.Outlet), "What the ticket lacks is said with it; then the cheque can be held against it.")
			case !known[k]:
				b.cheque(c, l, fmt.Sprintf("Cheque %s pays ticket %s of %s, which is not in the book for %s.", c.Number, l.Ticket, c.Outlet, c.Party), "Find the ticket, or ask the buyer whose it is.")
			case twice:
				b.cheque(c, l, fmt.Sprintf("Ticket %s is paid by cheque %s and again by cheque %s.", l.Ticket, first, c.Number), "Ask the buyer.")
			default:
				paid[k] = c.Number
				if off := l.Amount - due[k]; off > lineMay || off < -lineMay {
					b.cheque(c, l, fmt.Sprintf("Cheque %s pays $%s for ticket %s; by the posted terms it is $%s, %s.", c.Number, l.Amount, l.Ticket, due[k], moreOrLess(off)),
						"threshday audit names what explains a sheet that differs.")
				}
			}
		}
		if sum != c.Total {
			b.find(problem.Finding{
				Rule: "P01", Severity: problem.Error, Where: c.Where, Label: "Cheque " + c.Number, Got: "$" + c.Total.String(), Want: "$" + sum.String() + ", the sum of its lines",
				Say: fmt.Sprintf("Cheque %s is over $%s and its lines add up to $%s.", c.Number, c.Total, sum), Next: "Look for a line that is missing, then ask the buyer.",
			})
		}
	}
	for _, c := range b.setup.Cheques {
		k := [2]string{c.Outlet, c.Party}
		if a := advances[k]; a > value[k] {
			b.find(problem.Finding{
				Rule: "P01", Severity: problem.Warning, Where: c.Where, Label: "Advance", Got: "$" + a.String(), Want: "at most $" + value[k].String() + ", what was delivered and priced there",
				Say: fmt.Sprintf("%s has advanced %s $%s, more than the priced grain delivered there.", c.Outlet, c.Party, a), Next: "An advance is repaid if the price falls.",
			})
			delete(advances, k)
		}
	}
}

func (b *builder) cheque(c Cheque, l ChequeLine, say, next string) {
	b.find(problem.Finding{
		Rule: "P01", Severity: problem.Error, Where: l.Where, Label: "Cheque " + c.Number, Got: "$" + l.Amount.String(), Want: "what the ticket pays", Say: say, Next: next,
	})
}

func moreOrLess(off trade.Amount) string {
	if off < 0 {
		return "$" + (-off).String() + " less"
	}
	return "$" + off.String() + " more"
}
