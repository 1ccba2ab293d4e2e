package settlement_test

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"

	"threshday/internal/core/crop"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// The invented schedules of the worked loads, by name.
func schedule(name string) settlement.Schedule {
	const ceil, floor, prorate, flat = settlement.OrFraction, settlement.EachFull, settlement.Prorated, settlement.Flat
	price, weight, charge := settlement.PriceRow, settlement.WeightRow, settlement.ChargeRow
	federal := &settlement.Checkoff{Kind: settlement.CheckoffPercent, Rate: trade.MustFraction("0.5")}
	cent := &settlement.Checkoff{Kind: settlement.CheckoffCents, Rate: trade.MustFraction("1")}
	foreign := row(10, weight, settlement.ForeignMaterial, "1.0 100", prorate, "", "1", settlement.PctExcess, "")
	halves := func(pct string) settlement.Row {
		return row(20, price, settlement.Moisture, "13.0", ceil, "0.5", pct, settlement.PctPrice, settlement.NetBu)
	}
	switch name {
	case "A", "A-lines":
		s := beans(federal, foreign,
			row(20, price, settlement.Moisture, "13.0 15.0", ceil, "0.5", "1.25", settlement.PctPrice, settlement.NetBu),
			row(21, price, settlement.Moisture, "15.0 17.0", ceil, "0.5", "2.0", settlement.PctPrice, settlement.NetBu),
			row(22, settlement.RejectRow, settlement.Moisture, "17.0", "", "", "", "", ""),
			row(30, price, settlement.DamageTotal, "2.0 5.0", ceil, "1", "2", settlement.CentsPerBu, settlement.NetBu),
			row(40, price, settlement.OdourMusty, "", flat, "", "10", settlement.CentsPerBu, settlement.NetBu))
		if name == "A-lines" {
			s.Style = settlement.LineItem
		}
		return s
	case "B", "B-additive":
		s := beans(federal, foreign,
			row(20, weight, settlement.Moisture, "13.0", ceil, "0.5", "0.75", settlement.PctWeightPerStep, ""),
			row(30, charge, settlement.Moisture, "13.0", ceil, "0.5", "2.5", settlement.CentsPerBu, settlement.GrossBu))
		if name == "B-additive" {
			s.DeductBasis = settlement.Additive
		}
		return s
	case "C":
		return corn(cent,
			row(10, weight, settlement.Moisture, "15.0", prorate, "1", "1.4", settlement.PctWeightPerStep, ""),
			row(20, charge, settlement.Moisture, "15.0", prorate, "1", "4.5", settlement.CentsPerBu, settlement.GrossBu),
			below(30, "54.0", "1", "1", settlement.NetBu),
			row(40, price, settlement.BCFM, "3.0", ceil, "1", "2", settlement.CentsPerBu, settlement.NetBu))
	case "D":
		return corn(cent,
			row(10, price, settlement.Moisture, "15.0", ceil, "0.5", "1.15", settlement.PctPrice, settlement.GrossBu),
			below(30, "54.0", "1", "1", settlement.GrossBu),
			row(40, price, settlement.BCFM, "3.0", ceil, "1", "2", settlement.CentsPerBu, settlement.GrossBu))
	case "F":
		s := beans(&settlement.Checkoff{Kind: settlement.CheckoffCents, Rate: trade.MustFraction("1.5")},
			row(10, weight, settlement.Dockage, "0", prorate, "", "1", settlement.PctExcess, ""),
			below(20, "58.0", "0.5", "1.5", settlement.NetBu),
			row(30, price, settlement.Protein, "12.0", floor, "0.2", "-3", settlement.CentsPerBu, settlement.NetBu))
		s.Crop = crop.Wheat
		return s
	case "N":
		return beans(federal, foreign, halves("1.25"))
	case "P":
		return beans(federal, foreign,
			row(20, weight, settlement.Moisture, "13.0", ceil, "0.5", "0.75", settlement.PctWeightPerStep, ""),
			row(30, charge, settlement.Moisture, "13.0", ceil, "0.5", "2.5", settlement.CentsPerBu, settlement.GrossBu))
	case "R":
		return beans(federal, foreign, halves("1.5"))
	}
	panic("no schedule " + name)
}

func beans(off *settlement.Checkoff, rows ...settlement.Row) settlement.Schedule {
	return settlement.Schedule{
		Crop: crop.Soybean, LbPerBu: decimal("60"), BuDecimals: new(2), Style: settlement.NetPrice, DeductBasis: settlement.Sequential,
		PctBase: settlement.CashNoPremium, Average: settlement.LoadByLoad, Checkoff: off, Rows: rows,
	}
}

func corn(off *settlement.Checkoff, rows ...settlement.Row) settlement.Schedule {
	s := beans(off, rows...)
	s.Crop, s.LbPerBu, s.Style = crop.Corn, decimal("56"), settlement.LineItem
	return s
}

// row makes a row above "from to" (to may be left out), or a flag where band is empty.
func row(seq int, kind settlement.Kind, f settlement.Factor, band string, mode settlement.StepMode, step, amount string, unit settlement.Unit, qty settlement.Qty) settlement.Row {
	r := settlement.Row{Seq: seq, Kind: kind, Factor: f, Direction: settlement.Above, StepMode: mode, Unit: unit, Qty: qty}
	if band == "" {
		r.Direction = settlement.Flagged
	} else {
		from, to, _ := strings.Cut(band, " ")
		r.From, r.To = decimal(from), decimal(to)
	}
	r.Step = decimal(step)
	if amount != "" {
		a := trade.MustFraction(amount)
		r.Amount = &a
	}
	return r
}

// below makes a test-weight discount in cents for each step or fraction under from.
func below(seq int, band, step, cents string, qty settlement.Qty) settlement.Row {
	r := row(seq, settlement.PriceRow, settlement.TestWeight, band, settlement.OrFraction, step, cents, settlement.CentsPerBu, qty)
	r.Direction = settlement.Below
	return r
}

func decimal(s string) *trade.Decimal {
	if s == "" {
		return nil
	}
	d := trade.MustDecimal(s)
	return &d
}

func prepare(t testing.TB, s settlement.Schedule) *settlement.Terms {
	t.Helper()
	terms, findings, err := settlement.Prepare(s)
	if err != nil {
		t.Fatalf("prepare: %v (%v)", err, findings)
	}
	return terms
}

// readings reads "moisture 14.2 odour_musty" into grade factors.
func readings(t testing.TB, text string) settlement.Readings {
	t.Helper()
	var out settlement.Readings
	words := strings.Fields(text)
	for i := 0; i < len(words); i++ {
		f, ok := settlement.ParseFactor(words[i])
		if !ok {
			t.Fatalf("no factor %q", words[i])
		}
		if f.IsFlag() {
			out = out.WithFlag(f)
			continue
		}
		i++
		n, ok := trade.MustDecimal(words[i]).Units(2)
		if !ok {
			t.Fatalf("no reading %q", words[i])
		}
		out = out.With(f, trade.Percent(n))
	}
	return out
}

func rows(t testing.TB, file string) []map[string]string {
	t.Helper()
	f, err := os.Open("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, record := range all[1:] {
		m := map[string]string{}
		for i, name := range all[0] {
			m[name] = record[i]
		}
		out = append(out, m)
	}
	return out
}
