package settlement_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// factorFor picks a factor whose readings reach the band.
func factorFor(row map[string]string) settlement.Factor {
	switch {
	case row["direction"] == "below":
		return settlement.TestWeight
	case hundredths(row["from"]) < 10_00:
		return settlement.DamageTotal
	case row["mode"] == "floor":
		return settlement.Protein
	}
	return settlement.Moisture
}

func TestStepsOfOneRow(t *testing.T) {
	for _, row := range rows(t, "steps.csv") {
		f := factorFor(row)
		band := settlement.Row{
			Seq: 10, Kind: settlement.PriceRow, Factor: f, Direction: settlement.Direction(row["direction"]), From: decimal(row["from"]), To: decimal(row["to"]),
			Step: decimal(row["step"]), StepMode: settlement.StepMode(row["mode"]), Amount: new(trade.MustFraction("1")), Unit: settlement.CentsPerBu, Qty: settlement.NetBu,
		}
		s := beans(nil, band)
		s.Crop = crop.Wheat
		l := settlement.Load{Crop: s.Crop, Gross: 86_000, Tare: 26_000, Readings: settlement.Readings{}.With(f, hundredths(row["x"]))}
		got, err := prepare(t, s).Settle(l, settlement.Prices{Cash: 500_000})
		if row["want"] == "" {
			if !errors.Is(err, settlement.ErrUnstated) {
				t.Errorf("%v: got %v, want %v [%s]", row, err, settlement.ErrUnstated, row["source"])
			}
			continue
		}
		if err != nil {
			t.Errorf("%v: %v", row, err)
			continue
		}
		if line := got.Lines[1]; line.Steps != trade.MustFraction(row["want"]) {
			t.Errorf("%v: got %s steps, want %s [%s]", row, line.Steps, row["want"], row["source"])
		}
	}
}

