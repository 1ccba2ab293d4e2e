package storage

import (
	"math"

	"threshday/internal/core/crop"
	"threshday/internal/core/units"
)

// A Life is how long grain keeps: until half a percent of its dry matter is gone, about one grade
// [uk-mcneill-storage]. Air through the grain does not lengthen it, only its temperature does
// [ndsu-hellevang-2020].
type Life struct {
	Days    float64
	Over300 bool // the table says only that it is over 300 days; Days is then 300, for sums
	Outside bool // wetter or warmer than the table goes: it keeps for less than this
}

// lifeMoisture and lifeF are the rows (% wet basis) and columns (°F) of the table; lifeDays its days, over300
// where it prints a star. [ndsu-hellevang-2020]
// At 30 % and 50 °F both copies print 5, as at 60 °F; it is kept, for it errs on the safe side.
var (
	lifeMoisture = [...]float64{14, 15, 16, 17, 18, 19, 20, 22, 24, 26, 28, 30}
	lifeF        = [...]float64{30, 40, 50, 60, 70, 80}
	lifeDays     = [len(lifeMoisture)][len(lifeF)]float64{
		{over300, over300, over300, over300, 200, 140},
		{over300, over300, over300, 240, 125, 70},
		{over300, over300, 230, 120, 70, 40},
		{over300, 280, 130, 75, 45, 20},
		{over300, 200, 90, 50, 30, 15},
		{over300, 140, 70, 35, 20, 10},
		{over300, 90, 50, 25, 14, 7},
		{190, 60, 30, 15, 8, 3},
		{130, 40, 15, 10, 6, 2},
		{90, 35, 12, 8, 5, 2},
		{70, 30, 10, 7, 4, 2},
		{60, 25, 5, 5, 3, 1},
	}
)

const over300 = 300

// soybeanPoints is how many points drier soybeans must be to keep as long as cereal grain. Tables give 3; a
// note that 13 % soybeans keep like 15.5 % grain gives 2.5 [ndsu-soybean-drying]. [uk-mcneill-storage]
const soybeanPoints = 3

// Allowable returns how long sound grain of k keeps at moisturePct (wet basis) and t. Between the points of the
// table the logarithm of the days is linear in both; outside it the edge stands, see Life.Outside, except that
// grain drier than the driest row keeps over 300 days. ok is false for crops without a published table: canola
// and sunflower spoil at moistures that keep corn.
func Allowable(k crop.Kind, moisturePct float64, t units.Temperature) (l Life, ok bool) {
	switch k {
	case crop.Corn, crop.Wheat, crop.Sorghum, crop.Barley, crop.Oats:
	case crop.Soybean:
		moisturePct += soybeanPoints
	default:
		return Life{}, false
	}
	f := t.Fahrenheit()
	if moisturePct < lifeMoisture[0] {
		return Life{Days: over300, Over300: true}, true
	}
	l.Outside = moisturePct > lifeMoisture[len(lifeMoisture)-1] || f > lifeF[len(lifeF)-1]+1e-9
	row, down := between(lifeMoisture[:], moisturePct)
	col, right := between(lifeF[:], f)
	var logDays float64
	l.Over300 = true
	for i, wi := range [2]float64{1 - down, down} {
		for j, wj := range [2]float64{1 - right, right} {
			if wi*wj == 0 {
				continue
			}
			days := lifeDays[row+i][col+j]
			logDays += wi * wj * math.Log(days)
			l.Over300 = l.Over300 && days == over300
		}
	}
	l.Days = math.Exp(logDays)
	if l.Over300 {
		l.Days = over300
	}
	return l, true
}

// between returns the interval of xs that holds x, and how far into it x lies, held to 0 and 1. A hair from a
// point counts as on it, so that 70 °F given in Celsius is the column of 70.
func between(xs []float64, x float64) (i int, part float64) {
	const hair = 1e-9
	for i < len(xs)-2 && x >= xs[i+1]-hair {
		i++
	}
	part = min(max((x-xs[i])/(xs[i+1]-xs[i]), 0), 1)
	if part < hair {
		return i, 0
	}
	if part > 1-hair {
		return i, 1
	}
	return i, part
}

// Poor returns the life of damaged or poor-quality grain: half. [uk-mcneill-storage]
func (l Life) Poor() Life {
	if l.Over300 { // half of more than 300 is more than 150
		return Life{Days: over300 / 2, Outside: l.Outside}
	}
	l.Days /= 2
	return l
}

// Spent is the part of its life that grain has used up, 0 fresh to 1 spoiled. It adds up over every moisture and
// temperature the grain has been at. [ndsu-hellevang-2020]
type Spent float64

// After returns what is spent after so many days more under l.
func (s Spent) After(days float64, l Life) Spent { return s + Spent(days/l.Days) }

// DaysLeft returns how many days are left if the grain stays under l from now on.
func (s Spent) DaysLeft(l Life) float64 { return max(0, 1-float64(s)) * l.Days }

// Spoiled reports whether the life is used up.
func (s Spent) Spoiled() bool { return s >= 1 }

// SafePct returns the moisture at which clean sound grain of k may lie for so many months in an ordinary aerated
// bin, percent wet basis; ok is false for crops without a figure. Corn [sdsu-corn-discount] and soybeans
// [ndsu-soybean-drying] may be wetter for a winter; the others have one figure for the long term, sunflower the
// drier end of 7 to 8 for oil types [ndsu-hellevang-2020].
func SafePct(k crop.Kind, months float64) (pct float64, ok bool) {
	switch k {
	case crop.Corn:
		return stepped(months, 15.5, 14, 13), true
	case crop.Soybean:
		return stepped(months, 13, 12, 11), true
	case crop.Wheat:
		return 13.5, true
	case crop.Canola:
		return 8, true
	case crop.Sunflower:
		return 7, true
	default:
		return 0, false
	}
}

// stepped picks by half a year, a year, or longer.
func stepped(months, winter, year, longer float64) float64 {
	switch {
	case months <= 6:
		return winter
	case months <= 12:
		return year
	default:
		return longer
	}
}
