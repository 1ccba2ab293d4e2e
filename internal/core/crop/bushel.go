package crop

import (
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// BushelPounds returns the weight the trade calls one bushel of k, whatever its test weight. It is the
// near-universal value; states may set their own. ok is false for sunflower, which is sold by the
// hundredweight and has no trade bushel, and for no crop.
func BushelPounds(k Kind) (lb trade.Pounds, ok bool) {
	switch k {
	case Soybean, Wheat: // [extension-test-weight]
		return 60, true
	case Corn: // [extension-test-weight]
		return 56, true
	case Sorghum: // [encyclopedia-test-weight]
		return 56, true
	case Barley: // [encyclopedia-test-weight]
		return 48, true
	case Oats: // [encyclopedia-test-weight]
		return 32, true
	case Canola: // rape seed in state law; prices are as often per cwt or lb. [indiana-24-6-1]
		return 50, true
	default:
		return 0, false
	}
}

// Bushel returns the mass of one trade bushel of k; ok as for [BushelPounds].
func Bushel(k Kind) (m units.Mass, ok bool) {
	lb, ok := BushelPounds(k)
	return units.Mass(lb.Float()) * units.Pound, ok
}

// Bushels returns how many trade bushels of k weigh m; ok as for [BushelPounds]. What m weighs at another
// moisture is moisture.AtMoisture's to say, and moisture.BushelsAtBase does both.
func Bushels(k Kind, m units.Mass) (bu float64, ok bool) {
	one, ok := Bushel(k)
	if !ok {
		return 0, false
	}
	return float64(m / one), true
}

// TonnesPerHectare turns a yield of k in trade bushels per acre into t/ha; ok as for [BushelPounds].
func TonnesPerHectare(k Kind, buPerAcre float64) (tPerHa float64, ok bool) {
	one, ok := Bushel(k)
	return buPerAcre * float64(one/units.Tonne) / float64(units.Acre/units.Hectare), ok
}

// BushelsPerAcre turns a yield of k in t/ha into trade bushels per acre; ok as for [BushelPounds].
func BushelsPerAcre(k Kind, tPerHa float64) (buPerAcre float64, ok bool) {
	return Bushels(k, units.Mass(tPerHa)*units.Tonne*units.Mass(units.Acre/units.Hectare))
}

// A Base is a moisture that prices of a crop are commonly quoted at.
type Base struct {
	Moisture trade.Percent // wet basis
	Key      string        // of the source, in docs/sources/crop.md
	Note     string        // where it is met
}

// UsualBases returns the base moistures met in the market for k, the most usual first, to be offered and
// shown as such. The base of a price is whatever its outlet posts, and may be none of these; wheat for
// one is seen at 12 to 14 %. Empty for no crop. The slice is the caller's own.
func UsualBases(k Kind) []Base {
	switch k {
	case Soybean:
		return []Base{{Moisture: 1300, Key: "msu-soybean-discounts", Note: "market and yields"}}
	case Corn:
		return []Base{
			{Moisture: 1500, Key: "usgc-corn-2013", Note: "most elevators"},
			{Moisture: 1550, Key: "wisconsin-bushels", Note: "yields, also elevators"},
		}
	case Wheat:
		return []Base{{Moisture: 1350, Key: "wisconsin-bushels", Note: "12 to 14 % by region"}}
	case Sorghum:
		return []Base{
			{Moisture: 1400, Key: "usgc-sorghum-2015", Note: "most elevators"},
			{Moisture: 1350, Key: "crop-recalled", Note: "also seen"},
		}
	case Canola:
		return []Base{
			{Moisture: 1000, Key: "canola-press-cgc", Note: "specification of the grain commission"},
			{Moisture: 850, Key: "canola-press-cgc", Note: "quality reports, and some contracts"},
		}
	case Sunflower:
		return []Base{{Moisture: 1000, Key: "nsa-1997", Note: "market"}}
	case Barley:
		return []Base{{Moisture: 1450, Key: "wisconsin-bushels", Note: "market"}}
	case Oats:
		return []Base{{Moisture: 1400, Key: "wisconsin-bushels", Note: "market"}}
	default:
		return nil
	}
}
