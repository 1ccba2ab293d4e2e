package settlement_test

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

var update = flag.Bool("update", false, "write the golden files of testdata")

// mistakes are schedules wrong in one way each, made from a sound one.
var mistakes = []struct {
	rule string
	what string
	make func(s *settlement.Schedule)
}{
	{"S01", "ends before it begins", func(s *settlement.Schedule) {
		s.ValidFrom, s.ValidTo = new(calendar.MustDay("2031-09-01")), new(calendar.MustDay("2031-08-31"))
	}},
	{"S02", "gap between bands", func(s *settlement.Schedule) { s.Rows[2].From = decimal("15.5") }},
	{"S02", "overlap of bands", func(s *settlement.Schedule) { s.Rows[2].From = decimal("14.5") }},
	{"S02", "band after an open one", func(s *settlement.Schedule) { s.Rows[1].To = nil }},
	{"S02", "nothing stated before the limit", func(s *settlement.Schedule) { s.Rows[2].To = decimal("16.0") }},
	{"S03", "no step", func(s *settlement.Schedule) { s.Rows[1].Step = nil }},
	{"S03", "step of zero", func(s *settlement.Schedule) { s.Rows[1].Step = decimal("0") }},
	{"S03", "step below zero", func(s *settlement.Schedule) { s.Rows[1].Step = decimal("-0.5") }},
	{"S03", "step too fine", func(s *settlement.Schedule) { s.Rows[1].Step = decimal("0.125") }},
	{"S03", "empty band", func(s *settlement.Schedule) { s.Rows[4].To = decimal("2.0") }},
	{"S03", "no threshold", func(s *settlement.Schedule) { s.Rows[4].From = nil }},
	{"S04", "above ends below", func(s *settlement.Schedule) { s.Rows[4].To = decimal("1.0") }},
	{"S04", "below ends above", func(s *settlement.Schedule) { s.Rows[4].Direction, s.Rows[4].To = settlement.Below, decimal("5.0") }},
	{"S04", "a flag with a band", func(s *settlement.Schedule) { s.Rows[5].From = decimal("1.0") }},
	{"S05", "premium in weight", func(s *settlement.Schedule) { s.Rows[0].Amount = new(trade.MustFraction("-1")) }},
	{"S05", "more than all", func(s *settlement.Schedule) { s.Rows[1].Amount = new(trade.MustFraction("101")) }},
	{"S05", "no amount", func(s *settlement.Schedule) { s.Rows[1].Amount = nil }},
	{"S05", "no common part", func(s *settlement.Schedule) {
		s.Rows[1].Amount, s.Rows[2].Amount = new(trade.MustFraction("1/997")), new(trade.MustFraction("1/1009"))
	}},
	{"S05", "beyond any price", func(s *settlement.Schedule) {
		s.Rows[4].Unit, s.Rows[4].Amount = settlement.CentsPerBu, new(trade.MustFraction("900000"))
	}},
	{"S05", "cap of zero", func(s *settlement.Schedule) { s.Rows[1].Cap = new(trade.Fraction) }},
	{"S05", "checkoff of more than all", func(s *settlement.Schedule) {
		s.Checkoff = &settlement.Checkoff{Kind: settlement.CheckoffPercent, Rate: trade.MustFraction("101")}
	}},
	{"S06", "shrink eats the load", func(s *settlement.Schedule) {
		s.Rows[1] = row(20, settlement.WeightRow, settlement.Moisture, "13.0", settlement.OrFraction, "0.5", "2", settlement.PctWeightPerStep, "")
		s.Rows[2], s.Rows[3] = s.Rows[4], s.Rows[5]
		s.Rows = s.Rows[:4]
	}},
	{"S07", "price unit in a weight row", func(s *settlement.Schedule) { s.Rows[0].Unit = settlement.PctPrice }},
	{"S07", "weight unit in a price row", func(s *settlement.Schedule) { s.Rows[4].Unit = settlement.PctExcess }},
	{"S07", "no quantity", func(s *settlement.Schedule) { s.Rows[4].Qty = "" }},
	{"S07", "cents per bushel of pounds", func(s *settlement.Schedule) { s.Rows[4].Qty = settlement.NetLb }},
	{"S07", "weight of bushels", func(s *settlement.Schedule) { s.Rows[0].Qty = settlement.NetBu }},
	{"S07", "flat excess", func(s *settlement.Schedule) { s.Rows[0].StepMode = settlement.Flat }},
	{"S07", "counted flag", func(s *settlement.Schedule) { s.Rows[5].StepMode = settlement.OrFraction }},
	{"S07", "unknown step mode", func(s *settlement.Schedule) { s.Rows[4].StepMode = "round" }},
	{"S07", "least amount of a discount", func(s *settlement.Schedule) { s.Rows[4].Min = new(trade.MustFraction("1")) }},
	{"S07", "unknown group", func(s *settlement.Schedule) { s.Rows[4].Group = "most" }},
	{"S07", "tiers in two groups", func(s *settlement.Schedule) { s.Rows[2].Group = "max" }},
	{"S08", "no factor", func(s *settlement.Schedule) { s.Rows[4].Factor = settlement.NoFactor }},
	{"S08", "not measured on soybeans", func(s *settlement.Schedule) { s.Rows[4].Factor = settlement.BCFM }},
	{"S08", "finer than recorded", func(s *settlement.Schedule) { s.Rows[4].From = decimal("2.05") }},
	{"S08", "a flag above a figure", func(s *settlement.Schedule) { s.Rows[5].Direction, s.Rows[5].From = settlement.Above, decimal("1.0") }},
	{"S09", "wetter costs less", func(s *settlement.Schedule) {
		s.Rows[1].StepMode, s.Rows[2].StepMode = settlement.Flat, settlement.Flat
		s.Rows[1].Amount, s.Rows[2].Amount = new(trade.MustFraction("4")), new(trade.MustFraction("2"))
	}},
	{"S09", "a jump", func(s *settlement.Schedule) { s.Rows[2].Amount = new(trade.MustFraction("11")) }},
	{"S10", "no crop", func(s *settlement.Schedule) { s.Crop = crop.Unknown }},
	{"S10", "no bushel", func(s *settlement.Schedule) { s.LbPerBu = nil }},
	{"S10", "an odd bushel", func(s *settlement.Schedule) { s.LbPerBu = decimal("0.5") }},
	{"S10", "no decimals", func(s *settlement.Schedule) { s.BuDecimals = nil }},
	{"S10", "no style", func(s *settlement.Schedule) { s.Style = "" }},
	{"S10", "no percent base", func(s *settlement.Schedule) { s.PctBase = "" }},
	{"S10", "no deduct basis for two factors", func(s *settlement.Schedule) {
		s.DeductBasis = ""
		s.Rows = append(s.Rows, row(60, settlement.WeightRow, settlement.Dockage, "0", settlement.Prorated, "", "1", settlement.PctExcess, ""))
	}},
	{"S10", "bushel cents at a hundredweight price", func(s *settlement.Schedule) { s.PriceUnit = settlement.PerCwt }},
	{"S11", "foreign material twice", func(s *settlement.Schedule) {
		s.Rows = append(s.Rows, row(60, settlement.PriceRow, settlement.ForeignMaterial, "1.0", settlement.OrFraction, "1", "1", settlement.CentsPerBu, settlement.NetBu))
	}},
	{"S11", "heat twice", func(s *settlement.Schedule) {
		s.Rows = append(s.Rows, row(60, settlement.PriceRow, settlement.HeatDamage, "0.2", settlement.OrFraction, "1", "1", settlement.CentsPerBu, settlement.NetBu))
	}},
	{"S12", "band behind the limit", func(s *settlement.Schedule) { s.Rows[3].From = decimal("15.0") }},
	{"schedule.seq", "a number twice", func(s *settlement.Schedule) { s.Rows[4].Seq = 20 }},
}

