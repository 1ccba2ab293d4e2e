package seasonfile

import (
	"fmt"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

var binKeys = table[farm.Bin]{keys: []key[farm.Bin]{
	owed("id", identity("bin"), func(b *farm.Bin) *string { return &b.ID }, "Used by miles and in the plan."),
	val("name", text(maxName), func(b *farm.Bin) *string { return &b.Name }, "The name as the farm says it."),
	owed("crop", aCrop(), func(b *farm.Bin) *crop.Kind { return &b.Crop }, "What it is meant for."),
	owed("holds", within(room, "1bu", "10000000bu"), func(b *farm.Bin) *float64 { return &b.HoldsBu }, "What it holds."),
	val("in", within(room, "0bu", "10000000bu"), func(b *farm.Bin) *float64 { return &b.InBu }, "What is in it now; left out, nothing."),
	owed("max_moisture", within(printed, "1%", "60%"), func(b *farm.Bin) *trade.Percent { return &b.MaxMoisture }, "Wettest grain that may go in without the dryer."),
	val("dryer", ref("dryer"), func(b *farm.Bin) *string { return &b.Dryer }, "The dryer that feeds it."),
	opt("miles", within(miles, "0mi", "2000mi"), func(b *farm.Bin) **float64 { return &b.Miles }, "Road from the middle of the farm."),
	opt("sale", money("bu", leastPrice, mostPrice), func(b *farm.Bin) **trade.Price { return &b.SaleUSD }, "What the owner expects the grain to bring later, nothing taken off."),
	opt("cost", money("bu", "$0", mostBasis), func(b *farm.Bin) **trade.Price { return &b.CostUSD }, "Storing it until then."),
	val("sale_base", within(printed, "1%", "30%"), func(b *farm.Bin) *trade.Percent { return &b.SaleBase }, "Moisture at which the sale is counted; needed with sale."),
	opt("receive", within(hourly, "1bu/h", "1000000bu/h"), func(b *farm.Bin) **float64 { return &b.BuPerHour }, "What auger or leg moves."),
	opt("dump", within(minutes, "0min", "3h"), func(b *farm.Bin) **float64 { return &b.DumpMin }, "Time a truck needs at the bin."),
	records("reading", &binReadingKeys, func(b *farm.Bin) *[]farm.BinReading { return &b.Readings }, "What was read of the grain in it, by day: its storage life is reckoned from it."),
}, check: func(r *reader, label string, n *node, b *farm.Bin) {
	for i := 1; i < len(b.Readings); i++ {
		if last, next := b.Readings[i-1].On, b.Readings[i].On; !next.After(last) && !last.IsZero() && !next.IsZero() {
			list := n.child("reading")
			r.refuse(list, refusal{"bin.readings", join(label, "reading"), next.String() + " after " + last.String(), "readings by day, each day once", "Put them in order."})
		}
	}
	if n.all("holds", "in") && b.InBu > b.HoldsBu {
		in := n.child("in")
		r.refuse(in, refusal{"bin.over", join(label, "in"), in.text, "at most what it holds, " + n.child("holds").text, "Correct one of them."})
	}
	if n.child("sale") != nil && n.child("sale_base") == nil {
		r.missing(n, label, "sale_base", "a percentage of at most two decimals, as 13%", "Say at which moisture the sale is counted.")
	}
}}

var binReadingKeys = table[farm.BinReading]{keys: []key[farm.BinReading]{
	owed("on", aDay(), func(b *farm.BinReading) *calendar.Day { return &b.On }, "The day."),
	owed("temp", within(degrees, "-40F", "160F"), func(b *farm.BinReading) *units.Temperature { return &b.Temp }, "Temperature of the grain, the warmest that was found."),
	opt("moisture", within(printed, "1%", "60%"), func(b *farm.BinReading) **trade.Percent { return &b.Moisture }, "Moisture of the grain in it, where it was read: all of it counts at that from then on."),
}}

var dryerKeys = table[farm.Dryer]{keys: []key[farm.Dryer]{
	owed("id", identity("dryer"), func(d *farm.Dryer) *string { return &d.ID }, "Used by bins."),
	val("name", text(maxName), func(d *farm.Dryer) *string { return &d.Name }, "The name as the farm says it."),
	owed("rate_at_5", within(hourly, "1bu/h", "100000bu/h"), func(d *farm.Dryer) *float64 { return &d.BuPerHourAt5 }, "Wet bushels an hour when it takes out five points of moisture."),
	owed("hours_per_day", number(0.5, 24, "hours a day"), func(d *farm.Dryer) *float64 { return &d.HoursPerDay }, "How long it can run in a day."),
	byName("target", cropNames(), within(printed, "5%", "25%"), func(d *farm.Dryer) *map[crop.Kind]trade.Percent { return &d.Target }, "Moisture each crop is dried to.").must(),
	opt("lp", number(0, 1, "gallons"), func(d *farm.Dryer) **float64 { return &d.GalPerBuPt }, "LP for one bushel and one point."),
	opt("kwh", number(0, 10, "kWh"), func(d *farm.Dryer) **float64 { return &d.KWhPerBuPt }, "Electricity for one bushel and one point."),
	opt("lp_price", money("gal", "$0", "$50"), func(d *farm.Dryer) **trade.Price { return &d.LPUSD }, "Price of LP."),
	opt("power_price", money("kWh", "$0", "$10"), func(d *farm.Dryer) **trade.Price { return &d.PowerUSD }, "Price of electricity."),
	opt("handling", money("bu", "$0", "$5"), func(d *farm.Dryer) **trade.Price { return &d.HandlingUSD }, "Labor and wear for each bushel."),
	opt("handling_loss", within(printed, "0%", "10%"), func(d *farm.Dryer) **trade.Percent { return &d.HandlingLoss }, "Weight lost in handling besides water."),
}}

var outlookKeys = table[farm.OutlookDay]{keys: []key[farm.OutlookDay]{
	owed("on", aDay(), func(o *farm.OutlookDay) *calendar.Day { return &o.On }, "The day."),
	owed("high", within(degrees, "-60F", "135F"), func(o *farm.OutlookDay) *units.Temperature { return &o.High }, "Highest temperature."),
	owed("low", within(degrees, "-60F", "135F"), func(o *farm.OutlookDay) *units.Temperature { return &o.Low }, "Lowest temperature."),
	opt("rain", within(percent, "0%", "100%"), func(o *farm.OutlookDay) **float64 { return &o.RainPct }, "Chance of 0.01 inch or more."),
	val("amount", choice("trace", "light", "medium", "heavy"), func(o *farm.OutlookDay) *string { return &o.Amount }, "How much, if it rains."),
	val("when", choice("night", "morning", "afternoon", "evening", "any"), func(o *farm.OutlookDay) *string { return &o.When }, "When, if it rains."),
	val("dew", choice("none", "light", "heavy"), func(o *farm.OutlookDay) *string { return &o.Dew }, "Dew in the morning; left out, unknown."),
	val("wind", choice("calm", "light", "breezy", "windy"), func(o *farm.OutlookDay) *string { return &o.Wind }, "Wind of the afternoon."),
	val("sky", choice("clear", "part", "cloudy"), func(o *farm.OutlookDay) *string { return &o.Sky }, "Sky."),
	opt("entered", anInstantOf(), func(o *farm.OutlookDay) **time.Time { return &o.Entered }, "When it was entered."),
}, check: func(r *reader, label string, n *node, o *farm.OutlookDay) {
	if n.all("high", "low") && o.Low.Celsius() > o.High.Celsius() {
		low := n.child("low")
		r.refuse(low, refusal{"outlook.order", join(label, "low"), low.text, fmt.Sprintf("at most high, %s", n.child("high").text), "Were the two swapped?"})
	}
}}

// checkOutlook reports a day that was forecast twice.
func checkOutlook(r *reader, _ string, n *node, s *farm.Season) {
	days := n.child("outlook")
	if days == nil || days.form != aList || len(days.items) != len(s.Outlook) {
		return
	}
	first := map[calendar.Day]*node{}
	for i, item := range days.items {
		on := item.child("on")
		if on == nil || on.refused {
			continue
		}
		if again, ok := first[s.Outlook[i].On]; ok {
			r.refuse(on, refusal{
				"outlook.twice", farm.RecordName("outlook", "", i+1) + " on", on.text, "each day once",
				fmt.Sprintf("Line %d has it already; keep one of them.", r.line(again.offset)),
			})
			continue
		}
		first[s.Outlook[i].On] = on
	}
}
