package scenario

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"threshday/internal/core/linear"
)

// firstShare is the part of today's combine hours that makes the first acres of a field. [judgement]
const firstShare = 0.05

// A Wait is what it is worth to leave a field alone for one day: what the season nets with no acre of it cut
// today, less what it nets with at least the first acres cut, per acre of those; everything else is planned
// anew in both. Positive: waiting pays.
type Wait struct {
	Field      int
	Acres      float64 // the first acres
	USDPerAcre float64
	// Low and High enclose the value. On an exact tree they are what weak duality proves; else they are the 95 %
	// interval over batches of leaves, widened by how far their mean lies off the value.
	Low, High float64
}

// A Cannot is a field that cannot be cut today, and why.
type Cannot struct {
	Field   int
	Because string
}

// valueWaiting values waiting by the program of the whole tree where it is within limits, else by the program
// that knows at first what nodes know, and each leaf later, on as many leaves as the limits allow.
func (s *season) valueWaiting(ctx context.Context, o Options, z *size, start []*answer, out *Answer) error {
	columns := z.whole
	if columns <= o.Limits.ExactColumns && columns*len(s.Fields) <= o.Limits.WaitColumns {
		var err error
		out.Wait, out.Cannot, err = s.allCells().waits(ctx, o.Workers, s.whole(), nil, start)
		return err
	}
	perLeaf := (z.own[s.root] + z.paths[s.root]) / len(s.leaves)
	if needed := perLeaf * min(leavesForWaiting, len(s.leaves)) * len(s.Fields); needed > mostOverWaiting*o.Limits.WaitColumns {
		out.LeftOut = append(out.LeftOut, LeftOut{
			What: WaitPart, Because: fmt.Sprintf("a leaf has %d columns; two programs a field on the fewest leaves that tell anything are too much", perLeaf),
		})
		return nil
	}
	weight := s.few(s.root, z, s.waitingColumns(o.Limits), leavesForWaiting, o.Seed)
	if weight == nil {
		weight = make([]float64, len(s.leaves))
		for k, leaf := range s.leaves {
			weight[k] = s.weight[leaf]
		}
	}
	parts, drawn := batches(weight)
	var views []view
	for _, part := range parts {
		views = append(views, s.shared(s.root, o.SharedDays, part))
	}
	var err error
	out.Wait, out.Cannot, err = s.waits(ctx, o.Workers, s.shared(s.root, o.SharedDays, weight), views, start)
	if err == nil {
		out.WaitDrawn = drawn
	}
	return err
}

// Waiting values from fewer leaves would carry a range that means little; for their sake the limit may be passed so many
// times over. [judgement]
const (
	leavesForWaiting = 16
	mostOverWaiting  = 2
)

// How many batches leaves are parted into, and how many leaves a batch has at least. [judgement]
const (
	mostBatches   = 6
	leavesInBatch = 4
)

// batches parts weighted leaves into batches that each stand for all: every so many-th leaf, scaled to the same
// sum. It returns none where they would be too small, and how many leaves have weight.
func batches(weight []float64) (parts [][]float64, drawn int) {
	all := 0.0
	for _, w := range weight {
		if w > 0 {
			drawn++
			all += w
		}
	}
	count := min(mostBatches, drawn/leavesInBatch)
	if count < 2 {
		return nil, drawn
	}
	parts = make([][]float64, count)
	sums := make([]float64, count)
	for k := range parts {
		parts[k] = make([]float64, len(weight))
	}
	at := 0
	for k, w := range weight {
		if w > 0 {
			parts[at%count][k] = w
			sums[at%count] += w
			at++
		}
	}
	for b, part := range parts {
		for k := range part {
			part[k] *= all / sums[b]
		}
	}
	return parts, drawn
}

// waits values waiting for every field by the program of a view: the whole tree where it can be solved, else
// the two-stage program. Batches, where given, are views of disjoint parts of the leaves.
func (s *season) waits(ctx context.Context, workers int, v view, batches []view, start []*answer) ([]Wait, []Cannot, error) {
	main, err := s.ask(ctx, v, forced, start)
	if err != nil {
		return nil, nil, err
	}
	parts := make([]*question, len(batches))
	err = each(ctx, workers, len(batches), func(k int) error {
		var err error
		parts[k], err = s.ask(ctx, batches[k], forced, []*answer{main.answer})
		return err
	})
	if err != nil {
		return nil, nil, err
	}
	found, why := make([]Wait, len(s.Fields)), make([]string, len(s.Fields))
	err = each(ctx, workers, len(s.Fields), func(f int) error {
		defer s.watch.step("waiting values", 1, len(s.Fields))
		var err error
		found[f], why[f], err = s.wait(ctx, f, main, parts)
		return err
	})
	if err != nil {
		return nil, nil, err
	}
	var waits []Wait
	var cannot []Cannot
	for f := range s.Fields {
		if why[f] != "" {
			cannot = append(cannot, Cannot{Field: f, Because: why[f]})
		} else {
			waits = append(waits, found[f])
		}
	}
	return waits, cannot, nil
}

// A question is a program in which today's acres of a field can be forbidden or demanded.
type question struct {
	*answer
	base *linear.Solution
}

