package settlement_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// audited is the load of most audits: it touches every row of its schedule.
func audited(t testing.TB) settlement.AuditInput {
	t.Helper()
	s := schedule("A")
	s.Rows = append(s.Rows, row(50, settlement.ChargeRow, settlement.Moisture, "13.0", settlement.Prorated, "1", "2.5", settlement.CentsPerBu, settlement.GrossBu))
	return settlement.AuditInput{
		Schedule: s,
		Load: settlement.Load{
			Crop: s.Crop, Gross: 78460, Tare: 27180, Day: calendar.MustDay("2031-10-02"),
			Readings: readings(t, "moisture 14.2 foreign_material 1.8 test_weight 55.1 damage_total 2.4 splits 12.0"),
		},
		Prices: settlement.Prices{Cash: 987250, Premium: 6000},
	}
}

// printed returns the sheet of a buyer who settles as changed says, with every figure, lines too if listed.
func printed(t testing.TB, in settlement.AuditInput, listed bool, change func(*settlement.AuditInput)) settlement.Sheet {
	t.Helper()
	in.Schedule.Rows = slices.Clone(in.Schedule.Rows)
	change(&in)
	s, err := prepare(t, in.Schedule).Settle(in.Load, in.Prices)
	if err != nil {
		t.Fatal(err)
	}
	sheet := settlement.Sheet{
		NetLb: &s.NetLb, SettledLb: &s.SettledLb, GrossQty: &s.GrossQty, NetQty: &s.NetQty, PerUnit: &s.PerUnit,
		Value: &s.Value, Checkoff: &s.Checkoff, Net: &s.Net,
	}
	if listed {
		list := func(lines []settlement.Line) (out []settlement.SheetLine) {
			for _, l := range lines {
				out = append(out, settlement.SheetLine{Name: l.Name(), Pounds: &l.Pounds, Dollars: &l.Dollars})
			}
			return out
		}
		sheet.Lines, sheet.Charges = list(s.Lines), list(s.ChargeLines)
	}
	return sheet
}

