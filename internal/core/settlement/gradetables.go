package settlement

import (
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/trade"
)

// A standard is the US grade table of one crop and class group over a span of days.
type standard struct {
	crop   crop.Kind
	light  bool          // wheat: Hard Red Spring and White Club, which have the lower test weights
	from   *calendar.Day // first day in force; nil: before any load here
	until  *calendar.Day // last day; nil: still in force
	grades int           // how many numbered grades
	limits []limit
	counts []countLimit
	stones stoneRule
}

// A limit is one factor's row of a grade table, in hundredths, the best grade first. parts are added up.
type limit struct {
	parts   []Factor
	atLeast bool // test weight; all others are at most
	of      []trade.Percent
}

// A countLimit is the most pieces a numbered grade may hold.
type countLimit struct {
	count Count
	most  int
}

// A stoneRule makes stones Sample grade: more pieces than most, more weight than pct, or both where both are set.
type stoneRule struct {
	most int           // -1: pieces alone do not matter
	pct  trade.Percent // -1: weight alone does not matter
}

// A Count is something counted in the official sample.
type Count uint8

// The counts. AllPieces is the sum of the others where a standard limits it.
const (
	StonePieces Count = iota + 1
	GlassPieces
	CastorBeans
	Crotalaria
	FilthPieces
	UnknownPieces
	Cockleburs
	InsectDamaged // kernels in 100 g
	AllPieces
)

var countWordsFor = map[Count]string{
	StonePieces: "stones", GlassPieces: "glass", CastorBeans: "castor_beans", Crotalaria: "crotalaria", FilthPieces: "filth",
	UnknownPieces: "unknown_substance", Cockleburs: "cockleburs", InsectDamaged: "insect_damaged", AllPieces: "total_other_material",
}

// String returns the name used in files and answers.
func (c Count) String() string { return countWordsFor[c] }

func most(f Factor, of ...trade.Percent) limit { return limit{parts: []Factor{f}, of: of} }

func together(of []trade.Percent, parts ...Factor) limit { return limit{parts: parts, of: of} }

func least(of ...trade.Percent) limit {
	return limit{parts: []Factor{TestWeight}, atLeast: true, of: of}
}