// settled settles 60,000 lb, 1,000 bushels of 60 lb, at $5.
func settled(t testing.TB, s settlement.Schedule, text string) settlement.Statement {
	t.Helper()
	l := settlement.Load{Crop: s.Crop, Gross: 86_000, Tare: 26_000, Readings: readings(t, text)}
	out, err := prepare(t, s).Settle(l, settlement.Prices{Cash: 500_000})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Tiers of 3 and 2 percent are one deduction of 5 percent of the same weight, never 2 percent of what 3 left.
func TestTiersOfOneFactorAreOneDeduction(t *testing.T) {
	s := beans(nil,
		row(10, settlement.WeightRow, settlement.Moisture, "13.0 14.0", settlement.OrFraction, "1", "3", settlement.PctWeightPerStep, ""),
		row(20, settlement.WeightRow, settlement.Moisture, "14.0 16.0", settlement.OrFraction, "1", "2", settlement.PctWeightPerStep, ""))
	got := settled(t, s, "moisture 15.0")
	if got.SettledLb != 57_000 || got.Lines[0].Pounds != 1800 || got.Lines[1].Pounds != 1200 {
		t.Errorf("got %d lb, lines of %d and %d, want 57000 of 1800 and 1200", got.SettledLb, got.Lines[0].Pounds, got.Lines[1].Pounds)
	}
	// Between factors the basis decides: 1 % of 60,000, then 5 % of 59,400 or of 60,000.
	foreign := row(5, settlement.WeightRow, settlement.ForeignMaterial, "1.0", settlement.Prorated, "", "1", settlement.PctExcess, "")
	s.Rows = append(s.Rows, foreign)
	if got := settled(t, s, "moisture 15.0 foreign_material 2.0"); got.SettledLb != 60_000-600-2970 {
		t.Errorf("sequential: got %d lb", got.SettledLb)
	}
	s.DeductBasis = settlement.Additive
	if got := settled(t, s, "moisture 15.0 foreign_material 2.0"); got.SettledLb != 60_000-600-3000 {
		t.Errorf("additive: got %d lb", got.SettledLb)
	}
	s.Rows[0].Qty, s.Rows[1].Qty = settlement.AfterPriorLb, settlement.AfterPriorLb // a row's own basis wins
	if got := settled(t, s, "moisture 15.0 foreign_material 2.0"); got.SettledLb != 60_000-600-2970 {
		t.Errorf("additive, but the row after prior: got %d lb", got.SettledLb)
	}
}

// Stepped rows keep their steps past the band; a flat row leaves off.
func TestEntryChargeBesideSteps(t *testing.T) {
	s := beans(nil,
		row(10, settlement.PriceRow, settlement.Moisture, "13.0 13.5", settlement.Flat, "", "5", settlement.CentsPerBu, settlement.NetBu),
		row(20, settlement.PriceRow, settlement.Moisture, "13.5 14.5", settlement.OrFraction, "0.5", "2", settlement.CentsPerBu, settlement.NetBu),
		row(30, settlement.PriceRow, settlement.Moisture, "14.5", settlement.OrFraction, "0.5", "3", settlement.CentsPerBu, settlement.NetBu))
	for x, want := range map[string]trade.Price{"13.0": 500_000, "13.2": 495_000, "13.6": 498_000, "14.5": 496_000, "15.4": 490_000} {
		if got := settled(t, s, "moisture "+x).PerUnit; got != want {
			t.Errorf("at %s: got %s, want %s", x, got, want)
		}
	}
}

func TestOnlyTheLargestOfAGroupCounts(t *testing.T) {
	heat := row(10, settlement.PriceRow, settlement.HeatDamage, "0.2", settlement.Flat, "", "3", settlement.CentsPerBu, settlement.NetBu)
	damage := row(20, settlement.PriceRow, settlement.DamageTotal, "2.0", settlement.OrFraction, "1", "2", settlement.CentsPerBu, settlement.NetBu)
	heat.Group, damage.Group = "max", "max"
	s := beans(nil, heat, damage)
	for text, want := range map[string]trade.Price{
		"heat_damage 0.4 damage_total 2.5": 497_000, // 3 against 2
		"heat_damage 0.4 damage_total 3.5": 496_000, // 3 against 4
		"heat_damage 0.1 damage_total 1.0": 500_000,
	} {
		got := settled(t, s, text)
		if got.PerUnit != want {
			t.Errorf("%s: got %s, want %s", text, got.PerUnit, want)
		}
		addsUp(t, got)
	}
	s.Rows[0].Group, s.Rows[1].Group = "sum", ""
	if got := settled(t, s, "heat_damage 0.4 damage_total 3.5").PerUnit; got != 493_000 {
		t.Errorf("summed: got %s", got)
	}
	weigh := func(seq int, f settlement.Factor, pct string) settlement.Row {
		r := row(seq, settlement.WeightRow, f, "1.0", settlement.Flat, "", pct, settlement.TablePct, "")
		r.Group = "max:dirt"
		return r
	}
	s = beans(nil, weigh(10, settlement.ForeignMaterial, "2"), weigh(20, settlement.DamageTotal, "3"))
	if got := settled(t, s, "foreign_material 2.0 damage_total 2.0"); got.SettledLb != 58_200 || got.Lines[0].Kind != settlement.OfSetAside {
		t.Errorf("weights: got %d lb", got.SettledLb)
	}
}

func TestCapsAndLeastCharges(t *testing.T) {
	capped := row(10, settlement.PriceRow, settlement.Moisture, "13.0", settlement.OrFraction, "0.5", "2", settlement.CentsPerBu, settlement.NetBu)
	capped.Cap = new(trade.MustFraction("5"))
	drying := row(20, settlement.ChargeRow, settlement.Moisture, "13.0", settlement.Prorated, "1", "0.5", settlement.CentsPerBu, settlement.GrossBu)
	drying.Min, drying.Cap = new(trade.MustFraction("8.50")), new(trade.MustFraction("12"))
	fee := row(30, settlement.ChargeRow, settlement.EveryLoad, "", settlement.Flat, "", "7.25", settlement.DollarsPerLoad, "")
	s := beans(nil, capped, drying, fee)
	for _, c := range []struct {
		x       string
		per     trade.Price
		charges trade.Amount
	}{
		{"13.0", 500_000, 725},        // dry: no least charge
		{"13.4", 498_000, 725 + 850},  // 0.2 c is $2.00, the least is $8.50
		{"15.0", 495_000, 725 + 1000}, // 4 steps of 2 c, at most 5 c
		{"19.0", 495_000, 725 + 1200}, // $30.00, at most $12.00
	} {
		got := settled(t, s, "moisture "+c.x)
		if got.PerUnit != c.per || got.Charges != c.charges {
			t.Errorf("at %s: got %s and charges %s, want %s and %s", c.x, got.PerUnit, got.Charges, c.per, c.charges)
		}
		addsUp(t, got)
	}
}

func TestPricedByTheHundredweight(t *testing.T) {
	s := beans(nil,
		below(10, "55.0", "1", "4", settlement.NetBu),
		row(20, settlement.ChargeRow, settlement.Moisture, "14.0", settlement.Prorated, "1", "10", settlement.CentsPerCwt, settlement.NetLb))
	s.Crop, s.PriceUnit, s.LbPerBu, s.Rows[0].Unit = crop.Sorghum, settlement.PerCwt, nil, settlement.CentsPerCwt
	got := settled(t, s, "moisture 14.5 test_weight 54.2")
	// 600 cwt at 4.96, and 5 cents on each of them for drying.
	if got.Unit != settlement.PerCwt || got.NetQty != 600_000 || got.Value != 2976_00 || got.Charges != 30_00 {
		t.Errorf("got %+v", got.Totals)
	}
}

// A printed shrink table is a flat row for each band: looked up, not interpolated.
func TestTabledShrink(t *testing.T) {
	table := []struct{ band, pct string }{{"13.0 13.5", "0.75"}, {"13.5 14.0", "1.55"}, {"14.0 14.5", "2.40"}}
	s := beans(nil)
	for i, b := range table {
		s.Rows = append(s.Rows, row(10*(i+1), settlement.WeightRow, settlement.Moisture, b.band, settlement.Flat, "", b.pct, settlement.TablePct, ""))
	}
	for x, want := range map[string]trade.Pounds{"12.0": 60_000, "13.0": 60_000, "13.1": 59_550, "13.5": 59_550, "13.6": 59_070, "14.5": 58_560} {
		if got := settled(t, s, "moisture "+x).SettledLb; got != want {
			t.Errorf("at %s: got %d lb, want %d", x, got, want)
		}
	}
}

// Pure water shrink is kept as a fraction: 100/84.5 percent a point, not 1.183.
func TestWaterShrinkIsAFraction(t *testing.T) {
	s := beans(nil, row(10, settlement.WeightRow, settlement.Moisture, "15.5", settlement.Prorated, "1", "100/84.5", settlement.PctWeightPerStep, ""))
	// 60,000 lb at 20.5 %: 47,700 lb of dry matter are 56,449.70 lb at 15.5 %; 1.183 a point would leave 56,451.
	if got := settled(t, s, "moisture 20.5").SettledLb; got != 56_450 {
		t.Errorf("got %d lb, want 56450", got)
	}
}

func TestARejectedLoadSaysWhy(t *testing.T) {
	s := schedule("A")
	s.Rows = append(s.Rows, row(60, settlement.RejectRow, settlement.TreatedSeed, "", "", "", "", "", ""))
	terms := prepare(t, s)
	for _, c := range []struct{ text, say string }{
		{"moisture 17.0 foreign_material 1.0 damage_total 2.0", ""},
		{"moisture 17.04 foreign_material 1.0 damage_total 2.0", ""},
		{"moisture 17.1 foreign_material 1.0 damage_total 2.0", "Not accepted: moisture is 17.1 %, and above 17.0 % is refused (row 22). Ask the buyer before hauling it."},
		{"moisture 13.0 foreign_material 1.0 damage_total 2.0 treated_seed", "Not accepted: treated seed (row 60). Ask the buyer before hauling it."},
	} {
		l := settlement.Load{Crop: s.Crop, Gross: 78460, Tare: 27180, Readings: readings(t, c.text)}
		got, err := terms.Settle(l, settlement.Prices{Cash: 987250})
		if (err != nil) != (c.say != "") || err != nil && (err.Error() != c.say || !errors.Is(err, settlement.ErrNotAccepted)) {
			t.Errorf("%s: got %v, want %q", c.text, err, c.say)
		}
		if err != nil && (got.NetLb != 51280 || got.Value != 0 || got.Lines != nil) {
			t.Errorf("%s: a refused load still has %+v", c.text, got)
		}
	}
}

func TestWhatTheScheduleDoesNotSayIsRefused(t *testing.T) {
	terms := prepare(t, schedule("A"))
	l := settlement.Load{Crop: crop.Soybean, Gross: 78460, Tare: 27180, Readings: readings(t, "moisture 13.0 foreign_material 1.0 damage_total 5.1")}
	_, err := terms.Settle(l, settlement.Prices{Cash: 987250})
	const want = `total damage is "5.1"; accepted: up to 5.0 %, where the schedule ends. Ask the buyer what such a load pays and add a row, or a reject row.`
	var input *problem.InputError
	if !errors.Is(err, settlement.ErrUnstated) || err.Error() != want || !errors.As(err, &input) {
		t.Errorf("got %v\nwant %s", err, want)
	}
	if _, err := terms.Net(l, settlement.Prices{Cash: 987250}); !errors.Is(err, settlement.ErrUnstated) {
		t.Errorf("without lines: got %v", err)
	}
}

func TestWarnRowsAreSaid(t *testing.T) {
	warn := row(50, settlement.WarnRow, settlement.Moisture, "14.0", "", "", "", "", "")
	warn.Text = "Over 14 % is binned apart; expect to wait."
	s := beans(nil, row(10, settlement.PriceRow, settlement.Moisture, "13.0", settlement.OrFraction, "0.5", "1", settlement.PctPrice, settlement.NetBu), warn)
	if got := settled(t, s, "moisture 14.0").Findings; got != nil {
		t.Errorf("at 14.0: got %v", got)
	}
	got := settled(t, s, "moisture 14.1").Findings
	if len(got) != 1 || got[0].Say != warn.Text || got[0].Got != "14.1" || got[0].Severity != problem.Warning {
		t.Errorf("at 14.1: got %+v", got)
	}
}

func TestAverageOfLoadsSettledTogether(t *testing.T) {
	load := func(net trade.Pounds, text string) settlement.Load {
		return settlement.Load{Crop: crop.Soybean, Gross: 26_000 + net, Tare: 26_000, Readings: readings(t, text)}
	}
	got, missing := settlement.Average([]settlement.Load{load(50_000, "moisture 13.5 splits 9.0"), load(50_000, "moisture 13.6 odour_musty")})
	if x, _ := got.Of(settlement.Moisture); x != 13_60 || !got.Noted(settlement.OdourMusty) || !slices.Equal(missing, []settlement.Factor{settlement.Splits}) {
		t.Errorf("got %s, missing %v", x, missing)
	}
	got, _ = settlement.Average([]settlement.Load{load(60_000, "moisture 12.0"), load(20_000, "moisture 14.0")})
	if x, _ := got.Of(settlement.Moisture); x != 12_50 {
		t.Errorf("weighted by pounds: got %s, want 12.5", x)
	}
}

// A wetter load, a dirtier one, a lighter one never pays more under a schedule of discounts.
func TestAWorseLoadNeverPaysMore(t *testing.T) {
	for _, name := range []string{"A", "A-lines", "B", "B-additive", "C", "D"} {
		s := schedule(name)
		terms := prepare(t, s)
		rapid.Check(t, func(t *rapid.T) {
			var r settlement.Readings
			for f, span := range map[settlement.Factor][2]int64{settlement.ForeignMaterial: {0, 400}, settlement.DamageTotal: {0, 500}, settlement.TestWeight: {5000, 5900}, settlement.BCFM: {0, 600}} {
				r = r.With(f, trade.Percent(rapid.Int64Range(span[0], span[1]).Draw(t, f.String())))
			}
			l := settlement.Load{Crop: s.Crop, Tare: 26_000, Gross: 26_000 + trade.Pounds(rapid.Int64Range(1000, 56_000).Draw(t, "net"))}
			p := settlement.Prices{Cash: trade.Price(rapid.Int64Range(300_000, 1_500_000).Draw(t, "cash"))}
			before := trade.Amount(1 << 60)
			for m := trade.Percent(10_00); m <= 17_00; m += 10 {
				l.Readings = r.With(settlement.Moisture, m)
				got, err := terms.Net(l, p)
				if err != nil {
					t.Fatal(err)
				}
				if got > before {
					t.Fatalf("%s at %s pays %s, drier %s", name, m, got, before)
				}
				before = got
			}
		})
	}
}

// Additive deductions take at least what sequential ones do, and never more than the parts of the whole.
func TestSequentialTakesLessThanAdditive(t *testing.T) {
	seq, add := prepare(t, schedule("B")), prepare(t, schedule("B-additive"))
	rapid.Check(t, func(t *rapid.T) {
		l := settlement.Load{Crop: crop.Soybean, Tare: 26_000, Gross: 26_000 + trade.Pounds(rapid.Int64Range(1000, 56_000).Draw(t, "net"))}
		l.Readings = l.Readings.With(settlement.Moisture, trade.Percent(rapid.Int64Range(900, 2000).Draw(t, "moisture"))).
			With(settlement.ForeignMaterial, trade.Percent(rapid.Int64Range(0, 1000).Draw(t, "foreign")))
		p := settlement.Prices{Cash: 998_000}
		a, err := seq.Totals(l, p)
		b, err2 := add.Totals(l, p)
		if err != nil || err2 != nil || a.SettledLb < b.SettledLb || a.GrossQty != b.GrossQty {
			t.Fatalf("sequential %d lb, additive %d lb, %v %v", a.SettledLb, b.SettledLb, err, err2)
		}
	})
}

func TestTheQuickPathAllocatesNothing(t *testing.T) {
	terms := prepare(t, schedule("A"))
	p := settlement.Prices{Cash: 987250, Premium: 6000}
	for _, text := range []string{"moisture 14.2 foreign_material 1.8 damage_total 2.4", "moisture 18.0 foreign_material 1.8 damage_total 2.4", "moisture 14.2 foreign_material 1.8 damage_total 6.0"} {
		l := settlement.Load{Crop: crop.Soybean, Gross: 78460, Tare: 27180, Readings: readings(t, text)}
		if n := testing.AllocsPerRun(100, func() { _, _ = terms.Net(l, p) }); n != 0 {
			t.Errorf("%s: %v allocations", text, n)
		}
	}
}

func ExampleTerms_Settle() {
	// 2 cents for each point or fraction of damage over 2.0, invented; a load of 60,000 lb at $9.87.
	amount, from, step, lb, decimals := trade.MustFraction("2"), trade.MustDecimal("2.0"), trade.MustDecimal("1"), trade.MustDecimal("60"), 2
	terms, _, err := settlement.Prepare(settlement.Schedule{
		Crop: crop.Soybean, LbPerBu: &lb, BuDecimals: &decimals, Style: settlement.NetPrice,
		Rows: []settlement.Row{{
			Seq: 10, Factor: settlement.DamageTotal, Kind: settlement.PriceRow, Direction: settlement.Above, From: &from, Step: &step,
			StepMode: settlement.OrFraction, Amount: &amount, Unit: settlement.CentsPerBu, Qty: settlement.NetBu,
		}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	load := settlement.Load{Crop: crop.Soybean, Gross: 86_000, Tare: 26_000, Readings: settlement.Readings{}.With(settlement.DamageTotal, 3_40)}
	statement, err := terms.Settle(load, settlement.Prices{Cash: 987_000})
	for _, line := range statement.Lines {
		fmt.Printf("%9s  %s\n", line.Dollars, terms.Explain(line))
	}
	fmt.Println(strings.TrimSpace(statement.Net.String()), err)
	// Output:
	//   9870.00  base price $9.8700 per net bu
	//    -40.00  total damage 3.4 %; over 2.0; 2 × 1 (or fraction); 2 cents on net bu
	// 9830.00 <nil>
}
