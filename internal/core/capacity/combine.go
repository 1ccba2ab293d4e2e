package capacity

import (
	"threshday/internal/core/crop"
	"threshday/internal/core/units"
)

// A Class is a size of combine, with what it usually threshes in a dry standing crop. Tanks of 300 bushels and
// more are common [sdsu-combine-tanks]; the figures are ours. [judgement]
type Class struct {
	FromHP, ToHP         float64
	TankFromBu, TankToBu float64
	UnloadFrom, UnloadTo float64 // bu/s
	corn, soybean, wheat float64 // bu/h
	sorghum, canola      float64 // bu/h
}

// Classes returns the sizes, the smallest first. [judgement]
func Classes() []Class {
	return []Class{
		{FromHP: 260, ToHP: 320, corn: 1800, soybean: 700, wheat: 900, sorghum: 1200, canola: 450, TankFromBu: 250, TankToBu: 300, UnloadFrom: 2.2, UnloadTo: 3.3},
		{FromHP: 320, ToHP: 400, corn: 2600, soybean: 950, wheat: 1300, sorghum: 1700, canola: 650, TankFromBu: 300, TankToBu: 350, UnloadFrom: 3.3, UnloadTo: 4.0},
		{FromHP: 400, ToHP: 500, corn: 3400, soybean: 1250, wheat: 1700, sorghum: 2200, canola: 850, TankFromBu: 350, TankToBu: 410, UnloadFrom: 4.0, UnloadTo: 5.0},
		{FromHP: 500, ToHP: 650, corn: 4500, soybean: 1600, wheat: 2200, sorghum: 2800, canola: 1100, TankFromBu: 400, TankToBu: 450, UnloadFrom: 4.5, UnloadTo: 6.0},
	}
}

// ClassOfTank returns the class whose tank holds about tankBu; the nearest one outside the range. [judgement]
func ClassOfTank(tankBu float64) Class {
	all := Classes()
	for _, c := range all {
		if tankBu < c.TankToBu {
			return c
		}
	}
	return all[len(all)-1]
}

// CeilingBuPerHour returns what the class threshes of k for hours on end in a dry standing crop; ok is false
// for crops not listed. Assumed until the farm's own records say better.
func (c Class) CeilingBuPerHour(k crop.Kind) (bu float64, ok bool) {
	switch k {
	case crop.Corn:
		return c.corn, true
	case crop.Soybean:
		return c.soybean, true
	case crop.Wheat:
		return c.wheat, true
	case crop.Sorghum:
		return c.sorghum, true
	case crop.Canola:
		return c.canola, true
	default:
		return 0, false
	}
}

// MoistureFactor returns what is left of a throughput ceiling in a crop at moisturePct (wet basis) with
// greenPct of its plants green, 0.5 to 1. Crops not listed keep it whole. [judgement]
func MoistureFactor(k crop.Kind, moisturePct, greenPct float64) float64 {
	const least = 0.5
	f := 1.0
	switch k {
	case crop.Corn:
		f -= 0.02 * max(0, moisturePct-20)
	case crop.Soybean:
		f -= 0.05*max(0, moisturePct-14) + 0.004*greenPct
	case crop.Wheat:
		f -= 0.06 * max(0, moisturePct-14)
	default:
	}
	return max(f, least)
}

// Speeds that hold back a header. [judgement]
const (
	AugerSoybeanSpeed = 3.5 * units.MilePerHour // soybeans with an auger header
	LodgedSpeedFactor = 0.6                     // of the speed in a standing crop
)

// DefaultSpeed returns the fastest sensible speed in a standing crop, soybeans with a draper header; ok is
// false for crops not listed. [judgement]
func DefaultSpeed(k crop.Kind) (s units.Speed, ok bool) {
	switch k {
	case crop.Corn, crop.Wheat:
		return 5 * units.MilePerHour, true
	case crop.Soybean, crop.Sunflower:
		return 4.5 * units.MilePerHour, true
	case crop.Sorghum, crop.Canola:
		return 4 * units.MilePerHour, true
	default:
		return 0, false
	}
}

// Times lost between fields, minutes. [judgement]
const (
	FoldMin       = 20 // fold, unhook, clean
	OpenFieldMin  = 15 // cut the headland open
	CleanOutMin   = 30 // another variety or contract
	CropChangeMin = 90 // header, concaves, settings
)

// RoadSpeed is a combine on the road. [judgement]
const RoadSpeed = 15 * units.MilePerHour

// MoveMin returns the minutes from the last pass in one field to the first in the next of the same crop.
func MoveMin(road units.Length) float64 {
	return FoldMin + float64(road)/float64(RoadSpeed)/60 + OpenFieldMin
}
