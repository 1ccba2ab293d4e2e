package ledger_test

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/ledger"
	"threshday/internal/core/market"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

var update = flag.Bool("update", false, "write the golden files anew")

// faults are books with one thing wrong each. The sentence that each is answered with stands in testdata/findings.txt, to be
// read by a person when it changes.
var faults = []struct {
	name string
	rule string
	make func(t *testing.T, s *ledger.Setup) []ledger.Entry
}{
	{"gross and tare swapped", "T01", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.Load.Gross, x.Load.Tare = x.Load.Tare, x.Load.Gross
		return entries(x)
	}},
	{"an empty weight from another trip", "T01", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		var out []*ledger.Ticket
		for i := range 5 {
			x := corn(fmt.Sprint(i + 1))
			x.Truck = "semi"
			if i == 4 {
				x.Load.Tare -= 1_500
			}
			out = append(out, x)
		}
		return entries(out...)
	}},
	{"over the truck's limit", "T01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		limit := 80_000 * units.Pound
		s.Season.Trucks = []farm.Truck{{ID: "semi", Gross: &limit}}
		x := corn("4711")
		x.Truck = "semi"
		return entries(x)
	}},
	{"one number twice", "T02", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x, y := corn("4711"), corn("other")
		y.Number = "4711"
		return entries(x, y)
	}},
	{"one record twice", "T02", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry { return entries(corn("4711"), corn("4711")) }},
	{"a day that has not come", "T02", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.Day = calendar.MustDay("2032-01-05")
		return entries(x)
	}},
	{"a moisture no load has", "T03", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.Load.Readings = x.Load.Readings.With(settlement.Moisture, 1_93)
		return entries(x)
	}},
	{"heat over total damage", "T03", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.Load.Readings = x.Load.Readings.With(settlement.HeatDamage, 4_00)
		return entries(x)
	}},
	{"graded as another crop", "T04", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.From = []ledger.Source{{Field: "two", Part: 1}}
		return entries(x)
	}},
	{"no schedule on that day", "T04", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		delete(s.Terms, ledger.TermsKey{Outlet: "elevator", Crop: crop.Corn})
		return entries(corn("4711"))
	}},
	{"a reading the schedule needs", "T06", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.Load.Readings = settlement.Readings{}.With(settlement.Moisture, 19_30).With(settlement.BCFM, 2_00)
		return entries(x)
	}},
	{"into a bin without moisture", "T06", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.Place, x.Load.Readings = "cornbin", settlement.Readings{}
		return entries(x)
	}},
	{"refused by a row", "load.refused", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.Load.Readings = x.Load.Readings.With(settlement.Moisture, 30_10)
		return entries(x)
	}},
	{"an outlet nobody knows", "load.outlet", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.Place = "river"
		return entries(x)
	}},
	{"a field nobody knows", "load.field", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.From = []ledger.Source{{Field: "south", Part: 1}}
		return entries(x)
	}},
	{"no field", "load.field", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.From = nil
		return entries(x)
	}},
	{"no bid", "load.price", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		s.Bids = nil
		return entries(corn("4711"))
	}},
	{"a contract nobody knows", "C01", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.Contract = "Q-9"
		return entries(x)
	}},
	{"a contract of another crop", "C01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		s.Contracts = []ledger.Contract{hta("H-1")}
		x := beans("4711")
		x.Contract = "H-1"
		return entries(x, corn("1"))
	}},
	{"a contract of another owner", "C01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		k := hta("H-1")
		k.Party, k.Until = "landlord", calendar.MustDay("2031-12-31")
		s.Contracts = []ledger.Contract{k}
		x := corn("4711")
		x.Contract = "H-1"
		return entries(x)
	}},
	{"a contract that was full", "C01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		k := hta("H-1")
		k.Applied = k.Promised
		s.Contracts = []ledger.Contract{k}
		x := corn("4711")
		x.Contract = "H-1"
		return entries(x)
	}},
	{"outside the window", "C01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		k := hta("H-1")
		from := calendar.MustDay("2031-11-01")
		k.From = &from
		s.Contracts = []ledger.Contract{k}
		x := corn("4711")
		x.Contract = "H-1"
		return entries(x)
	}},
	{"applied beyond the promise", "C01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		k := hta("H-1")
		k.Applied = k.Promised + 12_500
		s.Contracts = []ledger.Contract{k}
		return nil
	}},
	{"the day for pricing went by", "C02", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		k := hta("H-1")
		k.Price, k.Applied = market.NewBasis(-35000, "Dec", 0, autumn).By(calendar.MustDay("2031-11-21")), k.Promised
		s.Contracts = []ledger.Contract{k}
		return nil
	}},
	{"the day for pricing is near", "C02", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		k := hta("H-1")
		k.Price, k.Applied = market.NewBasis(-35000, "Dec", 0, autumn).By(calendar.MustDay("2031-12-05")), k.Promised
		s.Contracts = []ledger.Contract{k}
		return nil
	}},
	{"short at the deadline", "C03", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		k := hta("H-1")
		fee := trade.Price(10000)
		k.Until, k.ShortFee = calendar.MustDay("2031-11-30"), &fee
		s.Contracts = []ledger.Contract{k}
		return nil
	}},
	{"taken back and never there", "C03", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		return []ledger.Entry{{Back: "4712", Reason: "wrong farm"}}
	}},
	{"more out of a bin than went in", "B01", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.From = []ledger.Source{{Bin: "cornbin", Part: 1}}
		return entries(x)
	}},
	{"out of a bin nobody knows", "B01", func(_ *testing.T, _ *ledger.Setup) []ledger.Entry {
		x := corn("4711")
		x.From = []ledger.Source{{Bin: "tall", Part: 1}}
		return entries(x)
	}},
	{"more than a bin holds", "B01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		s.Season.Bins[0].HoldsBu = 900
		x := corn("4711")
		x.Place = "cornbin"
		return entries(x)
	}},
	{"measured unlike the book", "B01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		s.Measured = []ledger.Measure{{Bin: "cornbin", Bushels: 870_000}}
		x := corn("4711")
		x.Place = "cornbin"
		return entries(x)
	}},
	{"old grain under new", "bin.old-crop", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		s.Season.Bins[0].InBu = 3000
		x := corn("4711")
		x.Place = "cornbin"
		return entries(x)
	}},
	{"old grain at no known moisture", "B01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		s.Season.Bins[0].InBu, s.Season.Bins[0].SaleBase = 3000, 0
		return nil
	}},
	{"a cheque that does not add up", "P01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		s.Cheques = []ledger.Cheque{cheque(3_500_00, ledger.ChequeLine{Ticket: "4711", Amount: 3_536_90})}
		return entries(corn("4711"))
	}},
	{"a line unlike the terms", "P01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		s.Cheques = []ledger.Cheque{cheque(3_518_69, ledger.ChequeLine{Ticket: "4711", Amount: 3_518_69})}
		return entries(corn("4711"))
	}},
	{"a ticket paid twice", "P01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		s.Cheques = []ledger.Cheque{cheque(7_073_80, ledger.ChequeLine{Ticket: "4711", Amount: 3_536_90}, ledger.ChequeLine{Ticket: "4711", Amount: 3_536_90})}
		return entries(corn("4711"))
	}},
	{"a ticket nobody knows", "P01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		s.Cheques = []ledger.Cheque{cheque(100_00, ledger.ChequeLine{Ticket: "9", Amount: 100_00})}
		return entries(corn("4711"))
	}},
	{"a ticket that is not settled yet", "P01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		delete(s.Terms, ledger.TermsKey{Outlet: "elevator", Crop: crop.Corn})
		s.Cheques = []ledger.Cheque{cheque(3_536_90, ledger.ChequeLine{Ticket: "4711", Amount: 3_536_90})}
		return entries(corn("4711"))
	}},
	{"an advance on nothing", "P01", func(_ *testing.T, s *ledger.Setup) []ledger.Entry {
		s.Cheques = []ledger.Cheque{cheque(4_000_00, ledger.ChequeLine{Amount: 4_000_00})}
		return entries(corn("4711"))
	}},
}

