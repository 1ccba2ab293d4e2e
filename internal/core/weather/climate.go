package weather

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"threshday/internal/core/calendar"
)

// A cycle is what is usual through the year: a mean and two harmonics for temperature and for dew point, °C,
// as coefficients of 1, cos, sin, cos 2, sin 2 of the time of year. The zero cycle knows no seasons.
type cycle struct{ temp, dew [harmonics]float64 }

const harmonics = 5

// fewestDaysOfMonth is how many days every month of the year must have before a cycle is fitted: with less,
// the fit follows the weather of a few days or runs off where there are none. [judgement]
const fewestDaysOfMonth = 20

// change returns by how much usual temperature and dew point differ between an hour and the hour moved later.
func (c cycle) change(h, moved calendar.Hour) (temp, dew float64) {
	a, b := yearBasis(h), yearBasis(h+moved)
	for k := range a {
		temp += c.temp[k] * (b[k] - a[k])
		dew += c.dew[k] * (b[k] - a[k])
	}
	return temp, dew
}

// hoursOfYear is the mean length of a calendar year.
const hoursOfYear = 365.2425 * 24

func yearBasis(h calendar.Hour) [harmonics]float64 {
	x := 2 * math.Pi * float64(h) / hoursOfYear
	return [harmonics]float64{1, math.Cos(x), math.Sin(x), math.Cos(2 * x), math.Sin(2 * x)}
}

// annualCycle fits the cycle to the daily means of a record by least squares; ok is false where a month of
// the year has too few days.
func annualCycle(s *Series) (c cycle, ok bool) {
	normal := mat.NewSymDense(harmonics, nil)
	temps, dews := mat.NewVecDense(harmonics, nil), mat.NewVecDense(harmonics, nil)
	var days [12]int
	for i := 0; i+24 <= s.Len(); i += 24 {
		t, d, known := dayMeans(s, i)
		if !known {
			continue
		}
		noon := s.Start + calendar.Hour(i) + 12
		days[noon.Start().Month()-1]++
		basis := yearBasis(noon)
		for r := range basis {
			for col := r; col < harmonics; col++ {
				normal.SetSym(r, col, normal.At(r, col)+basis[r]*basis[col])
			}
			temps.SetVec(r, temps.AtVec(r)+basis[r]*t)
			dews.SetVec(r, dews.AtVec(r)+basis[r]*d)
		}
	}
	for _, n := range days {
		if n < fewestDaysOfMonth {
			return cycle{}, false
		}
	}
	var factor mat.Cholesky
	var x mat.VecDense
	if !factor.Factorize(normal) {
		return cycle{}, false
	}
	for _, fit := range []struct {
		sums *mat.VecDense
		into *[harmonics]float64
	}{{temps, &c.temp}, {dews, &c.dew}} {
		if err := factor.SolveVecTo(&x, fit.sums); err != nil { // ill-conditioned: no cycle rather than a wild one
			return cycle{}, false
		}
		copy(fit.into[:], x.RawVector().Data)
	}
	return c, true
}

func dayMeans(s *Series, first int) (temp, dew float64, known bool) {
	for i := first; i < first+24; i++ {
		if s.From[TempC][i] == Missing || s.From[DewC][i] == Missing {
			return 0, 0, false
		}
		temp += float64(s.V[TempC][i]) / 24
		dew += float64(s.V[DewC][i]) / 24
	}
	return temp, dew, true
}
