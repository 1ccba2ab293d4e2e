package ledger_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/ledger"
	"threshday/internal/core/market"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

func ofNet(ticket string, net trade.Amount) ledger.Printed {
	return ledger.Printed{Outlet: "elevator", Ticket: ticket, Sheet: settlement.Sheet{Net: &net}}
}

// catalogue is a season's sheets with one kind of finding each; what the audit says of them stands in testdata/audit.txt, to be
// read by a person when it changes.
func catalogue(t testing.TB) ledger.SeasonAudit {
	s := home(t)
	one := func(id string) *ledger.Ticket {
		x := beans(id)
		x.From = []ledger.Source{{Field: "two", Part: 1}}
		return x
	}
	s.Cheques = []ledger.Cheque{
		{Number: "1207", Outlet: "elevator", Party: "landlord", Total: 1029_97, Lines: []ledger.ChequeLine{{Ticket: "split", Amount: 1029_97}}},
		{Number: "1208", Outlet: "elevator", Party: "tenant", Total: 6900_00, Lines: []ledger.ChequeLine{{Ticket: "split", Amount: 6900_00}}},
	}
	s.Contracts = []ledger.Contract{{
		ID: "H", Outlet: "elevator", Party: "tenant", Crop: crop.Corn, Promised: 10_000_000, Applied: 9_461_370, Until: calendar.MustDay("2031-12-31"),
		Price: market.NewCash(422000, calendar.Day{}),
	}}
	book := ledger.Build(s, entries(one("right"), one("cents"), one("step"), one("checkoff"), one("odd"), beans("split"), corn("crossing")))
	// The buyer's own reading of the same load: a step too many is what half a point more would have cost.
	wetter := one("step").Load
	wetter.Readings = wetter.Readings.With(settlement.Moisture, 14_60)
	prices := settlement.Prices{Cash: 987250}
	right, err := of(t, "A").Totals(one("right").Load, prices)
	if err != nil {
		t.Fatal(err)
	}
	step, err := of(t, "A").Totals(wetter, prices)
	if err != nil {
		t.Fatal(err)
	}
	sheets := []ledger.Printed{
		ofNet("right", right.Net), ofNet("cents", right.Net-3), ofNet("odd", right.Net-123_45), ofNet("gone", right.Net), ofNet("checkoff", right.Value), ofNet("crossing", 3700_00),
		{Outlet: "elevator", Ticket: "step", Sheet: settlement.Sheet{NetQty: &step.NetQty, PerUnit: &step.PerUnit, Value: &step.Value, Checkoff: &step.Checkoff, Net: &step.Net}},
	}
	return book.Audit(sheets)
}

func TestTheSeasonsSheetsAreJudgedOneByOne(t *testing.T) {
	a := catalogue(t)
	var got strings.Builder
	put := func(format string, args ...any) { fmt.Fprintf(&got, format+"\n", args...) }
	for _, l := range a.Lines {
		put("# %s %s%s", l.Ticket, l.Party, l.Cheque)
		put("%s, ours $%s, difference $%s", l.Verdict, l.Ours, l.Difference)
		for _, c := range l.Result.Explained {
			put("  %s: %s", c.Rule, c.Detail)
		}
		if l.Result.Unexplained != 0 {
			put("  unexplained $%s", l.Result.Unexplained)
		}
		if l.Why != "" {
			put("  %s", l.Why)
		}
	}
	put("# sums")
	put("roundings $%s, real $%s, unexplained $%s", a.Roundings, a.Real, a.Unexplained)
	for _, r := range a.Rules {
		put("  %s: %d sheets, $%s", r.Rule, r.Sheets, r.Difference)
	}
	if *update {
		if err := os.WriteFile("testdata/audit.txt", []byte(got.String()), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile("testdata/audit.txt")
	if err != nil {
		t.Fatal(err)
	}
	if got.String() != string(want) {
		t.Errorf("not as in testdata/audit.txt (-update writes it):\n%s", got.String())
	}
}

// Every sheet is in exactly one sum, and the sums are those of the lines.
func TestTheSumsOfAnAuditAreThoseOfItsLines(t *testing.T) {
	a := catalogue(t)
	var roundings, real, byRule, left trade.Amount
	n := 0
	for _, l := range a.Lines {
		switch l.Verdict {
		case ledger.Rounding:
			roundings += l.Difference
		case ledger.Explained:
			real += l.Difference
		case ledger.Unexplained:
			real += l.Difference
			left += l.Difference
		case ledger.Agrees, ledger.NotCompared:
		}
	}
	for _, r := range a.Rules {
		byRule += r.Difference
	}
	for _, c := range a.Count {
		n += c
	}
	if roundings != a.Roundings || real != a.Real || n != len(a.Lines) || byRule+left != a.Real {
		t.Errorf("%s %s %d of %+v", roundings, real, n, a.Count)
	}
}
