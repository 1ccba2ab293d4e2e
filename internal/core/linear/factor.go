package linear

import (
	"cmp"
	"slices"
)

// A factor holds the basis matrix B as L·U with rows as positions, followed by product-form updates:
// B = L·U·E1·E2···. After a factorisation the basic column that was pivoted in row r stands at position r.
type factor struct {
	m              int
	lower, upper   triangle // solve with L, with U
	lowerT, upperT triangle // solve with Lᵀ, with Uᵀ
	walk           *walk
	fresh          int // entries of L and U

	etaRow   []int32
	etaPivot []float64
	eta      matrix

	pivots []int32 // rows in the order they were pivoted
	pos    []int32 // per row: its place in pivots, -1 while not pivoted
	work   elimination
}

// An elimination is the scratch space of a factorisation. Places count the basic columns as given.
type elimination struct {
	columns            *columnStore
	head               []int32 // as given
	placed             []int32 // as wanted: by pivot row
	rowCount, colCount []int32 // entries left by row and by place
	rows               matrix  // by row, the places of columns with an entry there
	queue              []int32 // places with one row left; ^row for rows with one place left
	done               []bool  // by place
	column             *vec
}

// A columnStore gives the scaled columns: those of the problem, then the unit columns of the rows.
type columnStore struct {
	cols matrix
	n    int32
	unit [1]int32
	one  [1]float64
}

func (b *columnStore) at(j int32) ([]int32, []float64) {
	if j >= b.n {
		b.unit[0], b.one[0] = j-b.n, 1
		return b.unit[:], b.one[:]
	}
	return b.cols.at(j)
}

func newFactor(m int) *factor {
	f := &factor{m: m, walk: newWalk(m), pos: make([]int32, m)}
	for _, t := range []*triangle{&f.lower, &f.upper} {
		t.vecs.begin, t.vecs.end = make([]int, m), make([]int, m)
	}
	f.upper.pivot = make([]float64, m)
	f.work = elimination{
		rowCount: make([]int32, m), colCount: make([]int32, m), done: make([]bool, m), column: newVec(m),
	}
	return f
}

// stale says that solving has become dearer than factoring anew.
func (f *factor) stale() bool {
	return len(f.etaRow) >= refactorAfter || len(f.eta.index) > etaGrowth*(f.fresh+f.m)
}

// factorise replaces the factors by those of the columns that head names and returns them by pivot row. A
// column that depends on others is left out: the row that remains gets -1 and, in the factors, its unit column.
func (f *factor) factorise(columns *columnStore, head []int32) []int32 {
	f.reset()
	w := &f.work
	w.columns, w.head = columns, head
	w.placed = make([]int32, f.m)
	for r := range w.placed {
		w.placed[r] = -1
	}
	f.peel()
	f.kernel()
	for r := range f.pos {
		if f.pos[r] < 0 {
			f.take(int32(r), 1)
		}
	}
	f.lower.order = f.pivots
	f.upper.order = slices.Clone(f.pivots)
	slices.Reverse(f.upper.order)
	f.lowerT = triangle{order: f.upper.order, vecs: f.lower.vecs.transpose(f.m)}
	f.upperT = triangle{order: f.pivots, vecs: f.upper.vecs.transpose(f.m), pivot: f.upper.pivot}
	f.fresh = len(f.lower.vecs.index) + len(f.upper.vecs.index)
	return w.placed
}

func (f *factor) reset() {
	for r := range f.pos {
		f.pos[r] = -1
	}
	f.pivots = f.pivots[:0]
	for _, a := range []*matrix{&f.lower.vecs, &f.upper.vecs} {
		clear(a.begin)
		clear(a.end)
		a.index, a.value = a.index[:0], a.value[:0]
	}
	f.etaRow, f.etaPivot = f.etaRow[:0], f.etaPivot[:0]
	f.eta = matrix{begin: f.eta.begin[:0], end: f.eta.end[:0], index: f.eta.index[:0], value: f.eta.value[:0]}
}

// take makes row r the next pivot, with empty vectors in L and U.
func (f *factor) take(r int32, pivot float64) {
	f.pos[r] = int32(len(f.pivots)) //nolint:gosec // within range by construction
	f.pivots = append(f.pivots, r)
	f.upper.pivot[r] = pivot
}

// peel pivots what needs no elimination: unit columns, columns with one row left, rows with one column left.
func (f *factor) peel() {
	w := &f.work
	for k, j := range w.head {
		w.done[k] = j >= w.columns.n
		if w.done[k] {
			w.placed[j-w.columns.n] = j
			f.take(j-w.columns.n, 1)
		}
	}
	f.count()
	for q := 0; q < len(w.queue); q++ {
		if k := w.queue[q]; k >= 0 {
			f.peelColumn(k)
		} else {
			f.peelRow(^k)
		}
	}
}

