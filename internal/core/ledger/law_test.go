package ledger_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/ledger"
	"threshday/internal/core/market"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// season draws a farm with random shares, contracts and premiums, and tickets of every kind on it.
func season(t testing.TB, rt *rapid.T) (*ledger.Setup, []ledger.Entry) {
	s := home(t)
	for i := range s.Season.Fields {
		f := &s.Season.Fields[i]
		f.Shares = nil
		den := rapid.Int64Range(1, 12).Draw(rt, "shares")
		left := den
		for p := 0; left > 0; p++ {
			num := left
			if p < 3 {
				num = rapid.Int64Range(1, left).Draw(rt, "share")
			}
			f.Shares = append(f.Shares, farm.Share{Party: fmt.Sprint("party", p), Num: num, Den: den})
			left -= num
		}
	}
	for i := range rapid.IntRange(0, 5).Draw(rt, "contracts") {
		k := []crop.Kind{crop.Corn, crop.Soybean}[i%2]
		price := market.NewCash(trade.Price(rapid.IntRange(3_00000, 12_00000).Draw(rt, "contract price")), calendar.Day{})
		if rapid.Bool().Draw(rt, "open") {
			price = market.NewDeferred(market.Service{})
		}
		s.Contracts = append(s.Contracts, ledger.Contract{
			ID: fmt.Sprint("k", i), Outlet: "elevator", Party: fmt.Sprint("party", rapid.IntRange(0, 2).Draw(rt, "holder")), Crop: k,
			Promised: trade.Bushels(rapid.IntRange(1, 3_000_000).Draw(rt, "promised")) * 10, Until: calendar.MustDay("2031-12-31").AddDays(-i % 2), Price: price,
			Tolerance: trade.Bushels(rapid.IntRange(0, 100_000).Draw(rt, "tolerance")),
		})
	}
	var out []ledger.Entry
	inBin := map[string]int{}
	for i := range rapid.IntRange(1, 12).Draw(rt, "loads") {
		k := []crop.Kind{crop.Corn, crop.Soybean}[rapid.IntRange(0, 1).Draw(rt, "crop")]
		bin := map[crop.Kind]string{crop.Corn: "cornbin", crop.Soybean: "beanbin"}[k]
		moisture := trade.Percent(rapid.IntRange(100, 160).Draw(rt, "moisture") * 10)
		tk := &ledger.Ticket{
			ID: fmt.Sprintf("id%02d", i), Number: fmt.Sprint(1000 + i), Place: "elevator", Day: autumn.AddDays(i / 3),
			Load: load(k, trade.Pounds(rapid.IntRange(30_000, 90_000).Draw(rt, "gross")), 26_000, map[settlement.Factor]trade.Percent{
				settlement.Moisture: moisture, settlement.TestWeight: 56_00, settlement.BCFM: 1_00, settlement.ForeignMaterial: 1_20, settlement.DamageTotal: 1_00,
			}),
		}
		tk.Load.Day = tk.Day
		switch way := rapid.IntRange(0, 3).Draw(rt, "way"); {
		case way == 3 && inBin[bin] > 0:
			tk.From = []ledger.Source{{Bin: bin, Part: 1}}
			if rapid.Bool().Draw(rt, "topped up") {
				tk.From = append(tk.From, ledger.Source{Field: map[crop.Kind]string{crop.Corn: "corn", crop.Soybean: "two"}[k], Part: 1})
			}
		case way == 2:
			tk.Place = bin
			inBin[bin]++
			fallthrough
		case k == crop.Corn:
			tk.From = []ledger.Source{{Field: "corn", Part: 1}}
		default:
			tk.From = []ledger.Source{{Field: "one", Part: rapid.Int64Range(1, 50_000).Draw(rt, "part")}, {Field: "two", Part: rapid.Int64Range(1, 50_000).Draw(rt, "part")}}
		}
		out = append(out, ledger.Entry{Ticket: tk})
	}
	s.Mixed = map[string]bool{"cornbin": rapid.Bool().Draw(rt, "mixed")}
	return s, out
}

