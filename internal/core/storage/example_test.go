package storage_test

import (
	"fmt"

	"threshday/internal/core/crop"
	"threshday/internal/core/storage"
	"threshday/internal/core/units"
)

func ExampleBin_Volume() {
	peak, _ := storage.DefaultPeak(crop.Corn, 36*units.Foot)
	v, _ := storage.Bin{Diameter: 36 * units.Foot, Eave: 18.5 * units.Foot, Peak: &peak}.Volume()
	bu := storage.Exact().VolumeBushels(v)
	fmt.Printf("%.1f cubic feet, %.0f bushels, %.0f at 57 lb test weight\n", v.CubicFeet(), bu, storage.TradeBushels(bu, 57, 56, 1))
	// Output: 21273.6 cubic feet, 17095 bushels, 17400 at 57 lb test weight
}

func ExampleAllowable() {
	l, _ := storage.Allowable(crop.Corn, 20, units.Fahrenheit(70))
	fmt.Printf("%.0f days\n", l.Days)
	l, _ = storage.Allowable(crop.Soybean, 12, units.Fahrenheit(45))
	fmt.Println("over 300:", l.Over300)
	// Output:
	// 14 days
	// over 300: true
}

func ExampleJob_Dry() {
	d, _ := storage.Job{
		Bushels: 10000, FromPct: 20, ToPct: 15, Energy: storage.Methods()[0],
		LPUSD: 1.75, PowerUSD: 0.11, HandlingUSD: 0.03, HandlingLossPct: 0.5,
	}.Dry()
	fmt.Printf("%.0f gal, %.0f kWh, $%.2f, %.2f bushels left\n", d.Gallons, d.KWh, d.USD, d.BushelsLeft)
	// Output: 950 gal, 500 kWh, $2017.50, 9361.76 bushels left
}

func ExampleHold_Carry() {
	h := storage.Hold{PriceUSD: 9.87, Days: 365 * 5.0 / 12, YearDays: 365, InterestPct: 7.5, StorageUSD: 0.075, ShrinkPct: 0.5}
	fmt.Printf("breaks even at $%.4f\n", h.PriceUSD+h.Carry().Total())
	// Output: breaks even at $10.3028
}