func TestMistakesInSchedulesAreFoundAndSaid(t *testing.T) {
	warnings := []string{"S09", "S11", "S12", "nothing stated before the limit"}
	var said strings.Builder
	for _, c := range mistakes {
		s := schedule("A")
		c.make(&s)
		terms, findings, err := settlement.Prepare(s)
		var found *problem.Finding
		for i := range findings {
			if findings[i].Rule == c.rule {
				found = &findings[i]
				break
			}
		}
		if found == nil {
			t.Errorf("%s, %s: got %v, want a finding", c.rule, c.what, findings)
			continue
		}
		warning := false
		for _, w := range warnings {
			warning = warning || w == c.rule || w == c.what
		}
		if (found.Severity == problem.Warning) != warning || (err != nil) != !warning || (terms == nil) != !warning {
			t.Errorf("%s, %s: severity %s, err %v", c.rule, c.what, found.Severity, err)
		}
		fmt.Fprintf(&said, "%s %s (%s, %s)\n    %s\n", c.rule, c.what, found.Severity, found.Where, strings.TrimSpace(found.Say+" "+found.Next))
	}
	golden(t, "findings.txt", said.String())
}

// golden compares got with a file of testdata, read by a person when it changes.
func golden(t *testing.T, name, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile("testdata/"+name, []byte(got), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", name, diff)
	}
}

