package seasonfile_test

import (
	"time"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

func (g generator) season() *farm.Season {
	s := &farm.Season{Farm: g.farm(), Prefer: g.prefer()}
	s.Parties = list(g, 0, func(i int) farm.Party {
		return farm.Party{ID: g.id("party", i), Name: some(g, g.text), Role: some(g, func() string { return g.word("owner", "landlord") })}
	})
	s.Outlets = list(g, 1, g.outlet)
	s.Dryers = list(g, 0, g.dryer)
	dryers := ids(s.Dryers, func(d farm.Dryer) string { return d.ID })
	s.Bins = list(g, 0, func(i int) farm.Bin { return g.bin(i, dryers) })
	outlets := ids(s.Outlets, func(o farm.Outlet) string { return o.ID })
	places := append(ids(s.Bins, func(b farm.Bin) string { return b.ID }), outlets...)
	parties := ids(s.Parties, func(p farm.Party) string { return p.ID })
	s.Fields = list(g, 1, func(i int) farm.Field { return g.field(i, parties, places) })
	fields := ids(s.Fields, func(f farm.Field) string { return f.ID })
	for i := range s.Fields {
		s.Fields[i].MovesTo = byKey(g, fields, func() float64 { return g.float(0, 1440) })
	}
	s.Readings = list(g, 0, func(i int) farm.Reading { return g.reading(i, fields) })
	s.Stages = list(g, 0, func(i int) farm.Sighting { return g.stage(i, fields) })
	s.Grounds = list(g, 0, func(i int) farm.GroundNote {
		return farm.GroundNote{
			ID: some(g, func() string { return g.id("ground", i) }), Field: g.word(fields...), On: g.day(firstDay, lastDay),
			Found: g.word("carried", "too soft"), By: some(g, g.text), Note: some(g, g.note),
		}
	})
	s.Anchors = list(g, 0, func(int) farm.Anchor { return g.anchor() })
	s.Combines = list(g, 0, func(i int) farm.Combine { return g.combine(i, fields) })
	s.Carts = list(g, 0, func(i int) farm.Cart {
		return farm.Cart{ID: g.id("cart", i), Name: some(g, g.text), Bu: g.float(1, 5000), UnloadBuS: g.float(0.1, 30)}
	})
	s.Trucks = list(g, 0, g.truck)
	s.Bids = list(g, 0, func(i int) farm.Bid { return g.bid(i, outlets) })
	s.Premiums = list(g, 0, func(i int) farm.Premium { return g.premium(i, outlets) })
	s.Contracts = list(g, 0, func(i int) farm.Contract { return g.contract(i, outlets, parties) })
	s.Outlook = list(g, 0, g.outlookDay)
	return s
}

func (g generator) farm() farm.Farm {
	return farm.Farm{
		ID: some(g, func() string { return g.id("farm", 0) }), Name: g.text(), Place: some(g, g.text),
		Zone: g.word("America/Chicago", "America/St_Johns", "Australia/Lord_Howe", "UTC"),
		At:   some(g, g.point), Year: rapid.IntRange(1900, 2199).Draw(g.t, "year"), AsOf: opt(g, g.instant),
		Weather: farm.WeatherSettings{
			Record:      some(g, func() string { return "weather/" + g.id("record", 0) + ".csv" }),
			StationKind: some(g, func() string { return g.word("rural", "airport") }), Note: some(g, g.note),
			WindHeight: opt(g, func() float64 { return g.float(1, 50) }),
			Stamp:      some(g, func() string { return g.word("start", "middle", "end") }),
			Contact:    some(g, func() string { return g.word("ada@farm.example", "https://farm.example/contact") }),
			Ensemble: some(g, func() farm.Ensemble {
				return farm.Ensemble{
					URL: g.word("https://weather.example/v1", "https://10.0.0.7:8443/v1?models=a"), Credit: g.note(),
					KeyFile: some(g, func() string { return "keys/" + g.id("key", 0) }),
				}
			}),
		},
	}
}

func (g generator) prefer() farm.Preferences {
	p := farm.Preferences{
		Limits: byKey(g, crop.Kinds(), func() trade.Percent { return g.percent(100, 6000) }), SeasonEnd: some(g, func() calendar.Day { return g.day(firstDay, lastDay) }),
		CombineUSD: opt(g, func() trade.Price { return g.price(0, 500_000_000) }), LossFactors: byKey(g, crop.Kinds(), func() float64 { return g.float(0, 10) }),
	}
	if g.has() {
		h := g.hours()
		p.WorkFrom, p.WorkUntil = h[0], h[1]
	}
	if g.has() {
		p.DaysOff = []time.Weekday{time.Saturday, time.Monday}
	}
	return p
}

func (g generator) field(i int, parties, places []string) farm.Field {
	pct := func() float64 { return g.float(0, 100) }
	printed := func() trade.Percent { return g.percent(0, 10000) }
	planted := g.day(firstDay, lastDay)
	f := farm.Field{
		ID: g.id("field", i), Name: some(g, g.text), Crop: g.crop(), Variety: some(g, g.text), Acres: g.float(0.01, 20000),
		At: some(g, g.point), Planted: opt(g, func() calendar.Day { return planted }),
		RelativeMaturity: opt(g, func() float64 { return g.float(0, 150) }),
		Mature:           opt(g, func() calendar.Day { return g.day(planted, lastDay) }),
		MatureSDDays:     opt(g, func() float64 { return g.float(0, 60) }),
		Evenness:         some(g, func() string { return g.word("even", "some", "uneven") }),
		Yield: farm.Yield{
			BuPerAcre: g.float(1, 600), SDPct: opt(g, pct), Base: g.percent(500, 2500),
			How: some(g, func() string { return g.word("counts", "guess", "history") }),
		},
		LodgedPct: opt(g, pct), GreenPct: opt(g, pct), ImmaturePct: opt(g, pct),
		Quality: farm.Quality{
			TestWeight: opt(g, func() trade.Percent { return g.percent(2000, 8000) }), ForeignMaterial: opt(g, printed),
			Damage: opt(g, printed), Heat: opt(g, printed), Splits: opt(g, printed), BCFM: opt(g, printed), Dockage: opt(g, printed),
			Protein: opt(g, func() trade.Percent { return g.percent(0, 6000) }),
		},
		Soil: farm.Soil{
			Texture: some(g, func() string { return g.word("loam", "silty clay loam") }), Tiled: opt(g, g.truth),
			Drainage: some(g, func() string { return g.word("good", "poor") }), Below: some(g, func() string { return g.word("dry", "normal", "wet") }),
		},
		Miles: byKey(g, places, func() float64 { return g.float(0, 2000) }),
		Limit: opt(g, func() trade.Percent { return g.percent(100, 6000) }),
	}
	if f.Crop == crop.Wheat {
		f.Class = some(g, func() string { return g.word("HRW", "SRW", "HRS") })
	}
	f.CutAcres = some(g, func() float64 { return g.float(0, f.Acres) })
	if g.has() {
		f.Boundary = list(g, 1, func(int) []farm.Point { return []farm.Point{*g.point(), *g.point(), *g.point()} })
		if !g.full {
			f.Acres, f.CutAcres = 0, 0 // the boundary says it
		}
	}
	for j, party := range parties {
		f.Shares = append(f.Shares, farm.Share{Party: party, Num: int64(j + 1), Den: int64(len(parties) * (len(parties) + 1) / 2)})
	}
	f.Entrances = list(g, 0, func(int) farm.Entrance {
		return farm.Entrance{
			Name: some(g, g.text), At: some(g, g.point), Note: some(g, g.note),
			Width:  some(g, func() *units.Length { return g.length(3*units.Foot, 200*units.Foot) }),
			Height: some(g, func() *units.Length { return g.length(3*units.Foot, 100*units.Foot) }),
			Limit:  some(g, func() *units.Mass { return g.mass(1000*units.Pound, 200000*units.Pound) }),
		}
	})
	return f
}

func (g generator) truth() bool { return g.full || rapid.Bool().Draw(g.t, "truth") }

func (g generator) reading(i int, fields []string) farm.Reading {
	return farm.Reading{
		ID: some(g, func() string { return g.id("reading", i) }), Field: g.word(fields...), At: g.instant(),
		Moisture: g.percent(0, 6000), Device: g.word("meter", "bite", "combine", "ticket"), Name: some(g, g.text),
		Spots: some(g, func() int { return rapid.IntRange(1, 1000).Draw(g.t, "spots") }),
		Zone:  some(g, func() string { return g.word("whole", "low", "knob", "load") }), Load: some(g, g.text), By: some(g, g.text), Note: some(g, g.note),
	}
}

func (g generator) stage(i int, fields []string) farm.Sighting {
	return farm.Sighting{
		ID: some(g, func() string { return g.id("stage", i) }), Field: g.word(fields...), On: g.day(firstDay, lastDay),
		Stage: g.word("R5", "R6", "R7", "R8", "dent", "black-layer", "ripe", "brown", "green"), Pct: opt(g, func() float64 { return g.float(0, 100) }),
		Zone: some(g, func() string { return g.word("whole", "low", "knob") }), By: some(g, g.text), Note: some(g, g.note),
	}
}

func (g generator) anchor() farm.Anchor {
	planted := g.day(firstDay, lastDay)
	return farm.Anchor{Crop: g.crop(), RelativeMaturity: g.float(0, 150), Planted: planted, Mature: g.day(planted, lastDay), Note: some(g, g.note)}
}

func (g generator) combine(i int, fields []string) farm.Combine {
	return farm.Combine{
		ID: g.id("combine", i), Name: some(g, g.text), Efficiency: opt(g, func() float64 { return g.float(0.1, 1) }),
		TankBu: g.float(1, 2000), UnloadBuS: g.float(0.1, 20), OutUntil: opt(g, func() calendar.Day { return g.day(firstDay, lastDay) }),
		Width:      some(g, func() *units.Length { return g.length(3*units.Foot, 60*units.Foot) }),
		Height:     some(g, func() *units.Length { return g.length(3*units.Foot, 25*units.Foot) }),
		Weight:     some(g, func() *units.Mass { return g.mass(1000*units.Pound, 200000*units.Pound) }),
		ServiceDue: some(g, g.note), StartsIn: some(g, func() string { return g.word(fields...) }), Tracks: g.truth(),
		Heads: list(g, 1, func(int) farm.Head {
			return farm.Head{
				Crops: list(g, 1, func(int) crop.Kind { return g.crop() }), Name: some(g, g.text), Width: *g.length(3*units.Foot, 80*units.Foot),
				Speed:   units.Speed(g.float(0.3, 6)),
				Ceiling: opt(g, func() float64 { return g.float(10, 20000) }), Transfer: opt(g, g.duration),
			}
		}),
	}
}

func (g generator) duration() time.Duration {
	return time.Duration(rapid.Int64Range(1, int64(24*time.Hour)).Draw(g.t, "duration"))
}

func (g generator) truck(i int) farm.Truck {
	mph := func() float64 { return g.float(1, 85) }
	t := farm.Truck{
		ID: g.id("truck", i), Name: some(g, g.text), Count: rapid.IntRange(1, 200).Draw(g.t, "trucks"),
		Tare:    some(g, func() *units.Mass { return g.mass(500*units.Pound, 90000*units.Pound) }),
		Gross:   some(g, func() *units.Mass { return g.mass(100000*units.Pound, 300000*units.Pound) }),
		PerMile: opt(g, func() trade.Price { return g.price(0, 10_000_000) }), PerHour: opt(g, func() trade.Price { return g.price(0, 100_000_000) }),
		LoadedMPH: opt(g, mph), EmptyMPH: opt(g, mph),
		Width:  some(g, func() *units.Length { return g.length(3*units.Foot, 20*units.Foot) }),
		Height: some(g, func() *units.Length { return g.length(3*units.Foot, 20*units.Foot) }),
	}
	return t
}

func (g generator) outlet(i int) farm.Outlet {
	minutes := func() float64 { return g.float(0, 180) }
	week := []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday, time.Saturday, time.Sunday}
	o := farm.Outlet{
		ID: g.id("outlet", i), Name: some(g, g.text), At: some(g, g.point), Miles: opt(g, func() float64 { return g.float(0, 2000) }),
		Open: byKey(g, week, g.hours), Closed: list(g, 0, func(int) calendar.Day { return g.day(firstDay, lastDay) }),
		Schedules: byKey(g, crop.Kinds(), func() string { return "schedules/" + g.id("schedule", i) + ".json" }),
		BuPerHour: opt(g, func() float64 { return g.float(1, 1e6) }), BuPerDay: opt(g, func() float64 { return g.float(1, 1e7) }),
		QueueMin: opt(g, minutes), ScaleMin: opt(g, minutes), DumpMin: opt(g, minutes), TicketMin: opt(g, minutes),
		Note: some(g, g.note), Phone: some(g, g.text),
	}
	if same, ok := o.Open[time.Monday]; ok && g.has() {
		o.Open[time.Tuesday] = same // days that are written as a span
	}
	return o
}