// count finds the entries left by row and column, and queues what is alone.
func (f *factor) count() {
	w := &f.work
	clear(w.rowCount)
	start := make([]int, f.m+1)
	for k, j := range w.head {
		w.colCount[k] = 0
		if w.done[k] {
			continue
		}
		index, _ := w.columns.at(j)
		for _, i := range index {
			if f.pos[i] < 0 {
				w.colCount[k]++
				w.rowCount[i]++
				start[i+1]++
			}
		}
	}
	for i := range f.m {
		start[i+1] += start[i]
	}
	w.rows = packed(start, make([]int32, start[f.m]), nil)
	next := slices.Clone(w.rows.begin)
	w.queue = w.queue[:0]
	for k, j := range w.head {
		if w.done[k] {
			continue
		}
		index, _ := w.columns.at(j)
		for _, i := range index {
			if f.pos[i] < 0 {
				w.rows.index[next[i]] = int32(k)
				next[i]++
			}
		}
		if w.colCount[k] == 1 {
			w.queue = append(w.queue, int32(k))
		}
	}
	for r, count := range w.rowCount {
		if count == 1 {
			w.queue = append(w.queue, ^int32(r))
		}
	}
}

// peelColumn pivots the column at place k in the only row it has left.
func (f *factor) peelColumn(k int32) {
	w := &f.work
	if w.done[k] || w.colCount[k] != 1 {
		return
	}
	index, value := w.columns.at(w.head[k])
	for e, i := range index {
		if f.pos[i] < 0 && abs(value[e]) >= singularPivot {
			f.split(k, i, value[e])
			return
		}
	}
}

// peelRow pivots row r in the only column it has left, unless the entry there is much smaller than others of
// its column: then it waits for the kernel, where it is weighed again.
func (f *factor) peelRow(r int32) {
	w := &f.work
	if f.pos[r] >= 0 || w.rowCount[r] != 1 {
		return
	}
	for _, k := range w.rows.index[w.rows.begin[r]:w.rows.end[r]] {
		if w.done[k] {
			continue
		}
		index, value := w.columns.at(w.head[k])
		pivot, largest := 0.0, 0.0
		for e, i := range index {
			if i == r {
				pivot = value[e]
			}
			if f.pos[i] < 0 {
				largest = max(largest, abs(value[e]))
			}
		}
		if abs(pivot) >= singularPivot && abs(pivot) >= peelPivot*largest {
			f.split(k, r, pivot)
		}
		return
	}
}

// split pivots the column at place k in row r without elimination: rows pivoted before go to U, others to L.
func (f *factor) split(k, r int32, pivot float64) {
	w := &f.work
	lo, up := &f.lower.vecs, &f.upper.vecs
	lo.begin[r], up.begin[r] = len(lo.index), len(up.index)
	index, value := w.columns.at(w.head[k])
	for e, i := range index {
		switch {
		case i == r:
		case f.pos[i] >= 0:
			up.index, up.value = append(up.index, i), append(up.value, value[e])
		default:
			lo.index, lo.value = append(lo.index, i), append(lo.value, value[e]/pivot)
			w.rowCount[i]--
			if w.rowCount[i] == 1 {
				w.queue = append(w.queue, ^i)
			}
		}
	}
	f.settle(k, r, pivot)
	for _, c := range w.rows.index[w.rows.begin[r]:w.rows.end[r]] {
		if !w.done[c] {
			w.colCount[c]--
			if w.colCount[c] == 1 {
				w.queue = append(w.queue, c)
			}
		}
	}
}

// settle closes the vectors of row r, pivoted by the column at place k.
func (f *factor) settle(k, r int32, pivot float64) {
	f.lower.vecs.end[r], f.upper.vecs.end[r] = len(f.lower.vecs.index), len(f.upper.vecs.index)
	f.pos[r] = int32(len(f.pivots)) //nolint:gosec // within range by construction
	f.pivots = append(f.pivots, r)
	f.upper.pivot[r] = pivot
	f.work.placed[r] = f.work.head[k]
	f.work.done[k] = true
}

// kernel eliminates what peeling left, column by column, fewest entries first. [gilbert-peierls-1988]
func (f *factor) kernel() {
	w := &f.work
	var left []int32
	for k := range w.head {
		if !w.done[k] {
			left = append(left, int32(k))
		}
	}
	slices.SortStableFunc(left, func(a, b int32) int { return cmp.Compare(w.colCount[a], w.colCount[b]) })
	for _, k := range left {
		x := w.column
		x.clear()
		index, value := w.columns.at(w.head[k])
		for e, i := range index {
			x.set(i, value[e])
		}
		f.lower.solveListed(x, f.walk)
		f.eliminate(k, x)
	}
}

// eliminate pivots the column at place k, solved with the L so far to x, in a row with few entries.
func (f *factor) eliminate(k int32, x *vec) {
	w := &f.work
	largest := 0.0
	for _, i := range x.idx {
		if f.pos[i] < 0 {
			largest = max(largest, abs(x.val[i]))
		}
	}
	if largest < singularPivot {
		return // depends on the columns before
	}
	r := int32(-1)
	for _, i := range x.idx {
		if f.pos[i] >= 0 || abs(x.val[i]) < kernelPivot*largest {
			continue
		}
		if r < 0 || w.rowCount[i] < w.rowCount[r] ||
			w.rowCount[i] == w.rowCount[r] && abs(x.val[i]) > abs(x.val[r]) {
			r = i
		}
	}
	lo, up := &f.lower.vecs, &f.upper.vecs
	lo.begin[r], up.begin[r] = len(lo.index), len(up.index)
	pivot := x.val[r]
	for _, i := range x.idx {
		v := x.val[i]
		switch {
		case i == r || abs(v) < noise:
		case f.pos[i] >= 0:
			up.index, up.value = append(up.index, i), append(up.value, v)
		default:
			lo.index, lo.value = append(lo.index, i), append(lo.value, v/pivot)
		}
	}
	f.settle(k, r, pivot)
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}
