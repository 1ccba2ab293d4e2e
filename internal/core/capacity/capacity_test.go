package capacity_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/capacity"
	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/test/published"
)

func pass(r published.Row) capacity.Pass {
	return capacity.Pass{
		Speed: units.Speed(r.Float("mph")) * units.MilePerHour, Width: units.Length(r.Float("feet")) * units.Foot,
		Efficiency: r.Float("efficiency"),
	}
}

func TestFieldCapacity(t *testing.T) {
	published.Each(t, "field", func(t *testing.T, r published.Row) { r.Check("want", pass(r).AcresPerHour()) })
}

func TestStandingToUnloadCostsTime(t *testing.T) {
	published.Each(t, "standing", func(t *testing.T, r published.Row) {
		p := pass(r)
		got := p.AcresPerHourStanding(r.Float("bu_ac"), r.Float("tank"), r.Float("dump_min"))
		r.Check("want", got)
		p.Efficiency = 1
		r.Check("overall", got/p.AcresPerHour())
	})
}

func TestShortPassesTurnMore(t *testing.T) {
	published.Each(t, "passes", func(t *testing.T, r published.Row) {
		p := capacity.Pass{Speed: units.Speed(r.Float("mph")) * units.MilePerHour, Width: units.Foot, Efficiency: 1}
		r.Check("want", p.OnPasses(units.Length(r.Float("feet"))*units.Foot, capacity.DefaultTurnSeconds).Efficiency)
	})
}

func TestTheCropCanFillTheMachine(t *testing.T) {
	published.Each(t, "ceiling", func(t *testing.T, r published.Row) {
		got := capacity.Work{Pass: pass(r), BuPerAcre: r.Float("bu_ac"), CeilingBuPerHour: r.Float("ceiling")}.Rate()
		r.Check("speed_mph", got.Speed.MilesPerHour())
		r.Check("bu_h", got.BuPerHour)
		r.CheckText("limited_by", got.LimitedBy)
	})
}

func TestRatesNeverPassTheirCeilings(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := capacity.Work{
			Pass: capacity.Pass{
				Speed:      units.Speed(rapid.Float64Range(0.1, 5).Draw(rt, "m/s")),
				Width:      units.Length(rapid.Float64Range(2, 20).Draw(rt, "m")),
				Efficiency: rapid.Float64Range(0.1, 1).Draw(rt, "efficiency"),
			},
			BuPerAcre: rapid.Float64Range(0, 300).Draw(rt, "bu/ac"), CeilingBuPerHour: rapid.Float64Range(1, 5000).Draw(rt, "ceiling"),
		}
		got := w.Rate()
		if got.BuPerHour > w.CeilingBuPerHour*(1+1e-12) || got.Speed > w.Speed || got.AcresPerHour > w.AcresPerHour()*(1+1e-12) {
			rt.Fatalf("%+v from %+v", got, w)
		}
		if over := w.Overload(); (over > 0) != (got.LimitedBy == capacity.ByCeiling) {
			rt.Fatalf("overload %v while limited by %s", over, got.LimitedBy)
		}
		if over := w.Overload(); over > 0 && math.Abs(float64(got.Speed)*(1+over)-float64(w.Speed)) > 1e-9 {
			rt.Fatalf("overload %v does not lead back to the speed chosen", over)
		}
		metric := float64(w.Speed) * 3.6 * float64(w.Width) * w.Efficiency / 10 // ha/h = km/h x m x efficiency / 10
		if ha := w.AcresPerHour() * float64(units.Acre/units.Hectare); math.Abs(ha-metric) > 1e-9*metric {
			rt.Fatalf("%v ha/h, want %v", ha, metric)
		}
		standing := w.AcresPerHourStanding(w.BuPerAcre, 300, 3)
		if standing > w.AcresPerHour()*(1+1e-12) {
			rt.Fatalf("standing to unload is faster: %v", standing)
		}
	})
}

func TestSizingFromDays(t *testing.T) {
	// 1600 acres in 8.3 suitable days are 192.8 acres a day; 14 h a day need 13.8 ac/h. [iowa-a3-25]
	if got := capacity.NeededAcresPerHour(1600, 8.3, 1); math.Abs(got-192.8) > 0.05 {
		t.Errorf("%v acres a day", got)
	}
	if got := capacity.NeededAcresPerHour(1600, 8.3, 14); math.Abs(got-13.8) > 0.05 {
		t.Errorf("%v acres an hour", got)
	}
}

func TestDelayCosts(t *testing.T) {
	published.Each(t, "late", func(t *testing.T, r published.Row) {
		days, usd := capacity.Late{
			Acres: r.Float("acres"), AcresPerHour: r.Float("acres_h"), HoursADay: r.Float("hours"), Suitable: r.Float("suitable"),
			BuPerAcre: r.Float("bu_ac"), USDPerBu: r.Float("usd_bu"), LossPerDay: r.Float("per_day"),
		}.Cost()
		if math.Abs(days-r.Float("days")) > r.Float("tol_days") {
			t.Errorf("%v days, want %v", days, r.Float("days"))
		}
		r.Check("usd", usd)
	})
}