func (g generator) bid(i int, outlets []string) farm.Bid {
	from := g.day(firstDay, lastDay)
	b := farm.Bid{
		ID: some(g, func() string { return g.id("bid", i) }), Outlet: g.word(outlets...), Crop: g.crop(), Month: some(g, g.text),
		From: opt(g, func() calendar.Day { return from }), Until: opt(g, func() calendar.Day { return g.day(from, lastDay) }), Taken: g.instant(),
	}
	futures, basis := g.price(3_000_000, 5_000_000), g.price(-2_000_000, 2_000_000)
	if cash := futures + basis; g.has() {
		b.Cash = &cash
	}
	if b.Cash == nil || g.has() {
		b.Futures, b.Basis = &futures, &basis
	}
	return b
}

func (g generator) premium(i int, outlets []string) farm.Premium {
	from := g.day(firstDay, lastDay)
	return farm.Premium{
		ID: some(g, func() string { return g.id("premium", i) }), Outlet: g.word(outlets...), Crop: g.crop(),
		Amount: g.price(-2_000_000, 2_000_000), From: opt(g, func() calendar.Day { return from }), Until: g.day(from, lastDay),
		CapBu: opt(g, func() float64 { return g.float(1, 1e7) }), MaxMoisture: opt(g, func() trade.Percent { return g.percent(100, 6000) }),
		Counts: some(g, func() string { return g.word("arrival", "gross", "tare") }),
	}
}

