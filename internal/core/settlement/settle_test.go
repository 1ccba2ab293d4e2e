package settlement_test

import (
	"testing"

	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

func loadOf(t testing.TB, terms *settlement.Terms, row map[string]string) (settlement.Load, settlement.Prices) {
	t.Helper()
	parse := func(name string) (n int64) {
		v, ok := trade.MustDecimal(row[name]).Units(5)
		if !ok {
			t.Fatalf("%s: %q", name, row[name])
		}
		return v
	}
	l := settlement.Load{
		Crop: terms.Schedule().Crop, Gross: trade.Pounds(parse("gross_lb") / 1e5), Tare: trade.Pounds(parse("tare_lb") / 1e5),
		Readings: readings(t, row["readings"]),
	}
	return l, settlement.Prices{Cash: trade.Price(parse("price")), Premium: trade.Price(parse("premium"))}
}

func TestLoadsToTheCent(t *testing.T) {
	for _, row := range rows(t, "loads.csv") {
		t.Run(row["name"], func(t *testing.T) {
			terms := prepare(t, schedule(row["schedule"]))
			l, p := loadOf(t, terms, row)
			s, err := terms.Settle(l, p)
			if err != nil {
				t.Fatal(err)
			}
			for name, got := range map[string]string{
				"settle_lb": s.SettledLb.String(), "gross_qty": s.GrossQty.String(), "net_qty": s.NetQty.String(), "per_unit": s.PerUnit.String(),
				"value": s.Value.String(), "checkoff": s.Checkoff.String(), "charges": s.Charges.String(), "want": s.Net.String(),
			} {
				if got != row[name] {
					t.Errorf("%s: got %s, want %s [%s]", name, got, row[name], row["source"])
				}
			}
			addsUp(t, s)
			quick, err := terms.Totals(l, p)
			if err != nil || quick != s.Totals {
				t.Errorf("without lines: %+v, %v; with lines %+v", quick, err, s.Totals)
			}
		})
	}
}

// addsUp checks that every pound and cent of a statement stands in a line.
func addsUp(t interface{ Errorf(string, ...any) }, s settlement.Statement) {
	var lb trade.Pounds
	var usd trade.Amount
	for _, l := range s.Lines {
		lb += l.Pounds
		usd += l.Dollars
		if l.Running != usd || l.Left != s.NetLb-lb {
			t.Errorf("row %d: running %s and %d lb, the lines so far give %s and %d", l.Row, l.Running, l.Left, usd, s.NetLb-lb)
		}
	}
	if lb != s.NetLb-s.SettledLb || usd != s.Value {
		t.Errorf("lines give %d lb and %s, the statement %d and %s", lb, usd, s.NetLb-s.SettledLb, s.Value)
	}
	var charges trade.Amount
	for _, l := range s.ChargeLines {
		charges -= l.Dollars
	}
	if charges != s.Charges || s.Net != s.Value-s.Checkoff-s.Charges {
		t.Errorf("charges %s in lines, %s in all; net %s", charges, s.Charges, s.Net)
	}
}

func BenchmarkNet(b *testing.B) {
	terms := prepare(b, schedule("A"))
	l := settlement.Load{Crop: terms.Schedule().Crop, Gross: 78460, Tare: 27180, Readings: readings(b, "moisture 14.2 foreign_material 1.8 damage_total 2.4")}
	p := settlement.Prices{Cash: 987250, Premium: 6000}
	b.ReportAllocs()
	var sum trade.Amount
	for i := range b.N {
		l.Readings = l.Readings.With(settlement.Moisture, trade.Percent(11_00+10*(i%60)))
		a, err := terms.Net(l, p)
		if err != nil {
			b.Fatal(err)
		}
		sum += a
	}
	if sum == 0 {
		b.Fatal("nothing paid")
	}
}

func BenchmarkSettle(b *testing.B) {
	terms := prepare(b, schedule("A"))
	l := settlement.Load{Crop: terms.Schedule().Crop, Gross: 78460, Tare: 27180, Readings: readings(b, "moisture 14.2 foreign_material 1.8 damage_total 2.4")}
	p := settlement.Prices{Cash: 987250, Premium: 6000}
	b.ReportAllocs()
	for i := range b.N {
		l.Readings = l.Readings.With(settlement.Moisture, trade.Percent(11_00+10*(i%60)))
		if _, err := terms.Settle(l, p); err != nil {
			b.Fatal(err)
		}
	}
}
