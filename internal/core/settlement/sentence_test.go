package settlement_test

import (
	"fmt"
	"testing"

	"threshday/internal/core/crop"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// spoken is an invented schedule with a row of every form.
func spoken() settlement.Schedule {
	d := func(text string) *trade.Decimal { x := trade.MustDecimal(text); return &x }
	f := func(text string) *trade.Fraction { x := trade.MustFraction(text); return &x }
	places := 2
	return settlement.Schedule{
		Crop: crop.Soybean, LbPerBu: d("60"), BuDecimals: &places, Style: settlement.NetPrice, DeductBasis: settlement.Sequential, PctBase: settlement.CashNoPremium,
		Average: settlement.LoadByLoad, Checkoff: &settlement.Checkoff{Kind: settlement.CheckoffPercent, Rate: trade.MustFraction("0.5")},
		Rows: []settlement.Row{
			{Seq: 10, Factor: settlement.ForeignMaterial, Kind: settlement.WeightRow, Direction: settlement.Above, From: d("1.0"), To: d("20"), StepMode: settlement.Prorated, Amount: f("1"), Unit: settlement.PctExcess},
			{Seq: 20, Factor: settlement.Moisture, Kind: settlement.PriceRow, Direction: settlement.Above, From: d("13.0"), To: d("17.0"), Step: d("0.5"), StepMode: settlement.OrFraction, Amount: f("1.25"), Unit: settlement.PctPrice, Qty: settlement.NetBu},
			{Seq: 21, Factor: settlement.Moisture, Kind: settlement.RejectRow, Direction: settlement.Above, From: d("17.0")},
			{Seq: 30, Factor: settlement.TestWeight, Kind: settlement.PriceRow, Direction: settlement.Below, From: d("54.0"), To: d("46.0"), Step: d("1"), StepMode: settlement.OrFraction, Amount: f("1"), Unit: settlement.CentsPerBu, Qty: settlement.GrossBu},
			{Seq: 40, Factor: settlement.Oil, Kind: settlement.PriceRow, Direction: settlement.Above, From: d("19.0"), To: d("25.0"), Step: d("0.2"), StepMode: settlement.EachFull, Amount: f("-3"), Printed: "-3", Unit: settlement.CentsPerBu, Qty: settlement.NetBu},
			{Seq: 50, Factor: settlement.OdourMusty, Kind: settlement.PriceRow, Direction: settlement.Flagged, StepMode: settlement.Flat, Amount: f("10"), Unit: settlement.CentsPerBu, Qty: settlement.NetBu, Cap: f("15")},
			{Seq: 60, Factor: settlement.Garlicky, Kind: settlement.WarnRow, Direction: settlement.Flagged},
			{Seq: 70, Factor: settlement.EveryLoad, Kind: settlement.ChargeRow, Direction: settlement.Flagged, StepMode: settlement.Flat, Amount: f("7"), Unit: settlement.DollarsPerLoad, Qty: settlement.PerLoad},
			{Seq: 80, Factor: settlement.Moisture, Kind: settlement.ChargeRow, Direction: settlement.Above, From: d("13.0"), To: d("17.0"), StepMode: settlement.Prorated, Amount: f("4.5"), Unit: settlement.CentsPerBu, Qty: settlement.GrossBu},
		},
	}
}

func ExampleSchedule_Sentences() {
	s := spoken()
	for _, line := range s.Sentences() {
		fmt.Println(line)
	}
	fmt.Println()
	for _, line := range s.Profile() {
		fmt.Println(line)
	}
	// Output:
	// Foreign material over 1.0 up to 20 %: takes what lies beyond, by weight.
	// Moisture over 13.0 up to 17.0 %: takes 1.25 % of price on net bu for each 0.5 or fraction of it.
	// Moisture over 17.0 %: refused, and no price is stated. Ask the buyer.
	// Test weight under 54.0 down to 46.0 lb/bu: takes 1 cent on gross bu for each pound or fraction of it.
	// Oil over 19.0 up to 25.0 %: adds 3 cents on net bu for each full 0.2.
	// Musty odour noted: takes 10 cents on net bu, at most 15.
	// Garlic noted: taken, with a warning.
	// Every load: charges 7 dollars per load.
	// Moisture over 13.0 up to 17.0 %: charges 4.5 cents on gross bu for each point and its exact part for a part of one.
	//
	// Priced by the bushel of 60 lb.
	// Quantities are printed with 2 decimals.
	// Discounts go into the price, which is multiplied once and rounded to the cent.
	// What is taken by weight is taken of what earlier factors left.
	// Percents of price are of the cash price without premium.
	// Each load is settled by itself.
	// Checkoff: 0.5 % of the value after quality, before charges.
}

// A curve is what the engine settles, reading by reading, and a wetter load never nets more under discounts.
func TestTheCurveIsWhatTheEngineSettles(t *testing.T) {
	terms, _, err := settlement.Prepare(spoken())
	if err != nil {
		t.Fatal(err)
	}
	prices := settlement.Prices{Cash: 987250}
	points := terms.Curve(settlement.Moisture, prices, 12_00, 18_00)
	if len(points) != 61 {
		t.Fatalf("%d points, and 12.0 to 18.0 has 61 tenths", len(points))
	}
	for i, p := range points {
		if refused := p.Reading > 17_00; refused != (p.Why != nil) {
			t.Errorf("at %s %%: %v", p.Reading, p.Why)
		}
		if i > 0 && p.Why == nil && p.Net > points[i-1].Net {
			t.Errorf("wetter nets more: %s at %s %%, %s before", p.Net, p.Reading, points[i-1].Net)
		}
		if p.Why != nil {
			continue
		}
		// 900 gross bushels of a truckload with nothing else to take anything for.
		load := settlement.Load{Crop: crop.Soybean, Gross: 54_001, Tare: 1}
		load.Readings = load.Readings.With(settlement.Moisture, p.Reading).With(settlement.ForeignMaterial, 1_00).With(settlement.TestWeight, 54_00).With(settlement.Oil, 19_00)
		net, err := terms.Net(load, prices)
		if want := trade.Price(trade.HalfUp.MulDiv(int64(net), 1000, 900_0)) * 10; err != nil || p.Net != want {
			t.Errorf("at %s %%: %s drawn, %s settled, %v", p.Reading, p.Net, want, err)
		}
	}
}