func (g generator) contract(i int, outlets, parties []string) farm.Contract {
	from := g.day(firstDay, lastDay)
	price := func() *trade.Price { return ptr(g.price(5_000, 10_000_000)) }
	c := farm.Contract{
		ID: g.id("contract", i), Outlet: g.word(outlets...), Crop: g.crop(), Kind: g.word("cash", "basis", "hta", "minimum", "deferred", "storage", "pool"),
		Bu:        trade.Bushels(rapid.Int64Range(1, 1e10).Draw(g.t, "bushels")),
		AppliedBu: some(g, func() trade.Bushels { return trade.Bushels(rapid.Int64Range(1, 1e10).Draw(g.t, "applied")) }),
		From:      opt(g, func() calendar.Day { return from }), Until: g.day(from, lastDay), ShortUSD: opt(g, func() trade.Price { return g.price(0, 2_000_000) }),
		Price: some(g, price), Futures: some(g, price), Basis: opt(g, func() trade.Price { return g.price(-2_000_000, 2_000_000) }),
		Written: opt(g, func() calendar.Day { return from }), PriceBy: opt(g, func() calendar.Day { return g.day(firstDay, lastDay) }), Month: some(g, g.text),
		FeeUSD: opt(g, func() trade.Price { return g.price(0, 2_000_000) }), ShortNets: g.has(), BoughtOut: opt(g, func() calendar.Day { return g.day(firstDay, lastDay) }),
	}
	if rapid.Bool().Draw(g.t, "by percent") {
		c.TolerancePct = ptr(g.percent(0, 2500))
	} else {
		c.ToleranceBu = opt(g, func() trade.Bushels { return trade.Bushels(rapid.Int64Range(0, 1e7).Draw(g.t, "tolerance")) })
	}
	if c.Crop == crop.Wheat {
		c.Class = some(g, func() string { return g.word("HRS", "SRW") })
	}
	if len(parties) > 0 {
		c.Party = some(g, func() string { return g.word(parties...) })
	}
	switch c.Kind {
	case "cash", "minimum":
		c.Price = price()
	case "basis":
		c.Basis = ptr(g.price(-2_000_000, 2_000_000))
	case "hta":
		c.Futures = price()
	}
	if (c.Kind == "basis" || c.Kind == "hta") && g.has() {
		c.Price = nil
		c.Rolls = list(g, 1, func(int) farm.Roll {
			return farm.Roll{On: g.day(firstDay, lastDay), To: g.text(), SpreadUSD: g.price(-2_000_000, 2_000_000), FeeUSD: opt(g, func() trade.Price { return g.price(0, 2_000_000) })}
		})
	}
	return c
}