func TestRepairsGrowWithAge(t *testing.T) {
	published.Each(t, "repair", func(t *testing.T, r published.Row) {
		m := capacity.CombineRepair()
		r.Check("want", m.TotalUSD(r.Float("list"), r.Float("to"))-m.TotalUSD(r.Float("list"), r.Float("from")))
	})
	published.Each(t, "marginal", func(t *testing.T, r published.Row) {
		r.Check("want", capacity.CombineRepair().USDPerHour(r.Float("list"), r.Float("hours")))
	})
	rapid.Check(t, func(rt *rapid.T) { // the hourly cost is the derivative of the total
		m := rapid.SampledFrom([]capacity.Repair{capacity.CombineRepair(), capacity.FourWheelTractorRepair(), capacity.TwoWheelTractorRepair(), capacity.WagonRepair()}).Draw(rt, "machine")
		h := rapid.Float64Range(10, 5000).Draw(rt, "hours")
		const step = 0.01
		slope := (m.TotalUSD(1e5, h+step) - m.TotalUSD(1e5, h-step)) / (2 * step)
		if got := m.USDPerHour(1e5, h); math.Abs(got-slope) > 1e-4*slope {
			rt.Fatalf("%v an hour, slope %v", got, slope)
		}
	})
}

func TestMoistureTakesCapacityButHalf(t *testing.T) {
	for _, c := range []struct {
		k               crop.Kind
		moisture, green float64
		want            float64
	}{
		{crop.Corn, 18, 0, 1},
		{crop.Corn, 25, 0, 0.9},
		{crop.Corn, 60, 0, 0.5},
		{crop.Soybean, 13, 0, 1},
		{crop.Soybean, 16, 10, 0.86},
		{crop.Soybean, 14, 100, 0.6},
		{crop.Soybean, 30, 100, 0.5},
		{crop.Wheat, 16, 0, 0.88},
		{crop.Canola, 30, 50, 1},
	} {
		if got := capacity.MoistureFactor(c.k, c.moisture, c.green); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s at %v %%, %v %% green: %v, want %v", c.k, c.moisture, c.green, got, c.want)
		}
	}
}

func TestClassesCoverTheTanks(t *testing.T) {
	for tank, want := range map[float64]float64{200: 1800, 260: 1800, 300: 2600, 360: 3400, 410: 4500, 600: 4500} {
		if got, ok := capacity.ClassOfTank(tank).CeilingBuPerHour(crop.Corn); !ok || got != want {
			t.Errorf("tank of %v bu threshes %v bu/h of corn, want %v", tank, got, want)
		}
	}
	for _, k := range crop.Kinds() {
		_, speed := capacity.DefaultSpeed(k)
		_, hours := capacity.DefaultHoursADay(k)
		if known := k != crop.Barley && k != crop.Oats; speed != known || hours != known {
			t.Errorf("%s: speed %v, hours %v", k, speed, hours)
		}
	}
	if got := capacity.MoveMin(5 * units.Mile); math.Abs(got-55) > 1e-9 {
		t.Errorf("five miles take %v min, want 20 + 20 + 15", got)
	}
}

func TestPayloads(t *testing.T) {
	published.Each(t, "payload", func(t *testing.T, r published.Row) {
		lb, by, err := capacity.Truck{Gross: pounds(r, "gross"), Tare: pounds(r, "tare")}.Payload(0)
		if err != nil || by != capacity.ByGross {
			t.Fatal(by, err)
		}
		r.CheckExact("lb", lb.Float())
		r.Check("bu", lb.Float()/r.Float("lb_bu"))
	})
}

func TestPayloadIsHeldByWhatIsLeast(t *testing.T) {
	axles, box := trade.Pounds(50000), 900*units.VolumeBushel
	truck := capacity.Truck{Gross: 80000, Tare: 26000, Axles: &axles, Box: &box}
	if lb, by, err := truck.Payload(60); err != nil || lb != 50000 || by != capacity.ByAxles {
		t.Errorf("%d by %s, %v", lb, by, err)
	}
	if lb, by, err := truck.Payload(40); err != nil || (lb != 36000 && lb != 35999) || by != capacity.ByBox {
		t.Errorf("%d by %s, %v", lb, by, err)
	}
	var bad *problem.InputError
	if _, _, err := (capacity.Truck{Gross: 26000, Tare: 26000}).Payload(60); !errors.As(err, &bad) || bad.Rule != "payload.tare" {
		t.Errorf("no room at all: %v", err)
	}
	if _, ok := capacity.OverLimit(80000, 80000); !ok {
		t.Error("a full load is over")
	}
	if f, ok := capacity.OverLimit(80500, 80000); ok || f.Severity != problem.Error || !strings.HasPrefix(f.Say, "500 lb over the limit you set") {
		t.Errorf("%+v", f)
	}
}

