package linear

import "slices"

// A vec is a vector of mostly zeros: every value, and the list of positions that may hold something else.
type vec struct {
	val    []float64
	idx    []int32
	listed bool // idx names every position that is not zero
}

func newVec(n int) *vec {
	return &vec{val: make([]float64, n), idx: make([]int32, 0, n), listed: true}
}

// clear sets v to zero.
func (v *vec) clear() {
	if v.listed && len(v.idx)*sparseShare < len(v.val) {
		for _, i := range v.idx {
			v.val[i] = 0
		}
	} else {
		clear(v.val)
	}
	v.idx, v.listed = v.idx[:0], true
}

// set puts x at position i, which must be zero and not listed.
func (v *vec) set(i int32, x float64) {
	v.val[i] = x
	v.idx = append(v.idx, i)
}

// add adds x at position i.
func (v *vec) add(i int32, x float64) {
	old := v.val[i]
	if old == 0 {
		v.idx = append(v.idx, i)
	}
	v.val[i] = keep(old + x)
}

// copyFrom makes v equal to w.
func (v *vec) copyFrom(w *vec) {
	v.clear()
	w.list()
	for _, i := range w.idx {
		v.val[i] = w.val[i]
	}
	v.idx = append(v.idx, w.idx...)
}

// list makes idx name every position that is not zero, and drops noise.
func (v *vec) list() {
	if v.listed {
		k := 0
		for _, i := range v.idx {
			if x := v.val[i]; x > noise || x < -noise {
				v.idx[k] = i
				k++
			} else {
				v.val[i] = 0
			}
		}
		v.idx = v.idx[:k]
		return
	}
	v.idx = v.idx[:0]
	for i, x := range v.val {
		if x > noise || x < -noise {
			v.idx = append(v.idx, int32(i))
		} else if x != 0 {
			v.val[i] = 0
		}
	}
	v.listed = true
}

// norm2 returns the sum of squares.
func (v *vec) norm2() float64 {
	v.list()
	s := 0.0
	for _, i := range v.idx {
		s += v.val[i] * v.val[i]
	}
	return s
}

// keep replaces an exact zero that came from cancellation, so that a listed position is not listed twice.
func keep(x float64) float64 {
	if x == 0 {
		return placeholder
	}
	return x
}

// A matrix holds sparse vectors, those of columns or those of rows: vector k is index and value from begin[k]
// to end[k].
type matrix struct {
	begin, end []int
	index      []int32
	value      []float64
}

// at returns the positions and values of vector k.
func (a *matrix) at(k int32) ([]int32, []float64) {
	s, e := a.begin[k], a.end[k]
	return a.index[s:e], a.value[s:e]
}

// packed returns a matrix of vectors that follow each other without gaps.
func packed(start []int, index []int32, value []float64) matrix {
	return matrix{begin: start[:len(start)-1], end: start[1:], index: index, value: value}
}

// transpose returns the same entries by the other index, of which there are n.
func (a *matrix) transpose(n int) matrix {
	start := make([]int, n+1)
	for k := range a.begin {
		for s := a.begin[k]; s < a.end[k]; s++ {
			start[a.index[s]+1]++
		}
	}
	for i := range n {
		start[i+1] += start[i]
	}
	t := packed(start, make([]int32, start[n]), make([]float64, start[n]))
	next := slices.Clone(t.begin)
	for k := range a.begin {
		for s := a.begin[k]; s < a.end[k]; s++ {
			to := next[a.index[s]]
			next[a.index[s]]++
			t.index[to], t.value[to] = int32(k), a.value[s]
		}
	}
	return t
}

// A triangle is a triangular system over m positions. Solving takes the positions in order; each one's value,
// divided by its pivot, is subtracted times the coefficients of its vector from the positions they name,
// which all come later in the order.
type triangle struct {
	order []int32 // every position whose vector or pivot matters, first to last
	vecs  matrix
	pivot []float64 // nil: all ones
	full  float64   // running share of positions that results fill
}

// solve replaces v by the solution. The walk is scratch space.
func (t *triangle) solve(v *vec, w *walk) {
	m := len(v.val)
	if v.listed && len(v.idx)*sparseShare < m && t.full < 1.0/sparseShare {
		t.solveListed(v, w)
		t.full = runningKeep*t.full + (1-runningKeep)*float64(len(v.idx))/float64(m)
		return
	}
	t.solveAll(v)
	v.listed = false
	v.list()
	t.full = runningKeep*t.full + (1-runningKeep)*float64(len(v.idx))/float64(m)
}

func (t *triangle) solveAll(v *vec) {
	val := v.val
	begin, end := t.vecs.begin, t.vecs.end
	index, value := t.vecs.index, t.vecs.value
	for _, r := range t.order {
		x := val[r]
		if x == 0 {
			continue
		}
		if x < noise && x > -noise {
			val[r] = 0
			continue
		}
		if t.pivot != nil {
			x /= t.pivot[r]
			val[r] = x
		}
		for s, e := begin[r], end[r]; s < e; s++ {
			val[index[s]] -= value[s] * x
		}
	}
}

// solveListed visits only positions that a nonzero can reach, found by depth-first search.
// [gilbert-peierls-1988]
func (t *triangle) solveListed(v *vec, w *walk) {
	reach := w.reach(&t.vecs, v.idx)
	val := v.val
	begin, end := t.vecs.begin, t.vecs.end
	index, value := t.vecs.index, t.vecs.value
	v.idx = v.idx[:0]
	for k := len(reach) - 1; k >= 0; k-- {
		r := reach[k]
		x := val[r]
		if x < noise && x > -noise {
			val[r] = 0
			continue
		}
		if t.pivot != nil {
			x /= t.pivot[r]
			val[r] = x
		}
		v.idx = append(v.idx, r)
		for s, e := begin[r], end[r]; s < e; s++ {
			val[index[s]] -= value[s] * x
		}
	}
}

// A walk is scratch space for depth-first searches.
type walk struct {
	seen  []int32 // stamp of the search that last met the position
	stamp int32
	stack []int32
	next  []int
	post  []int32
}

func newWalk(m int) *walk {
	return &walk{seen: make([]int32, m), stack: make([]int32, m), next: make([]int, m), post: make([]int32, 0, m)}
}

// reach returns every position that can be reached from the roots, each after all that it reaches.
func (w *walk) reach(a *matrix, roots []int32) []int32 {
	w.stamp++
	w.post = w.post[:0]
	for _, root := range roots {
		if w.seen[root] == w.stamp {
			continue
		}
		w.seen[root] = w.stamp
		if a.begin[root] == a.end[root] {
			w.post = append(w.post, root)
			continue
		}
		depth := 0
		w.stack[0], w.next[0] = root, a.begin[root]
		for depth >= 0 {
			r := w.stack[depth]
			s, e := w.next[depth], a.end[r]
			for s < e && w.seen[a.index[s]] == w.stamp {
				s++
			}
			if s == e {
				w.post = append(w.post, r)
				depth--
				continue
			}
			w.next[depth] = s + 1
			child := a.index[s]
			w.seen[child] = w.stamp
			depth++
			w.stack[depth], w.next[depth] = child, a.begin[child]
		}
	}
	return w.post
}