func (g generator) bin(i int, dryers []string) farm.Bin {
	b := farm.Bin{
		ID: g.id("bin", i), Name: some(g, g.text), Crop: g.crop(), HoldsBu: g.float(1, 1e7), MaxMoisture: g.percent(100, 6000),
		Miles: opt(g, func() float64 { return g.float(0, 2000) }), CostUSD: opt(g, func() trade.Price { return g.price(0, 2_000_000) }),
		BuPerHour: opt(g, func() float64 { return g.float(1, 1e6) }), DumpMin: opt(g, func() float64 { return g.float(0, 180) }),
	}
	b.InBu = some(g, func() float64 { return g.float(0, b.HoldsBu) })
	if g.has() {
		for i := range 2 {
			b.Readings = append(b.Readings, farm.BinReading{
				On: firstDay.AddDays(i), Temp: units.Celsius(g.float(-39, 70)), Moisture: opt(g, func() trade.Percent { return g.percent(100, 6000) }),
			})
		}
	}
	if g.has() {
		b.SaleUSD, b.SaleBase = ptr(g.price(5_000, 10_000_000)), g.percent(100, 3000)
	}
	if len(dryers) > 0 {
		b.Dryer = some(g, func() string { return g.word(dryers...) })
	}
	return b
}

func (g generator) dryer(i int) farm.Dryer {
	return farm.Dryer{
		ID: g.id("dryer", i), Name: some(g, g.text), BuPerHourAt5: g.float(1, 1e5), HoursPerDay: g.float(0.5, 24),
		Target:     map[crop.Kind]trade.Percent{g.crop(): g.percent(500, 2500)},
		GalPerBuPt: opt(g, func() float64 { return g.float(0, 1) }), KWhPerBuPt: opt(g, func() float64 { return g.float(0, 10) }),
		LPUSD: opt(g, func() trade.Price { return g.price(0, 5_000_000) }), PowerUSD: opt(g, func() trade.Price { return g.price(0, 1_000_000) }),
		HandlingUSD: opt(g, func() trade.Price { return g.price(0, 500_000) }), HandlingLoss: opt(g, func() trade.Percent { return g.percent(0, 1000) }),
	}
}

func (g generator) outlookDay(i int) farm.OutlookDay {
	low := g.float(-50, 50)
	return farm.OutlookDay{
		On: firstDay.AddDays(i), High: units.Celsius(g.float(low, 56)), Low: units.Celsius(low),
		RainPct: opt(g, func() float64 { return g.float(0, 100) }), Amount: some(g, func() string { return g.word("trace", "light", "medium", "heavy") }),
		When: some(g, func() string { return g.word("night", "any") }), Dew: some(g, func() string { return g.word("none", "light", "heavy") }),
		Wind: some(g, func() string { return g.word("calm", "windy") }), Sky: some(g, func() string { return g.word("clear", "cloudy") }),
		Entered: opt(g, g.instant),
	}
}
