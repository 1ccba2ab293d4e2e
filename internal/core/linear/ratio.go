package linear

import "math"

// A ratioTest is the choice of the entering variable: along the step, pass the boxed variables that may flip to
// their other bound while the leaving row stays infeasible, then take a large pivot among those that tie.
// [koberstein-2005] [harris-1973]
type ratioTest struct {
	heap   []candidate // those not passed, the one of least ratio on top
	passed []candidate // in order of ratio
	groups []group
}

// A candidate is a variable that limits the step: its pivot and reduced cost as positive numbers.
type candidate struct {
	j          int32
	pivot, gap float64
	ratio      float64
	span       float64 // distance between its bounds
}

// before orders candidates along the step.
func (c *candidate) before(o *candidate) bool {
	return c.ratio < o.ratio || c.ratio == o.ratio && c.j < o.j
}

// A group is a run of candidates that tie within the tolerance: it ends before passed[end], and best has the
// largest pivot.
type group struct{ end, best int }

// collect lists the candidates of the priced row. Side is +1 when the leaving variable rises to its lower
// bound, -1 when it falls to its upper.
func (e *engine) collect(side float64) {
	t := &e.ratio
	t.heap = t.heap[:0]
	least := pivotTolFresh
	if len(e.factor.etaRow) > pivotAge {
		least = pivotTolAged
	}
	for _, j := range e.row.idx {
		a := e.row.val[j] * side
		var c candidate
		switch {
		case e.at[j] == Basic || e.lo[j] == e.up[j]:
			continue
		case e.at[j] == AtLower && a < -least:
			c = candidate{j: j, pivot: -a, gap: e.d[j]}
		case e.at[j] == AtUpper && a > least:
			c = candidate{j: j, pivot: a, gap: -e.d[j]}
		case e.at[j] == AtZero && abs(a) > least:
			c = candidate{j: j, pivot: abs(a)}
		default:
			continue
		}
		c.span, c.ratio = e.up[j]-e.lo[j], max(c.gap, 0)/c.pivot
		t.heap = append(t.heap, c)
	}
}

// choose returns the entering candidate and those before it that flip; nil when none enters. Slope is the
// violation of the leaving row, slack the tolerance on reduced costs.
func (t *ratioTest) choose(slope, slack float64) (enter *candidate, flips []candidate) {
	if len(t.heap) == 0 {
		return nil, nil
	}
	for k := len(t.heap)/2 - 1; k >= 0; k-- {
		t.sift(k)
	}
	t.passed, t.groups = t.passed[:0], t.groups[:0]
	largest := 0.0
	for from := 0; slope >= 0 && (from < len(t.passed) || len(t.heap) > 0); {
		g := t.tie(from, slack)
		for k := from; k < g.end; k++ {
			slope -= t.passed[k].pivot * t.passed[k].span
		}
		largest = max(largest, t.passed[g.best].pivot)
		t.groups = append(t.groups, g)
		from = g.end
	}
	// The last group may hold only small pivots; then step back to a group that does better.
	bar := min(tiePivot*largest, 1)
	for k := len(t.groups) - 1; k > 0; k-- {
		if t.passed[t.groups[k].best].pivot >= bar {
			return &t.passed[t.groups[k].best], t.passed[:t.groups[k-1].end]
		}
	}
	return &t.passed[t.groups[0].best], nil
}

// tie returns the group that starts at passed[from]: all within the least ratio that the slack allows.
func (t *ratioTest) tie(from int, slack float64) group {
	limit := math.Inf(1)
	end := from
	for ; ; end++ {
		if end == len(t.passed) && !t.pop() {
			break
		}
		c := &t.passed[end]
		if c.ratio > limit {
			break
		}
		limit = min(limit, max(c.gap+slack, 0)/c.pivot)
	}
	g := group{end: from + 1, best: from}
	for ; g.end < end && t.passed[g.end].ratio <= limit; g.end++ {
		c, b := &t.passed[g.end], &t.passed[g.best]
		if c.pivot > b.pivot || c.pivot == b.pivot && c.j < b.j {
			g.best = g.end
		}
	}
	return g
}

// pop moves the next candidate from the heap to passed.
func (t *ratioTest) pop() bool {
	last := len(t.heap) - 1
	if last < 0 {
		return false
	}
	t.passed = append(t.passed, t.heap[0])
	t.heap[0] = t.heap[last]
	t.heap = t.heap[:last]
	t.sift(0)
	return true
}

// sift lets the candidate at k sink to its place.
func (t *ratioTest) sift(k int) {
	h := t.heap
	for {
		child := 2*k + 1
		if child >= len(h) {
			return
		}
		if child+1 < len(h) && h[child+1].before(&h[child]) {
			child++
		}
		if !h[child].before(&h[k]) {
			return
		}
		h[k], h[child] = h[child], h[k]
		k = child
	}
}

// first returns the candidate of least ratio, of those that tie the one of least number. [bland-1977]
func (t *ratioTest) first() *candidate {
	var best *candidate
	for k := range t.heap {
		if c := &t.heap[k]; best == nil || c.before(best) {
			best = c
		}
	}
	return best
}