func TestTripsTrucksAndFreight(t *testing.T) {
	published.Each(t, "trips", func(t *testing.T, r published.Row) {
		trip := capacity.Trip{
			Distance: units.Length(r.Float("miles")) * units.Mile,
			Loaded:   units.Speed(r.Float("loaded")) * units.MilePerHour, Empty: units.Speed(r.Float("empty")) * units.MilePerHour,
			LoadMin: r.Float("load"), QueueMin: r.Float("queue"), ScaleMin: r.Float("scale"), DumpMin: r.Float("dump"), TicketMin: r.Float("ticket"),
		}
		r.Check("cycle", trip.CycleMin())
		exact, whole := capacity.TrucksNeeded(r.Float("bu_h"), trip.CycleMin(), r.Float("payload"))
		r.Check("exact", exact)
		r.CheckExact("trucks", float64(whole))
		if !r.Has("usd_load") {
			return
		}
		usd := capacity.DefaultHaulRate().LoadUSD(trip.Distance, trip.CycleMin())
		if math.Abs(usd-r.Float("usd_load")) > r.Float("tol_usd") {
			t.Errorf("$%v a load, want %v", usd, r.Float("usd_load"))
		}
		r.Check("usd_bu", usd/r.Float("payload"))
	})
	published.Each(t, "freight", func(t *testing.T, r published.Row) {
		h := capacity.HaulRate{USDPerMile: r.Float("per_mile"), USDPerHour: r.Float("per_hour")}
		miles := r.Float("miles")
		r.Check("want", h.LoadUSD(units.Length(miles)*units.Mile, 60*(2*miles/r.Float("mph")+r.Float("fixed_h"))))
	})
	published.Each(t, "breakeven", func(t *testing.T, r published.Row) {
		h := capacity.HaulRate{USDPerMile: r.Float("per_mile"), USDPerHour: r.Float("per_hour")}
		r.Check("want", h.BreakEvenMiles(r.Float("gain"), r.Float("bu"), units.Speed(r.Float("mph"))*units.MilePerHour))
	})
}

func TestOneTruckFewer(t *testing.T) {
	if got := capacity.KeptBy(1, 1.0363); math.Abs(got-0.965) > 0.0005 { // one truck loses only 3.5 %
		t.Errorf("one of 1.0363 trucks keeps %v", got)
	}
	if got := capacity.KeptBy(2, 1.0363); got != 1 {
		t.Errorf("two of 1.0363 trucks keep %v", got)
	}
	if _, whole := capacity.TrucksNeeded(600, 90, 450); whole != 2 {
		t.Errorf("exactly two trucks came to %d", whole)
	}
}

func TestTheChainIsAsFastAsItsSlowestLink(t *testing.T) {
	got := capacity.Bottleneck(capacity.Link{"combine", 1934}, capacity.Link{"cart", 2500}, capacity.Link{"trucks", 1880}, capacity.Link{"pit", math.Inf(1)})
	if got.Name != "trucks" || got.BuPerHour != 1880 {
		t.Errorf("%+v", got)
	}
	cart := capacity.CartLoop{Bu: 1000, ApproachMin: 3, FillMin: 5, RunMin: 4, DumpMin: 3, BackMin: 5}
	if got := cart.Busy(1500); math.Abs(got-0.5) > 1e-12 {
		t.Errorf("cart busy %v, want 0.5", got)
	}
	if got := cart.Busy(cart.BuPerHour()); math.Abs(got-1) > 1e-12 {
		t.Errorf("cart at its rate is busy %v", got)
	}
	if got := capacity.BufferMin(1000, 350, 1934.5455); math.Abs(got-41.87) > 0.005 {
		t.Errorf("buffer %v min, want 41.87", got)
	}
	if got := capacity.PitMin(900, 10000); math.Abs(got-5.4) > 1e-12 {
		t.Errorf("900 bu hold the pit %v min, want 5.4", got)
	}
}

func TestWaitsShareTheirDay(t *testing.T) {
	w := capacity.WaitAround(capacity.BusyWaitMin)
	if got := w.Minutes(0, 0); got != 30 {
		t.Errorf("median wait %v", got)
	}
	day, all := math.Log(1.5), math.Log(1.9)
	if got := w.Minutes(day/all, math.Sqrt(1-day*day/all/all)); math.Abs(got-30*1.9) > 1e-9 {
		t.Errorf("one SD up: %v", got)
	}
}

func TestCautionsAreTextWithASource(t *testing.T) {
	for _, at := range []string{capacity.AtAxles, capacity.AtDispatch, capacity.AtMachine, capacity.AtStart} {
		texts := capacity.Cautions(at)
		if len(texts) == 0 {
			t.Errorf("%s has no caution", at)
		}
		for _, c := range texts {
			if c.Rule == "" || c.Say == "" || c.Key == "" {
				t.Errorf("%s: %+v", at, c)
			}
		}
	}
	if !capacity.FireWeather(25, 22, 35) || capacity.FireWeather(35, 22, 35) || capacity.FireWeather(25, 15, 35) {
		t.Error("fire weather")
	}
}
