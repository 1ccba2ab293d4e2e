package hauling

import (
	"cmp"
	"slices"
)

// A Range is the middle eight tenths of many draws, with their median.
type Range struct{ P10, P50, P90 float64 }

// rangeOf sorts x and returns its range; the zero Range of nothing.
func rangeOf(x []float64) Range {
	if len(x) == 0 {
		return Range{}
	}
	slices.Sort(x)
	at := func(p float64) float64 {
		i := p * float64(len(x)-1)
		low := int(i)
		high := min(low+1, len(x)-1)
		return x[low] + (i-float64(low))*(x[high]-x[low])
	}
	return Range{P10: at(0.1), P50: at(0.5), P90: at(0.9)}
}

// A Planned is a load of the usual day with what many draws make of the load of its lot that sets out as the same one.
type Planned struct {
	Load
	Number                         int     // from 1, in the order in which loads set out; those that stay overnight last
	Share                          float64 // of the draws in which such a load is brought
	LeftIn, ScaledIn, BackIn, BuIn Range   // over those draws; of no meaning where Share is 0
	slot                           int
}

// A Forecast is a day under many lucks.
type Forecast struct {
	Loads     []Planned
	Usual     Outcome // of the day on which everything takes as long as it usually does
	Delivered []float64
	CutBu     []float64
	Overnight []float64       // in trucks, carts and tanks
	Acres     [][]float64     // by draw and field
	IdleMin   []float64       // of all combines
	Idle      [Causes]float64 // mean over the draws, of all combines
	Turned    int             // loads that were in line at closing, in all draws
}

// Ahead runs the day once as usual and once under each of so many lucks. luck is told the number of the draw and
// returns what it brings; it is asked in order, and what it returned before is not used any more.
func Ahead(day *Day, draws int, luck func(draw int) Luck) *Forecast {
	r := NewRunner(day)
	f := &Forecast{Usual: r.Run(Usual{}).clone()}
	same := f.plan(day, draws)
	for i := range draws {
		o := r.Run(luck(i))
		f.Delivered = append(f.Delivered, o.Delivered)
		f.CutBu = append(f.CutBu, o.CutBu)
		f.Overnight = append(f.Overnight, o.InTrucks+o.InCarts+o.InTanks)
		f.Acres = append(f.Acres, slices.Clone(o.Acres))
		idle, by := o.IdleMin()
		f.IdleMin = append(f.IdleMin, idle)
		for c := range by {
			f.Idle[c] += by[c] / float64(draws)
		}
		f.Turned += same.add(o.Loads)
	}
	for i := range f.Loads {
		s := &same.of[f.Loads[i].slot]
		f.Loads[i].Share = float64(len(s.left)) / float64(max(draws, 1))
		f.Loads[i].LeftIn, f.Loads[i].ScaledIn, f.Loads[i].BackIn, f.Loads[i].BuIn = rangeOf(s.left), rangeOf(s.scaled), rangeOf(s.back), rangeOf(s.bu)
	}
	return f
}

// IdleMean returns the mean minutes that combines stand, for all causes together.
func (f *Forecast) IdleMean() (minutes float64) {
	for _, x := range f.Idle {
		minutes += x
	}
	return minutes
}

func (o *Outcome) clone() Outcome {
	c := *o
	c.Loads, c.Acres, c.Uncut, c.Idle = slices.Clone(o.Loads), slices.Clone(o.Acres), slices.Clone(o.Uncut), slices.Clone(o.Idle)
	return c
}

// plan numbers the loads of the usual day, and returns room for what draws make of them.
func (f *Forecast) plan(day *Day, draws int) *sameLoads {
	same := newSameLoads(day)
	for _, l := range f.Usual.Loads {
		f.Loads = append(f.Loads, Planned{Load: l, slot: same.slot(&l)})
		same.of = append(same.of, sample{make([]float64, 0, draws), make([]float64, 0, draws), make([]float64, 0, draws), make([]float64, 0, draws)})
	}
	slices.SortStableFunc(f.Loads, func(a, b Planned) int {
		if a.Night != b.Night {
			if b.Night {
				return -1
			}
			return 1
		}
		return cmp.Compare(a.Left, b.Left)
	})
	for i := range f.Loads {
		f.Loads[i].Number = i + 1
	}
	return same
}

// sameLoads finds the load of the usual day that a load of a draw stands for: the one begun as the same of its lot.
type sameLoads struct {
	first []int   // by field: number of its first lot
	slots [][]int // by lot: the loads brought of it on the usual day, as they were begun
	of    []sample
	seen  []int // by lot, in the draw at hand
}

type sample struct{ left, scaled, back, bu []float64 }

func newSameLoads(day *Day) *sameLoads {
	s := &sameLoads{}
	lots := 0
	for _, f := range day.Fields {
		s.first = append(s.first, lots)
		lots += len(f.Lots)
	}
	s.slots, s.seen = make([][]int, lots), make([]int, lots)
	return s
}

// slot counts a load of the usual day.
func (s *sameLoads) slot(l *Load) int {
	n := len(s.of)
	if !l.Night && !l.Turned {
		lot := s.first[l.Field] + l.Lot
		s.slots[lot] = append(s.slots[lot], n)
	}
	return n
}

// add takes the loads of a draw in; it returns how many were turned away.
func (s *sameLoads) add(loads []Load) (turned int) {
	clear(s.seen)
	for i := range loads {
		l := &loads[i]
		if l.Turned {
			turned++
		}
		if l.Turned || l.Night {
			continue
		}
		lot := s.first[l.Field] + l.Lot
		n := s.seen[lot]
		s.seen[lot]++
		if n >= len(s.slots[lot]) {
			continue
		}
		one := &s.of[s.slots[lot][n]]
		one.left, one.scaled, one.back, one.bu = append(one.left, l.Left), append(one.scaled, l.Scaled), append(one.back, l.Back), append(one.bu, l.Bu)
	}
	return turned
}