// standards returns the tables, newest first within a crop.
func standards() []standard {
	day := func(s string) *calendar.Day { return new(calendar.MustDay(s)) }
	return append(wheatStandards(),
		// [cfr-810-1604]; other colours left the grade on 1 September 2023 [fr-2023-soy], test weight on 1 September 2007 [fr-2006-soy].
		standard{crop: crop.Soybean, from: day("2023-09-01"), grades: 4, limits: soybeanLimits(), counts: soybeanCounts(), stones: stoneRule{3, 10}},
		standard{
			crop: crop.Soybean, from: day("2007-09-01"), until: day("2023-08-31"), grades: 4,
			limits: append(soybeanLimits(), most(OtherColors, 100, 200, 500, 1000)), counts: soybeanCounts(), stones: stoneRule{3, 10},
		},
		standard{
			crop: crop.Soybean, from: day("1994-09-09"), // the day is recalled [settlement-recalled]
			until: day("2007-08-31"), grades: 4,
			limits: append(soybeanLimits(), most(OtherColors, 100, 200, 500, 1000), least(5600, 5400, 5200, 4900)), counts: soybeanCounts(), stones: stoneRule{3, 10},
		},
		// [cfr-810-404], in force since 1 September 1996 [fr-1995-corn].
		standard{
			crop: crop.Corn, from: day("1996-09-01"), grades: 5,
			limits: []limit{
				least(5600, 5400, 5200, 4900, 4600),
				most(HeatDamage, 10, 20, 50, 100, 300),
				most(DamageTotal, 300, 500, 700, 1000, 1500),
				most(BCFM, 200, 300, 400, 500, 700),
				most(AnimalFilth, 20, 20, 20, 20, 20),
			},
			counts: []countLimit{{GlassPieces, 1}, {Crotalaria, 2}, {CastorBeans, 1}, {UnknownPieces, 3}, {Cockleburs, 7}}, stones: stoneRule{-1, 10},
		},
		// [cfr-810-1404], test weight method of 1 June 2008 [fr-2007-sorghum].
		standard{
			crop: crop.Sorghum, from: day("2008-06-01"), grades: 4,
			limits: []limit{
				least(5700, 5500, 5300, 5100),
				most(HeatDamage, 20, 50, 100, 300),
				most(DamageTotal, 200, 500, 1000, 1500),
				most(ForeignMaterial, 100, 200, 300, 400),
				together([]trade.Percent{300, 600, 800, 1000}, Broken, ForeignMaterial),
			},
			counts: []countLimit{
				{FilthPieces, 9}, {CastorBeans, 1}, {Crotalaria, 2}, {GlassPieces, 1}, {UnknownPieces, 3}, {Cockleburs, 7}, {AllPieces, 10},
			}, stones: stoneRule{7, 20},
		},
		standard{
			crop: crop.Canola, grades: 3, // [cfr-810-304]
			limits: []limit{
				most(HeatDamage, 10, 50, 200),
				most(Green, 200, 600, 2000),
				most(DamageTotal, 300, 1000, 2000),
				most(Ergot, 5, 5, 5),
				most(Sclerotinia, 5, 10, 15),
				most(Stones, 5, 5, 5),
				most(AdmixtureConspicuous, 100, 150, 200),
				most(AdmixtureInconspicuous, 500, 500, 500),
			},
			counts: []countLimit{{FilthPieces, 3}, {GlassPieces, 0}, {UnknownPieces, 1}}, stones: stoneRule{-1, -1},
		},
		standard{crop: crop.Sunflower, grades: 2, // [cfr-810-1804]
			limits: []limit{least(2500, 2500), most(HeatDamage, 50, 100), most(DamageTotal, 500, 1000), most(Dehulled, 500, 500)}, stones: stoneRule{-1, -1}},
	)
}

func soybeanLimits() []limit {
	return []limit{
		most(HeatDamage, 20, 50, 100, 300),
		most(DamageTotal, 200, 300, 500, 800),
		most(ForeignMaterial, 100, 200, 300, 500),
		most(Splits, 1000, 2000, 3000, 4000),
	}
}

// soybeanCounts: the total of 10 is recalled [settlement-recalled], the others are read [cfr-810-1604-reprint].
func soybeanCounts() []countLimit {
	return []countLimit{{GlassPieces, 0}, {FilthPieces, 9}, {CastorBeans, 1}, {Crotalaria, 2}, {UnknownPieces, 3}, {AllPieces, 10}}
}

// wheatStandards returns the two tables of all classes except Mixed. [cfr-810-2204]
func wheatStandards() []standard {
	shared := []limit{
		most(HeatDamage, 20, 20, 50, 100, 300),
		most(DamageTotal, 200, 400, 700, 1000, 1500),
		most(ForeignMaterial, 40, 70, 130, 300, 500),
		most(ShrunkenBroken, 300, 500, 800, 1200, 2000),
		together([]trade.Percent{300, 500, 800, 1200, 2000}, DamageTotal, ForeignMaterial, ShrunkenBroken),
		most(ContrastingClasses, 100, 200, 300, 1000, 1000),
		most(OtherClasses, 300, 500, 1000, 1000, 1000),
		most(Stones, 10, 10, 10, 10, 10),
	}
	counts := []countLimit{
		{FilthPieces, 1}, {CastorBeans, 1}, {Crotalaria, 2}, {GlassPieces, 0}, {StonePieces, 3}, {UnknownPieces, 3}, {AllPieces, 4}, {InsectDamaged, 31},
	}
	table := func(light bool, weights limit) standard {
		return standard{crop: crop.Wheat, light: light, grades: 5, limits: append([]limit{weights}, shared...), counts: counts, stones: stoneRule{-1, -1}}
	}
	return []standard{
		table(true, least(5800, 5700, 5500, 5300, 5000)),
		table(false, least(6000, 5800, 5600, 5400, 5100)),
	}
}
