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

// An expectation predicts what an acre will net at the next chance at least some days from now, from what can be seen
// this morning. It is fitted by least squares on the members of other sources than the one it is asked about.
type expectation struct {
	fold  []int       // per member
	folds int         //
	days  int         //
	coef  [][]float64 // [fold*fields*days + f*days + day] -> delays x features, nil where nothing is to come
	t     *worth.Table
	first []int // per day: first hour of the day's work, the hour whose morning is looked at
}

// newExpectation fits on dayBest[m][f*days+day]: the best an acre of f nets on that day, NaN on days without a chance.
func newExpectation(t *worth.Table, first []int, dayBest [][]float64) *expectation {
	x := &expectation{t: t, days: len(first), first: first}
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
	for m := range next {
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
	// A ridge of one part in ten thousand keeps a morning that looks the same in every member solvable.
	for i := range a {
		a[i][i] += 1e-4*a[i][i] + 1e-9*n
	}
	out := make([]float64, len(delays)*features)
	for k := range delays {
		c := solve3(a, b[k])
		copy(out[k*features:], c[:])
	}
	return out
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

// waiting returns the expected dollars per acre of leaving f on the morning of day, when its next turn is expected no
// earlier than after least days: the best of the delays from there on.
func (x *expectation) waiting(m, f, day, least int) float64 {
	c := x.coef[(x.fold[m]*len(x.t.Fields)+f)*x.days+day]
	z := x.see(m, f, day)
	best := math.Inf(-1)
	for k, delay := range delays {
		if delay < least && k < len(delays)-1 {
			continue
		}
		v := 0.0
		for i := range z {
			v += float64(c[k*features+i] * z[i])
		}
		best = max(best, v)
	}
	return max(best, 0)
}