// planned returns the plan that a solution of a program of the whole tree stands for.
func (q *question) planned(nodes int) Plan {
	out := make(Plan, nodes)
	for k, cuts := range q.cuts(q.base.X) {
		out[q.view[k].node] = cuts
	}
	return out
}

// ask solves the program of a view from the root for what the season counts.
func (s *season) ask(ctx context.Context, v view, first form, start []*answer) (*question, error) {
	p := s.buildFor(v, s.fresh(), first, s.wish)
	sol := p.lp.Solve(ctx, linear.Options{Start: carry(p, start...)})
	if err := solved(ctx, &sol); err != nil {
		return nil, err
	}
	return &question{answer: &answer{program: p, basis: sol.Basis}, base: &sol}, nil
}

// wait values waiting for one field, or says why it cannot be cut today.
func (s *season) wait(ctx context.Context, f int, main *question, parts []*question) (Wait, string, error) {
	acres, why := s.firstAcres(f)
	if why != "" {
		return Wait{}, why, nil
	}
	var left, cut *linear.Solution
	left, err := main.leave(ctx, f)
	for try := 0; err == nil && (cut == nil || cut.Status == linear.Infeasible); try++ {
		if try == maxHalvings {
			return Wait{}, "there is no truck or no room for it today", nil
		}
		if try > 0 {
			acres /= 2
		}
		cut, err = main.demand(ctx, f, acres)
	}
	if err != nil {
		return Wait{}, "", err
	}
	w := Wait{
		Field: f, Acres: acres,
		USDPerAcre: (left.Objective - cut.Objective) / acres,
		Low:        (left.Objective - cut.Bound) / acres,
		High:       (left.Bound - cut.Objective) / acres,
	}
	w.Low, w.High = min(w.Low, w.USDPerAcre), max(w.High, w.USDPerAcre)
	if len(parts) < 2 {
		return w, "", nil
	}
	return w, "", w.spread(ctx, f, parts)
}

// maxHalvings is how often the first acres are halved when trucks or room do not take them all.
const maxHalvings = 8

// spread sets the interval from the values of the batches: half of Student's interval of their mean to either side of the value, and
// as much more as the mean lies off it. Few leaves bend a value, a batch has fewest, and the value is bent less than the batches are:
// the mean's distance covers that. Without it single fields were covered in half of the draws.
func (w *Wait) spread(ctx context.Context, f int, parts []*question) error {
	var sum, squares, n float64
	for _, q := range parts {
		left, err := q.leave(ctx, f)
		if err != nil {
			return err
		}
		cut, err := q.demand(ctx, f, w.Acres)
		if err != nil {
			return err
		}
		v := (left.Objective - cut.Objective) / w.Acres
		sum, squares, n = sum+v, squares+v*v, n+1
	}
	mean := sum / n
	deviation := math.Sqrt(max(0, squares-n*mean*mean) / (n - 1))
	half := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 1}.Quantile(0.975) * deviation / math.Sqrt(n)
	half += math.Abs(w.USDPerAcre - mean)
	w.Low, w.High = w.USDPerAcre-half, w.USDPerAcre+half
	return nil
}

// firstAcres returns the first acres of a field, or why it cannot be cut today at all.
func (s *season) firstAcres(f int) (acres float64, why string) {
	hours, accepted := 0.0, false
	for b := range s.Nodes[s.root].Blocks {
		block := &s.Nodes[s.root].Blocks[b]
		if !workable(block) {
			continue
		}
		hours += s.hours(block)
		for _, net := range block.Net[f*s.dests : (f+1)*s.dests] {
			accepted = accepted || !math.IsInf(net, -1)
		}
	}
	switch {
	case s.Fields[f].Acres == 0:
		return 0, "nothing is left to cut"
	case hours == 0:
		return 0, "no part of today is workable"
	case !accepted:
		return 0, "no destination takes it today"
	}
	return min(s.Fields[f].Acres, firstShare*hours*s.Fields[f].AcresPerHour), ""
}

// leave solves with no acre of a field cut today; there is nothing to solve where none is.
func (q *question) leave(ctx context.Context, f int) (*linear.Solution, error) {
	if q.base.Activity[q.today[f]] <= 0 {
		return q.base, nil
	}
	lp := q.lp.Clone()
	lp.SetRow(q.today[f], 0, 0)
	return q.again(ctx, lp)
}

// demand solves with at least so many acres of a field cut today, unless they are. Infeasible where they do not fit.
func (q *question) demand(ctx context.Context, f int, acres float64) (*linear.Solution, error) {
	if q.base.Activity[q.today[f]] >= acres {
		return q.base, nil
	}
	lp := q.lp.Clone()
	_, most := lp.Row(q.today[f])
	lp.SetRow(q.today[f], min(acres, most), most)
	return q.again(ctx, lp)
}

func (q *question) again(ctx context.Context, lp *linear.Problem) (*linear.Solution, error) {
	sol := lp.Solve(ctx, linear.Options{Start: &q.basis})
	if sol.Status == linear.Infeasible {
		return &sol, nil
	}
	return &sol, solved(ctx, &sol)
}
