package loadfile

import (
	"threshday/internal/core/ledger"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/feeds/quantity"
)

// ChequeColumns returns the columns of a file of cheques.
func ChequeColumns() []string {
	return []string{"cheque", "outlet", "party", "date", "total_usd", "ticket", "line_usd"}
}

// ReadCheques returns the cheques of a file, one line of a cheque a row: number, outlet, party, date and total stand in each of
// its rows alike. A row without a ticket is an advance. The error is as of [Read].
func ReadCheques(file string, data []byte) ([]ledger.Cheque, error) {
	type key struct{ number, outlet, party string }
	at := map[key]int{}
	var out []ledger.Cheque
	columns := ChequeColumns()
	err := read(file, data, columns, columns, func(r row) {
		before := len(r.errs)
		k := key{r.needed("cheque", "the cheque's number"), r.needed("outlet", "the id of the outlet that paid"), r.needed("party", "the id of who was paid")}
		where := problem.Place{File: r.file, Line: r.line}
		line := ledger.ChequeLine{Ticket: r.name("ticket"), Where: where}
		day, dated := parsed(r, "date", quantity.ParseDay)
		total, totalled := parsed(r, "total_usd", trade.ParseAmount)
		amount, paid := parsed(r, "line_usd", trade.ParseAmount)
		line.Amount = amount
		for _, cell := range []struct {
			column, want string
			there        bool
		}{{"date", "a date, as 2031-10-20", dated}, {"total_usd", "dollars and cents of the whole cheque", totalled}, {"line_usd", "dollars and cents of the line", paid}} {
			if !cell.there && r.cell(cell.column) == "" {
				r.fail(r.line, cell.column, "csv.missing", cell.column, "", cell.want, "")
			}
		}
		if len(r.errs) > before {
			return
		}
		i, known := at[k]
		if !known {
			i = len(out)
			at[k] = i
			out = append(out, ledger.Cheque{Number: k.number, Outlet: k.outlet, Party: k.party, On: day, Total: total, Where: where})
		}
		if out[i].Total != total || out[i].On != day {
			r.fail(r.line, "total_usd", "cheque.differs", "total_usd", total.String()+" on "+day.String(), out[i].Total.String()+" on "+out[i].On.String()+", as in its first row", "")
		}
		out[i].Lines = append(out[i].Lines, line)
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}
