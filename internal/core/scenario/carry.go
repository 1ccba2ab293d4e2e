package scenario

import (
	"cmp"
	"slices"

	"threshday/internal/core/linear"
)

// An answer is a program that was solved and the basis that solved it.
type answer struct {
	*program
	basis linear.Basis
}

// carry returns a basis to start a program from: that of answers to programs about the same nodes. A stage
// takes the standings of the stage for the same node and leaf, else of some stage for the same node. What has
// no counterpart stays as it is before the first pivot.
func carry(p *program, from ...*answer) *linear.Basis {
	type place struct {
		answer *answer
		stage  int
	}
	exact, any := map[[2]int]place{}, map[int]place{}
	futures := map[int]place{}
	for _, a := range from {
		for k, st := range a.view {
			exact[[2]int{st.node, st.leaf}] = place{a, k}
			if _, ok := any[st.node]; !ok {
				any[st.node] = place{a, k}
			}
		}
		for w, leaf := range a.leaf {
			futures[leaf] = place{a, w}
		}
	}
	b := linear.Basis{Columns: make([]linear.Standing, p.lp.Columns()), Rows: make([]linear.Standing, p.lp.Rows())}
	for i := range b.Rows {
		b.Rows[i] = linear.Basic
	}
	for k, st := range p.view {
		at, ok := exact[[2]int{st.node, st.leaf}]
		if !ok {
			at, ok = any[st.node]
		}
		if ok {
			at.answer.carryColumns(at.stage, p, k, &b)
			at.answer.carryRows(at.answer.hours[at.stage], p.hours[k], &b)
			at.answer.carryRows(at.answer.trucks[at.stage], p.trucks[k], &b)
			at.answer.carryRows(at.answer.dump[at.stage], p.dump[k], &b)
		}
	}
	for w, leaf := range p.leaf {
		if at, ok := futures[leaf]; ok {
			at.answer.carryRows(at.answer.field[at.stage], p.field[w], &b)
			at.answer.carryRows(at.answer.total[at.stage], p.total[w], &b)
		}
	}
	return &b
}

func (a *answer) carryRows(from, to []int, b *linear.Basis) {
	for k, row := range to {
		if row >= 0 && from[k] >= 0 {
			b.Rows[row] = a.basis.Rows[from[k]]
		}
	}
}

// carryColumns copies the standings of one stage's columns to another's. Both are in order of block, field and
// destination, but either may lack some.
func (a *answer) carryColumns(stage int, p *program, to int, b *linear.Basis) {
	i, end := a.first[stage], a.first[stage+1]
	for j := p.first[to]; j < p.first[to+1]; j++ {
		c := p.columns[j].cut
		for i < end && a.columns[a.ranked(i)].cut.before(c) {
			i++
		}
		if i < end && !c.before(a.columns[a.ranked(i)].cut) {
			b.Columns[j] = a.basis.Columns[a.ranked(i)]
		}
	}
}

// ranked returns which column comes i-th in the order of stages and cuts.
func (p *program) ranked(i int) int {
	if p.rank == nil {
		return i
	}
	return p.rank[i]
}

// sort ranks the columns of a program that had some appended.
func (p *program) sort() {
	p.rank = make([]int, len(p.columns))
	for j := range p.rank {
		p.rank[j] = j
	}
	slices.SortFunc(p.rank, func(x, y int) int {
		a, b := &p.columns[x], &p.columns[y]
		switch {
		case a.stage != b.stage:
			return cmp.Compare(a.stage, b.stage)
		case a.cut.before(b.cut):
			return -1
		case b.cut.before(a.cut):
			return 1
		}
		return 0
	})
	at := 0
	for k := range p.first {
		for at < len(p.rank) && p.columns[p.rank[at]].stage < k {
			at++
		}
		p.first[k] = at
	}
}

// before orders cuts by block, field, destination and combine.
func (c Cut) before(o Cut) bool {
	if c.Block != o.Block {
		return c.Block < o.Block
	}
	if c.Field != o.Field {
		return c.Field < o.Field
	}
	if c.Destination != o.Destination {
		return c.Destination < o.Destination
	}
	return c.Combine < o.Combine
}