func audit(t testing.TB, in settlement.AuditInput) settlement.AuditResult {
	t.Helper()
	out, _, err := settlement.Audit(in)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestASheetThatFollowsTheTermsAgrees(t *testing.T) {
	in := audited(t)
	in.Sheet = printed(t, in, true, func(*settlement.AuditInput) {})
	if got := audit(t, in); !got.Agrees || got.Explained != nil || *got.Difference != 0 {
		t.Errorf("got %+v", got)
	}
}

func rowOf(in *settlement.AuditInput, seq int) *settlement.Row {
	i := slices.IndexFunc(in.Schedule.Rows, func(r settlement.Row) bool { return r.Seq == seq })
	return &in.Schedule.Rows[i]
}

// Each way a buyer may depart from the terms is found, alone, on a sheet that lists its lines.
func TestEveryDepartureIsNamed(t *testing.T) {
	for _, c := range []struct {
		want   string // rule and what its sentence holds
		change func(*settlement.AuditInput)
	}{
		{"style rounded in line_item", func(in *settlement.AuditInput) { in.Schedule.Style = settlement.LineItem }},
		{"pct_base cash_with_premium", func(in *settlement.AuditInput) { in.Schedule.PctBase = settlement.CashWithPremium }},
		{"bu_decimals to 1 decimals", func(in *settlement.AuditInput) { in.Schedule.BuDecimals = new(1) }},
		{"discount_qty moisture", func(in *settlement.AuditInput) {
			rowOf(in, 20).Qty, rowOf(in, 21).Qty = settlement.GrossBu, settlement.GrossBu
		}},
		{"drying_qty moisture charge taken on net", func(in *settlement.AuditInput) { rowOf(in, 50).Qty = settlement.NetBu }},
		{"checkoff_base before quality", func(in *settlement.AuditInput) {
			in.Schedule.Checkoff = &settlement.Checkoff{Kind: settlement.CheckoffPercent, Rate: trade.MustFraction("0.5"), Base: settlement.BeforeQuality}
		}},
		{"checkoff_base after charges", func(in *settlement.AuditInput) {
			in.Schedule.Checkoff = &settlement.Checkoff{Kind: settlement.CheckoffPercent, Rate: trade.MustFraction("0.5"), Base: settlement.AfterCharges}
		}},
		{"checkoff no checkoff", func(in *settlement.AuditInput) { in.Schedule.Checkoff = nil }},
		{"checkoff twice", func(in *settlement.AuditInput) {
			in.Schedule.Checkoff = &settlement.Checkoff{Kind: settlement.CheckoffPercent, Rate: trade.MustFraction("1")}
		}},
		{"steps full steps only", func(in *settlement.AuditInput) {
			rowOf(in, 20).StepMode, rowOf(in, 21).StepMode = settlement.EachFull, settlement.EachFull
		}},
		{"steps prorated", func(in *settlement.AuditInput) {
			rowOf(in, 20).StepMode, rowOf(in, 21).StepMode = settlement.Prorated, settlement.Prorated
		}},
		{"steps each step or fraction instead", func(in *settlement.AuditInput) { rowOf(in, 50).StepMode = settlement.OrFraction }},
		{"steps twice as large", func(in *settlement.AuditInput) { rowOf(in, 20).Step, rowOf(in, 21).Step = decimal("1"), decimal("1") }},
		{"steps the threshold itself", func(in *settlement.AuditInput) {
			in.Load.Readings = in.Load.Readings.With(settlement.DamageTotal, 3_00)
			rowOf(in, 30).From = decimal("1.9")
		}},
		{"steps one step too many", func(in *settlement.AuditInput) { rowOf(in, 20).From = decimal("12.5") }},
		{"free_band the free part", func(in *settlement.AuditInput) { rowOf(in, 10).From = decimal("0") }},
		{"not_charged total damage", func(in *settlement.AuditInput) { rowOf(in, 30).Amount = new(trade.Fraction) }},
		{"charged_twice moisture charge", func(in *settlement.AuditInput) { rowOf(in, 50).Amount = new(trade.MustFraction("5")) }},
		{"premium not paid", func(in *settlement.AuditInput) { in.Prices.Premium = 0 }},
		{"lb_per_bu test weight", func(in *settlement.AuditInput) { in.Schedule.LbPerBu = decimal("55.1") }},
		{"net_weight settled on 51180 lb", func(in *settlement.AuditInput) { in.Load.Tare += 100 }},
		{"base_price a base price of $9.7200", func(in *settlement.AuditInput) { in.Prices.Cash = 972000 }},
	} {
		t.Run(c.want, func(t *testing.T) {
			in := audited(t)
			if strings.Contains(c.want, "threshold") {
				in.Load.Readings = in.Load.Readings.With(settlement.DamageTotal, 3_00)
			}
			in.Sheet = printed(t, in, true, c.change)
			got := audit(t, in)
			rule, words, _ := strings.Cut(c.want, " ")
			if got.Agrees || got.Unexplained != 0 || !explains(got, rule, words) {
				t.Errorf("got %+v or %+v, unexplained %s, want %s", got.Explained, got.Equally, got.Unexplained, c.want)
			}
		})
	}
}

// explains reports whether one of the equal explanations is that single change.
func explains(got settlement.AuditResult, rule, words string) bool {
	for _, changes := range append([][]settlement.Change{got.Explained}, got.Equally...) {
		if len(changes) == 1 && changes[0].Rule == rule && strings.Contains(changes[0].Detail, words) {
			return true
		}
	}
	return false
}

func TestDeductBasisAndAnotherSchedule(t *testing.T) {
	in := settlement.AuditInput{Schedule: schedule("B"), Prices: settlement.Prices{Cash: 998000}}
	in.Load = settlement.Load{Crop: in.Schedule.Crop, Gross: 84120, Tare: 28040, Readings: readings(t, "moisture 14.8 foreign_material 1.3")}
	in.Sheet = printed(t, in, false, func(in *settlement.AuditInput) { in.Schedule.DeductBasis = settlement.Additive })
	got := audit(t, in)
	if fmt.Sprint(got.Explained) != "[{deduct_basis weight deductions taken additive; the schedule says sequential}]" || *got.Difference != -89 {
		t.Errorf("got %v, %s", got.Explained, got.Difference)
	}
	old := schedule("N")
	old.ID, old.ValidFrom, old.ValidTo = "last year's", new(calendar.MustDay("2030-09-01")), new(calendar.MustDay("2031-08-31"))
	in.Others = []settlement.Schedule{old}
	in.Sheet = printed(t, in, false, func(in *settlement.AuditInput) {
		in.Schedule = old
		in.Schedule.ValidFrom, in.Schedule.ValidTo = nil, nil
	})
	if got := audit(t, in); !explains(got, "schedule", `"last year's", in force 2030-09-01 to 2031-08-31`) {
		t.Errorf("got %v or %v", got.Explained, got.Equally)
	}
}

func TestTwoDeparturesAtOnce(t *testing.T) {
	in := audited(t)
	in.Sheet = printed(t, in, true, func(in *settlement.AuditInput) {
		in.Prices.Premium = 0
		rowOf(in, 30).Amount = new(trade.MustFraction("4"))
	})
	got := audit(t, in)
	if len(got.Explained) != 2 || got.Unexplained != 0 {
		t.Fatalf("got %+v", got)
	}
	rules := got.Explained[0].Rule + " " + got.Explained[1].Rule
	if !strings.Contains(rules, "premium") || got.Agrees {
		t.Errorf("got %s", rules)
	}
}

// A sheet that prints totals alone cannot tell apart two factors of which each cost two cents.
func TestEqualExplanationsAreAllSaid(t *testing.T) {
	in := audited(t)
	in.Schedule.Rows = append(in.Schedule.Rows, row(45, settlement.PriceRow, settlement.Splits, "10.0", settlement.OrFraction, "5", "2", settlement.CentsPerBu, settlement.NetBu))
	without := func(in *settlement.AuditInput) { rowOf(in, 45).Amount = new(trade.Fraction) }
	in.Sheet = printed(t, in, false, without)
	got := audit(t, in)
	if !explains(got, "not_charged", "splits") || !explains(got, "not_charged", "total damage") {
		t.Errorf("got %v or %v, want both factors", got.Explained, got.Equally)
	}
	in.Sheet = printed(t, in, true, without)
	if got := audit(t, in); !explains(got, "not_charged", "splits") || explains(got, "not_charged", "total damage") {
		t.Errorf("with lines: got %v or %v, want splits alone", got.Explained, got.Equally)
	}
}

func TestASheetThatDoesNotAddUp(t *testing.T) {
	in := audited(t)
	in.Sheet = printed(t, in, true, func(*settlement.AuditInput) {})
	in.Sheet.Net = new(*in.Sheet.Net - 1000)
	got := audit(t, in)
	if len(got.Explained) != 1 || got.Explained[0].Rule != "P01" || got.Unexplained != 0 || *got.Difference != -1000 {
		t.Errorf("got %+v", got)
	}
}

func TestWhatNothingExplainsIsSaid(t *testing.T) {
	in := audited(t)
	ours := printed(t, in, false, func(*settlement.AuditInput) {})
	in.Sheet = settlement.Sheet{Net: new(*ours.Net - 3)}
	if got := audit(t, in); len(got.Explained) != 1 || got.Explained[0].Rule != "rounding" {
		t.Errorf("three cents: got %+v", got.Explained)
	}
	in.Sheet = settlement.Sheet{NetQty: ours.NetQty, SettledLb: ours.SettledLb, NetLb: ours.NetLb, PerUnit: ours.PerUnit, Value: ours.Value, Net: new(*ours.Net - 12345)}
	if got := audit(t, in); got.Explained != nil || got.Unexplained != -12345 || got.Differ[0].Name != "net_usd" {
		t.Errorf("a fee from nowhere: got %+v, unexplained %s", got.Explained, got.Unexplained)
	}
}

func BenchmarkAudit(b *testing.B) {
	in := audited(b)
	in.Sheet = printed(b, in, true, func(in *settlement.AuditInput) { in.Prices.Premium = 123 })
	in.Sheet.PerUnit = nil
	b.ReportAllocs()
	for range b.N {
		audit(b, in)
	}
}