// Pounds, bushels, dollars and dry matter of the parts are those of the load, and of the loads those of the whole.
func TestPartsAddUpToTheLoad(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s, in := season(t, rt)
		b := ledger.Build(s, in)
		for i, p := range b.Loads {
			if p.Why != nil {
				rt.Fatalf("load %d: %v", i, p.Why)
			}
			var net, settled trade.Pounds
			for _, l := range b.Harvest[p.Harvest.First:p.Harvest.End] {
				net, settled = net+l.Net, settled+l.Settled
			}
			fromBin := slices.ContainsFunc(p.Ticket.From, func(s ledger.Source) bool { return s.Bin != "" })
			if !fromBin && (net != p.Totals.NetLb || settled != p.Totals.SettledLb) {
				rt.Fatalf("load %d: fields hold %s of %s lb, %s of %s settled", i, net, p.Totals.NetLb, settled, p.Totals.SettledLb)
			}
			sales := b.Sales[p.Sales.First:p.Sales.End]
			if !p.Settled {
				if len(sales) > 0 {
					rt.Fatalf("load %d is not settled and is sold", i)
				}
				continue
			}
			onePrice := true
			var qty trade.Bushels
			var sold trade.Pounds
			var value, checkoff, charges trade.Amount
			for _, l := range sales {
				qty, sold = qty+l.Qty, sold+l.Settled
				value, checkoff, charges = value+l.Value, checkoff+l.Checkoff, charges+l.Charges
				onePrice = onePrice && l.Priced && l.Cash == sales[0].Cash && l.Premium == sales[0].Premium
			}
			if qty != p.Totals.NetQty || sold != p.Totals.SettledLb {
				rt.Fatalf("load %d: owners and contracts hold %s of %s, %s of %s lb", i, qty, p.Totals.NetQty, sold, p.Totals.SettledLb)
			}
			if onePrice {
				st, err := b.Explain(sales[0])
				if err != nil || st.Value != value || st.Checkoff != checkoff || st.Charges != charges {
					rt.Fatalf("load %d: parts pay %s, %s, %s of %s, %s, %s (%v)", i, value, checkoff, charges, st.Value, st.Checkoff, st.Charges, err)
				}
			}
		}
		for i := range b.Contracts {
			c := &b.Contracts[i]
			if c.Applied+c.Filled > c.Promised+c.Tolerance {
				rt.Fatalf("contract %s holds %s of %s", c.ID, c.Filled, c.Promised)
			}
		}
	})
}

// Dry matter into the bins is dry matter out of them and dry matter in them; what owners hold in a bin adds up to it.
func TestDryMatterOfTheBinsIsKept(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s, in := season(t, rt)
		b := ledger.Build(s, in)
		inPlace := map[string]int64{}
		for _, p := range b.Positions() {
			if p.Bin {
				inPlace[p.Place] += p.Dry
			}
		}
		want := map[string]int64{}
		for _, l := range b.Loads {
			m, _ := l.Ticket.Load.Readings.Of(settlement.Moisture)
			dry := int64(l.Ticket.Load.Net()) * int64(100_00-m)
			var all int64
			for _, f := range l.Ticket.From {
				all += f.Part
			}
			for _, f := range l.Ticket.From {
				if f.Bin != "" {
					want[f.Bin] -= int64(trade.Pounds(trade.HalfUp.MulDiv(int64(l.Ticket.Load.Net()), f.Part, all))) * int64(100_00-m)
				}
			}
			if l.Ticket.Place != "elevator" {
				want[l.Ticket.Place] += dry
			}
		}
		for _, bin := range b.BinBalances() {
			if inPlace[bin.Bin] != bin.Dry || bin.Dry != want[bin.Bin] {
				rt.Fatalf("bin %s: owners hold %d, the book %d, the tickets %d", bin.Bin, inPlace[bin.Bin], bin.Dry, want[bin.Bin])
			}
			if bin.Opening+bin.In-bin.Out != bin.Now {
				rt.Fatalf("bin %s: %s and %s in, %s out, %s there", bin.Bin, bin.Opening, bin.In, bin.Out, bin.Now)
			}
			if (bin.Over > 0) != slices.ContainsFunc(b.Findings, func(f problem.Finding) bool {
				return f.Rule == "B01" && f.Severity == "error" && f.Label == "Bin "+bin.Bin
			}) {
				rt.Fatalf("bin %s: %d drawn beyond what was in it, findings %v", bin.Bin, bin.Over, rules(b))
			}
		}
	})
}