func cheque(total trade.Amount, lines ...ledger.ChequeLine) ledger.Cheque {
	return ledger.Cheque{Number: "1207", Outlet: "elevator", Party: "tenant", On: autumn, Total: total, Lines: lines}
}

func TestEveryFaultIsFoundAndSaidInASentence(t *testing.T) {
	var text strings.Builder
	for _, f := range faults {
		s := home(t)
		b := ledger.Build(s, f.make(t, s))
		fmt.Fprintf(&text, "# %s\n", f.name)
		found := false
		for _, one := range b.Findings {
			found = found || one.Rule == f.rule
			fmt.Fprintf(&text, "%s %s\n  %s\n  %s\n", one.Rule, one.Severity, one.Say, one.Next)
			if one.Say == "" || !strings.HasSuffix(one.Say, ".") || one.Next == "" {
				t.Errorf("%s: %s says %q, then %q", f.name, one.Rule, one.Say, one.Next)
			}
		}
		if !found {
			t.Errorf("%s: found %v, want %s", f.name, rules(b), f.rule)
		}
	}
	const golden = "testdata/findings.txt"
	if *update {
		if err := os.WriteFile(golden, []byte(text.String()), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if text.String() != string(want) {
		t.Errorf("%s is not what is said now; -update writes it:\n%s", golden, text.String())
	}
}

// What is right is not doubted: a cheque a few cents off, a truck a little lighter, a bin measured within its error, a contract
// ended within its tolerance or bought out.
func TestWhatIsRightIsNotDoubted(t *testing.T) {
	s := home(t)
	s.Cheques = []ledger.Cheque{cheque(3_537_95, ledger.ChequeLine{Ticket: "1", Amount: 3_536_95}, ledger.ChequeLine{Amount: 1_00})}
	s.Measured = []ledger.Measure{{Bin: "cornbin", Bushels: 875_000}}
	near, bought := hta("near"), hta("bought")
	near.Promised, near.Applied, near.Tolerance, near.Until = 1_000_000, 990_000, 10_000, calendar.MustDay("2031-10-01")
	bought.Until, bought.BoughtOut = calendar.MustDay("2031-10-01"), true
	s.Contracts = []ledger.Contract{near, bought}
	binned := corn("2")
	binned.Place, binned.Truck = "cornbin", "semi"
	clean(t, ledger.Build(s, entries(corn("1"), binned)))
	for _, c := range ledger.Build(s, nil).Contracts {
		if c.Left() != 0 {
			t.Errorf("contract %s has %s left", c.ID, c.Left())
		}
	}
}

// One bad ticket hides no other.
func TestABadTicketHidesNoOther(t *testing.T) {
	bad := corn("bad")
	bad.Load.Gross = 0
	b := ledger.Build(home(t), entries(bad, corn("good")))
	if len(b.Loads) != 2 || len(b.Sales) != 1 || b.Loads[b.Sales[0].Ticket].Ticket.ID != "good" {
		t.Errorf("sales %+v", b.Sales)
	}
	if n := len(b.Findings); n != 1 || b.Findings[0].Severity != problem.Error {
		t.Errorf("findings %+v", b.Findings)
	}
}

// A season of 100,000 truckloads at a farm with shares and contracts, added up from nothing.
func BenchmarkBuild100000(b *testing.B) {
	s := home(b)
	s.Contracts = []ledger.Contract{hta("H-1"), hta("H-2")}
	var in []ledger.Entry
	for i := range 100_000 {
		x := corn(fmt.Sprint(i))
		if i%2 == 1 {
			x = beans(fmt.Sprint(i))
			if i%4 == 1 {
				x.From = x.From[:1]
			}
		}
		x.Day = autumn.AddDays(i % 50)
		x.Load.Day = x.Day
		x.Weighed.Gross = time.Date(2031, 10, 2+i%50, 8, 0, i%36000, 0, time.UTC)
		in = append(in, ledger.Entry{Ticket: x})
	}
	b.ReportAllocs()
	b.ResetTimer()
	for b.Loop() {
		book := ledger.Build(s, in)
		if len(book.Loads) != len(in) || len(book.Positions()) == 0 || len(book.Records()) == 0 {
			b.Fatal("loads are missing")
		}
	}
}
