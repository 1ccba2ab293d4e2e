package store_test

import (
	"fmt"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"threshday/internal/core/journal"
	"threshday/internal/core/trade"
)

// aCheque and aSheet are of the load of ticket 000002 at the river elevator.
func aCheque() journal.Cheque {
	return journal.Cheque{
		Number: "1207", Outlet: "river", Party: journal.Nobody, CropYear: day.Year, On: day.AddDays(9), Total: 2_500_50,
		Lines: []journal.ChequeLine{{Ticket: "000002", Amount: 2_000_00}, {Amount: 500_50}}, Note: "by post",
	}
}

func aSheet() journal.Sheet {
	return journal.Sheet{
		Outlet: "river", Ticket: "000002", CropYear: day.Year, NetLb: ptr(trade.Pounds(51_280)), SettledLb: ptr(trade.Pounds(50_870)),
		GrossQty: ptr(trade.Bushels(854_670)), NetQty: ptr(trade.Bushels(847_830)), PerUnit: ptr(trade.Price(9_54230)), Value: ptr(trade.Amount(8_090_25)),
		Checkoff: ptr(trade.Amount(40_45)), Net: ptr(trade.Amount(8_049_80)),
		Lines:   []journal.SheetLine{{Name: "base", Dollars: ptr(trade.Amount(8_370_20))}, {Name: "foreign_material", Pounds: ptr(trade.Pounds(-410))}},
		Charges: []journal.SheetLine{},
	}
}

func TestPapersReadBackAsEntered(t *testing.T) {
	t.Parallel()
	s := open(t, filepath.Join(t.TempDir(), "book.db"), options())
	put(t, s, event(1, "cheque.recorded", journal.ChequeBody(aCheque()), journal.Form), event(2, "sheet.recorded", journal.SheetBody(aSheet()), journal.Form))
	cheques, err := s.Cheques(t.Context(), "home")
	if err != nil || len(cheques) != 1 || !reflect.DeepEqual(cheques[0].Value, aCheque()) {
		t.Errorf("cheques: %+v, %v; want %+v", cheques, err, aCheque())
	}
	sheets, err := s.Sheets(t.Context(), "home")
	if err != nil || len(sheets) != 1 || !reflect.DeepEqual(sheets[0].Value, aSheet()) {
		t.Errorf("sheets: %+v, %v; want %+v", sheets, err, aSheet())
	}
	sound(t, s)
}

// A paper stands in the book once: the number of a cheque, or the sheet of a ticket, cannot be entered again while it counts.
func TestAPaperIsThereOnce(t *testing.T) {
	t.Parallel()
	cheque := func(f func(*journal.Cheque)) []byte {
		c := aCheque()
		if f != nil {
			f(&c)
		}
		return journal.ChequeBody(c)
	}
	other := func(c *journal.Cheque) { c.Number = "1208" }
	first := event(1, "cheque.recorded", cheque(nil), journal.Form)
	second := event(2, "cheque.recorded", cheque(other), journal.Form)
	for _, c := range []struct {
		name   string
		before []journal.Event
		e      journal.Event
		rule   string
		status journal.Status
	}{
		{"the same number", nil, event(3, "cheque.recorded", cheque(func(c *journal.Cheque) { c.Total++; c.Lines[0].Amount++ }), journal.Form), "cheque.double", journal.Refused},
		{"the same entry sent twice", nil, first, "", journal.Already},
		{"from an outbox it waits", nil, event(3, "cheque.recorded", cheque(func(c *journal.Cheque) { c.Note = "" }), journal.Outbox), "cheque.double", journal.Review},
		{"another payee", nil, event(3, "cheque.recorded", cheque(func(c *journal.Cheque) { c.Party = "anna" }), journal.Form), "", journal.Stored},
		{"another year", nil, event(3, "cheque.recorded", cheque(func(c *journal.Cheque) { c.CropYear-- }), journal.Form), "", journal.Stored},
		{
			"the number of one that is void",
			[]journal.Event{say(9, "cheque.voided", journal.Saying{Of: id(1), Saw: id(1), Reason: "typo"})},
			event(3, "cheque.recorded", cheque(func(c *journal.Cheque) { c.Note = "" }), journal.Form), "", journal.Stored,
		},
		{"corrected to a number that is taken", nil, say(9, "cheque.corrected", journal.Saying{Of: id(2), Saw: id(2), Reason: "typo", To: cheque(nil)}), "cheque.double", journal.Review},
		{"corrected in its own place", nil, say(9, "cheque.corrected", journal.Saying{Of: id(1), Saw: id(1), Reason: "typo", To: cheque(func(c *journal.Cheque) { c.Note = "" })}), "", journal.Stored},
		{"lines that do not add up go in, and it is said", nil, event(3, "cheque.recorded", cheque(func(c *journal.Cheque) { c.Number = "9"; c.Total = 7 }), journal.Form), "cheque.sum", journal.Stored},
		{"no line", nil, event(3, "cheque.recorded", cheque(func(c *journal.Cheque) { c.Number = "9"; c.Lines = nil }), journal.Form), "cheque.lines", journal.Refused},
		{"a date of another decade", nil, event(3, "cheque.recorded", cheque(func(c *journal.Cheque) { c.Number = "9"; c.On.Year = 2013 }), journal.Form), "cheque.date", journal.Refused},
		{"a sheet without a figure", nil, event(3, "sheet.recorded", journal.SheetBody(journal.Sheet{Outlet: "river", Ticket: "5", CropYear: day.Year}), journal.Form), "sheet.empty", journal.Refused},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := open(t, filepath.Join(t.TempDir(), "book.db"), options())
			put(t, s, append([]journal.Event{first, second}, c.before...)...)
			a := put(t, s, c.e)[0]
			rules := ""
			for _, f := range a.Problems {
				rules += f.Rule
			}
			if a.Status != c.status || rules != c.rule {
				t.Errorf("%s %q (%+v), want %s %q", a.Status, rules, a.Problems, c.status, c.rule)
			}
			if strings.HasSuffix(c.rule, ".double") && !strings.Contains(fmt.Sprint(a.Problems), string(id(1))) {
				t.Errorf("%+v does not name the one that is there", a.Problems)
			}
			sound(t, s)
		})
	}
}