// The order of arrival changes nothing, and a ticket taken back leaves the sums as if it had never been.
func TestTakingBackUndoesAndOrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s, in := season(t, rt)
		plain := totals(ledger.Build(s, in))
		if got := totals(ledger.Build(s, rapid.Permutation(in).Draw(rt, "order"))); got != plain {
			rt.Fatalf("in another order\n%s\nwas\n%s", got, plain)
		}
		wrong := *in[0].Ticket
		wrong.ID, wrong.Number = "wrong", "1"
		with := append(slices.Clone(in), ledger.Entry{Ticket: &wrong}, ledger.Entry{Back: "wrong", Reason: "another farm's"})
		b := ledger.Build(s, rapid.Permutation(with).Draw(rt, "order"))
		if got := totals(b); got != plain {
			rt.Fatalf("after taking one back\n%s\nwas\n%s", got, plain)
		}
		if len(b.TakenBack) != 1 || b.TakenBack[0].Reason != "another farm's" {
			rt.Fatalf("taken back: %+v", b.TakenBack)
		}
	})
}

// totals returns everything a book says of its parts, as text.
func totals(b *ledger.Book) string {
	return fmt.Sprintf("%+v\n%+v\n%+v\n%+v\n%+v\n%+v", b.Positions(), b.BinBalances(), b.Yields(), b.Records(), b.Sales, b.Harvest)
}

// Every line of a party's statement is its own, and the statements of all parties are the book.
func TestStatementsShowOwnSharesAndNothingElse(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s, in := season(t, rt)
		b := ledger.Build(s, in)
		var sum trade.Amount
		var lines int
		for _, party := range b.Parties {
			st, ok := b.StatementOf(party)
			if !ok {
				rt.Fatal("no statement of", party)
			}
			for _, l := range st.Trail.Sales {
				if b.Parties[l.Party] != party {
					rt.Fatalf("%s sees a sale of %s", party, b.Parties[l.Party])
				}
			}
			for _, p := range st.Positions {
				if p.Party != party {
					rt.Fatalf("%s sees what %s has", party, p.Party)
				}
			}
			sum += st.Trail.Paid
			lines += len(st.Trail.Sales) + len(st.Trail.Harvest) + len(st.Trail.Stock)
		}
		all := b.Trace(ledger.Question{})
		if sum != all.Paid || lines != len(b.Sales)+len(b.Harvest)+len(b.Stock) {
			rt.Fatalf("statements pay %s in %d lines, the book %s in %d", sum, lines, all.Paid, len(b.Sales)+len(b.Harvest)+len(b.Stock))
		}
	})
	if _, ok := ledger.Build(home(t), nil).StatementOf("nobody"); ok {
		t.Error("a stranger gets a statement")
	}
}

// Every sum is the sum of the lines it is traced to.
func TestEveryFigureIsTracedToItsTickets(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s, in := season(t, rt)
		b := ledger.Build(s, in)
		for _, c := range b.ContractSums() {
			trail := b.Trace(ledger.Question{Contract: c.ID})
			if trail.Qty != c.Filled || trail.Value != c.Value || trail.Paid != c.Net || len(trail.Sales) != c.Lines {
				rt.Fatalf("contract %s: %s bu for %s; its tickets %s for %s", c.ID, c.Filled, c.Value, trail.Qty, trail.Value)
			}
		}
		for _, y := range b.Yields() {
			trail := b.Trace(ledger.Question{Field: y.Field})
			if trail.Net != y.Net || len(trail.Loads) < y.Loads {
				rt.Fatalf("field %s: %s lb in %d loads; its tickets %s in %d", y.Field, y.Net, y.Loads, trail.Net, len(trail.Loads))
			}
		}
		for _, p := range b.Positions() {
			if p.Bin {
				continue
			}
			var qty trade.Bushels
			for _, l := range b.Trace(ledger.Question{Party: p.Party, Place: p.Place}).Sales {
				if b.Loads[l.Ticket].Ticket.Load.Crop == p.Crop {
					qty += l.Qty
				}
			}
			if qty != p.Sold+p.Claim+p.Stored {
				rt.Fatalf("%s at %s: %s + %s + %s, its tickets %s", p.Party, p.Place, p.Sold, p.Claim, p.Stored, qty)
			}
		}
	})
}