func TestSoundSchedulesRaiseNothing(t *testing.T) {
	for _, name := range []string{"A", "A-lines", "B", "B-additive", "C", "D", "F", "N", "P", "R"} {
		if _, findings, err := settlement.Prepare(schedule(name)); err != nil || len(findings) > 0 {
			t.Errorf("%s: got %v, %v", name, findings, err)
		}
	}
}

func TestAJumpInCentsIsMeasuredAgainstThePrice(t *testing.T) {
	s := schedule("A")
	s.Rows[4].Amount = new(trade.MustFraction("45"))
	terms := prepare(t, s)
	if got := terms.Doubts(new(trade.Price(5_00000))); len(got) != 0 {
		t.Errorf("45 cents of $5.00: got %v", got)
	}
	if got := terms.Doubts(new(trade.Price(4_00000))); len(got) != 1 || got[0].Rule != "S09" {
		t.Errorf("45 cents of $4.00: got %v, want S09", got)
	}
	s.Rows[2].Amount = new(trade.MustFraction("11")) // a jump in percent, reported once, by Prepare
	if got := prepare(t, s).Doubts(new(trade.Price(4_00000))); len(got) != 1 || got[0].Where.Path != "rows[4]" {
		t.Errorf("beside a jump in percent: got %v", got)
	}
}

func TestEveryMissingReadingIsSaid(t *testing.T) {
	terms := prepare(t, schedule("A"))
	_, err := terms.Settle(settlement.Load{Crop: crop.Soybean, Gross: 78460, Tare: 27180}, settlement.Prices{Cash: 987250})
	var all problem.InputErrors
	if !errors.As(err, &all) || len(all) != 3 || all[0].Label != "moisture" || all[2].Label != "total damage" || all[1].Rule != "T06" {
		t.Errorf("got %v, want moisture, foreign material and total damage", err)
	}
}

func TestTwoSchedulesForOneDay(t *testing.T) {
	year := func(id, from, to string) settlement.Schedule {
		s := settlement.Schedule{ID: id, Buyer: "Quern", Crop: crop.Corn, ValidFrom: new(calendar.MustDay(from))}
		if to != "" {
			s.ValidTo = new(calendar.MustDay(to))
		}
		return s
	}
	old, fresh := year("old", "2030-09-01", "2031-08-31"), year("new", "2031-09-01", "")
	if got := settlement.CheckSet([]settlement.Schedule{old, fresh}); got != nil {
		t.Errorf("one after the other: got %v", got)
	}
	early := year("new", "2031-08-31", "")
	got := settlement.CheckSet([]settlement.Schedule{old, early})
	const want = `Schedule "new" of Quern is "from 2031-08-31"; accepted: days that schedule "old", 2030-09-01 to 2031-08-31, does not cover.`
	if len(got) != 1 || got[0].Rule != "S01" || got[0].Say != want {
		t.Errorf("got %v\nwant %s", got, want)
	}
	early.AppliesTo, old.AppliesTo = []string{"spot"}, []string{"basis"}
	if got := settlement.CheckSet([]settlement.Schedule{old, early}); got != nil {
		t.Errorf("for other contracts: got %v", got)
	}
}

