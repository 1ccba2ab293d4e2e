package planner

import (
	"math"
	"slices"

	"threshday/internal/core/worth"
)

// delays are the days ahead that a field's return is expected at.
var delays = []int{1, 2, 3, 4, 5, 7, 10, 14, 21}

// features an owner sees in the morning: a constant, the field's moisture, whether it is wet from outside.
const features = 3

// An expectation predicts what an acre left standing this morning will net, from what can be seen this morning. It is
// fitted by least squares on the members of other sources than the one it is asked about.
type expectation struct {
	fold   []int // per member
	folds  int
	days   int
	coef   [][]float64 // [fold*fields*days + f*days + day] -> delays x features: at the next chance after each delay
	earned [][]float64 // same order -> features: what acres left went on to earn; nil where too few were left to say
	t      *worth.Table
	known  int   // members from the first on that it may be fitted on
	first  []int // per day: first hour of the day's work, the hour whose morning is looked at
}

// newExpectation fits on dayBest[m][f*days+day]: the best an acre of f nets on that day, NaN on days without a chance.
func newExpectation(t *worth.Table, first []int, dayBest [][]float64, known int) *expectation {
	x := &expectation{t: t, known: known, days: len(first), first: first}
	x.fold, x.folds = foldsOf(t.Source)
	nf := len(t.Fields)
	x.coef = make([][]float64, x.folds*nf*x.days)

	// next[m][day] is what an acre nets at the first chance on or after the day, 0 when none comes.
	next := make([][]float64, t.Members)
	for f := range nf {
		for m := range next {
			if next[m] == nil {
				next[m] = make([]float64, x.days+1)
			}
			next[m][x.days] = 0
			for d := x.days - 1; d >= 0; d-- {
				if v := dayBest[m][f*x.days+d]; !math.IsNaN(v) {
					next[m][d] = v
				} else {
					next[m][d] = next[m][d+1]
				}
			}
		}
		for d := range x.days {
			for fold := range x.folds {
				x.coef[(fold*nf+f)*x.days+d] = x.fit(fold, f, d, next)
			}
		}
	}
	return x
}

// foldsOf gives every source a fold of its own; a single source is dealt out over four.
func foldsOf(source []string) (fold []int, folds int) {
	var names []string
	fold = make([]int, len(source))
	for m, s := range source {
		i := slices.Index(names, s)
		if i < 0 {
			i = len(names)
			names = append(names, s)
		}
		fold[m] = i
	}
	if len(names) > 1 {
		return fold, len(names)
	}
	for m := range fold {
		fold[m] = m % 4
	}
	return fold, 4
}

func (x *expectation) see(m, f, day int) [features]float64 {
	i := x.t.At(m, x.first[day], f)
	wet := 0.0
	if x.t.Wet[i] {
		wet = 1
	}
	return [features]float64{1, worth.GridPct(int(x.t.Moisture[i])), wet}
}

// fit solves the normal equations of every delay at once for the members outside fold.
func (x *expectation) fit(fold, f, day int, next [][]float64) []float64 {
	var a [features][features]float64
	b := make([][features]float64, len(delays))
	n := 0.0
	for m := range next[:x.known] {
		if x.fold[m] == fold {
			continue
		}
		n++
		z := x.see(m, f, day)
		for i := range z {
			for j := range z {
				a[i][j] += z[i] * z[j]
			}
			for k, delay := range delays {
				b[k][i] += z[i] * next[m][min(day+delay, x.days)]
			}
		}
	}
	ridge(&a, n)
	out := make([]float64, len(delays)*features)
	for k := range delays {
		c := solve3(a, b[k])
		copy(out[k*features:], c[:])
	}
	return out
}

// fewestLeft is how many members must have left acres standing before their earnings say anything. [judgement]
const fewestLeft = 12

// fitEarned fits, for members of fold, what acres of f left at the end of day went on to earn in the members outside:
// left[m][f*days+day] acres and later[m][f*days+day] dollars. Nil where too few members left any.
func (x *expectation) fitEarned(fold, f, day int, left, later [][]float64) []float64 {
	var a [features][features]float64
	var b [features]float64
	n := 0
	for m := range left[:x.known] {
		if x.fold[m] == fold {
			continue
		}
		acres := left[m][f*x.days+day]
		if acres < 20*leastAcres {
			continue
		}
		n++
		z := x.see(m, f, day)
		y := later[m][f*x.days+day] / acres
		for i := range z {
			for j := range z {
				a[i][j] += z[i] * z[j]
			}
			b[i] += z[i] * y
		}
	}
	if n < fewestLeft {
		return nil
	}
	ridge(&a, float64(n))
	c := solve3(a, b)
	return c[:]
}

// ridge adds one part in ten thousand, so that a morning that looks the same in every member stays solvable.
func ridge(a *[features][features]float64, n float64) {
	for i := range a {
		a[i][i] += 1e-4*a[i][i] + 1e-9*n
	}
}

// solve3 solves a symmetric positive definite system of three by Cholesky's method.
func solve3(a [features][features]float64, b [features]float64) [features]float64 {
	var l [features][features]float64
	for i := range features {
		for j := range i + 1 {
			s := a[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i == j {
				l[i][i] = math.Sqrt(s)
			} else {
				l[i][j] = s / l[j][j]
			}
		}
	}
	var y, c [features]float64
	for i := range features {
		s := b[i]
		for k := range i {
			s -= l[i][k] * y[k]
		}
		y[i] = s / l[i][i]
	}
	for i := features - 1; i >= 0; i-- {
		s := y[i]
		for k := i + 1; k < features; k++ {
			s -= l[k][i] * c[k]
		}
		c[i] = s / l[i][i]
	}
	return c
}

// waiting returns the expected dollars per acre of leaving f on the morning of day in member m, by what is known without the
// members of fold: what acres left went on to earn; or, where that is not known, the best of the delays when its next turn
// comes after least days at the earliest.
func (x *expectation) waiting(fold, m, f, day, least int) float64 {
	cell := (fold*len(x.t.Fields)+f)*x.days + day
	z := x.see(m, f, day)
	if x.earned != nil && x.earned[cell] != nil {
		return max(0, along(x.earned[cell], z))
	}
	c := x.coef[cell]
	best := 0.0
	for k, delay := range delays {
		if delay >= least || k == len(delays)-1 {
			best = max(best, along(c[k*features:], z))
		}
	}
	return best
}

func along(c []float64, z [features]float64) float64 {
	v := 0.0
	for i := range z {
		v += float64(c[i] * z[i])
	}
	return v
}