// tickets are loads wrong in one way each, made from a sound one.
func TestTicketsThatCannotBeUsed(t *testing.T) {
	var said strings.Builder
	for _, c := range []struct {
		rule string
		make func(l *settlement.Load, p *settlement.Prices)
	}{
		{"T01", func(l *settlement.Load, _ *settlement.Prices) { l.Gross, l.Tare = l.Tare, l.Gross }},
		{"T01", func(l *settlement.Load, _ *settlement.Prices) { l.Gross = l.Tare }},
		{"T01", func(l *settlement.Load, _ *settlement.Prices) { l.Tare = -20 }},
		{"T01", func(l *settlement.Load, _ *settlement.Prices) { l.Gross = 20_000_000 }},
		{"T03", func(l *settlement.Load, _ *settlement.Prices) {
			l.Readings = l.Readings.With(settlement.Moisture, 4_90)
		}},
		{"T03", func(l *settlement.Load, _ *settlement.Prices) {
			l.Readings = l.Readings.With(settlement.TestWeight, 70_10)
		}},
		{"T03", func(l *settlement.Load, _ *settlement.Prices) {
			l.Readings = l.Readings.With(settlement.ForeignMaterial, 51_00)
		}},
		{"T03", func(l *settlement.Load, _ *settlement.Prices) {
			l.Readings = l.Readings.With(settlement.HeatDamage, 2_50)
		}},
		{"T04", func(l *settlement.Load, _ *settlement.Prices) { l.Crop = crop.Corn }},
		{"T04", func(l *settlement.Load, _ *settlement.Prices) { l.Day = calendar.MustDay("2031-08-31") }},
		{"T06", func(l *settlement.Load, _ *settlement.Prices) {
			l.Readings = settlement.Readings{}.With(settlement.Moisture, 14_20).With(settlement.DamageTotal, 2_00)
		}},
		{"S06", func(l *settlement.Load, _ *settlement.Prices) {
			l.Gross = l.Tare + 20
			l.Readings = l.Readings.With(settlement.ForeignMaterial, 50_00)
		}},
		{"S10", func(_ *settlement.Load, p *settlement.Prices) { p.Cash = 0 }},
		{"S10", func(_ *settlement.Load, p *settlement.Prices) { p.Cash = -100_000 }},
		{"S10", func(_ *settlement.Load, p *settlement.Prices) { p.Premium = 11_000_00000 }},
		{"S10", func(_ *settlement.Load, p *settlement.Prices) { p.Futures = nil }},
	} {
		s := schedule("A")
		s.ValidFrom, s.PctBase, s.BuDecimals = new(calendar.MustDay("2031-09-01")), settlement.FuturesPrice, new(0)
		l := settlement.Load{Crop: s.Crop, Gross: 78460, Tare: 27180, Readings: readings(t, "moisture 14.2 foreign_material 1.8 damage_total 2.4")}
		p := settlement.Prices{Cash: 987250, Futures: new(trade.Price(1042250))}
		terms := prepare(t, s)
		if _, err := terms.Settle(l, p); err != nil {
			t.Fatal(err)
		}
		c.make(&l, &p)
		_, err := terms.Settle(l, p)
		refused, ok := err.(*problem.InputError) //nolint:errorlint // returned as it is
		if !ok || refused.Rule != c.rule {
			t.Errorf("got %v, want %s", err, c.rule)
			continue
		}
		if _, quick := terms.Net(l, p); quick == nil || quick.Error() != err.Error() {
			t.Errorf("without lines: %v, with %v", quick, err)
		}
		fmt.Fprintf(&said, "%s\n    %s\n", c.rule, err)
	}
	golden(t, "tickets.txt", said.String())
}
