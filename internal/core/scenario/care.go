package scenario

import (
	"context"
	"errors"
	"fmt"

	"threshday/internal/core/linear"
)

// A wish is what a plan is made for: so much of its mean, so much of the mean of its worst tenth. [rockafellar-uryasev-2000]
type wish struct{ mean, tail float64 }

// leastMean is what the mean counts at least: with nothing left of it a plan would leave money lying in good weathers. [judgement]
const leastMean = 1e-3

// wishOf returns the wish of one who counts the worst tenth by a share of care.
func wishOf(care float64) wish {
	return wish{mean: max(1-care, leastMean), tail: min(care, 1-leastMean)}
}

// worth returns what a mean and a mean of the worst tenth are worth together, $.
func (w wish) worth(mean float64, r Risk) float64 { return w.mean*mean + w.tail*r.TailUSD }

// addLosses adds, for every future, a row: the threshold, less what the future earns, less its loss, is at most nothing.
func (s *season) addLosses(p *program, w wish) {
	if w.tail == 0 {
		return
	}
	p.loss = make([]int, len(p.leaf))
	most := s.mostEarned()
	for k := range p.loss {
		p.loss[k] = p.lp.AddRow(-2*most, 0)
	}
}

// losing adds what an acre earns to the rows of the futures that it is earned in.
func (p *program) losing(net float64, futures []int, entries []linear.Entry) []linear.Entry {
	if p.loss != nil {
		for _, w := range futures {
			entries = append(entries, linear.Entry{Row: p.loss[w], Coef: -net})
		}
	}
	return entries
}

// addTail adds the threshold that the worst tenth stays under, and by how much each future does: the mean of the worst tenth is
// the most of threshold less mean loss over a tenth [rockafellar-uryasev-2000]. All have bounds that cannot bind, for the dual simplex
// method to start from.
func (s *season) addTail(p *program, w wish) {
	if w.tail == 0 {
		return
	}
	most := s.mostEarned()
	threshold := make([]linear.Entry, len(p.loss))
	for k, row := range p.loss {
		threshold[k] = linear.Entry{Row: row, Coef: 1}
		p.lp.AddColumn(-w.tail/tailShare*p.view[p.end[k]].weight, 0, most, linear.Entry{Row: row, Coef: -1})
	}
	p.lp.AddColumn(w.tail, 0, most, threshold...)
}

// mostEarned returns what no weather can earn more than, $: every field at its best anywhere.
func (s *season) mostEarned() float64 {
	best := make([]float64, len(s.Fields))
	for n := range s.Nodes {
		for b := range s.Nodes[n].Blocks {
			for k, net := range s.Nodes[n].Blocks[b].Net {
				best[k/s.dests] = max(best[k/s.dests], net)
			}
		}
	}
	sum := 1.0
	for f, net := range best {
		sum += s.Fields[f].Acres * net
	}
	return sum
}

// A Care is what a plan that minds its worst tenth is, beside one made for the mean alone.
type Care struct {
	Share       float64 // what the worst tenth counted; the mean counted the rest
	Proven      bool    // no plan without foresight does better by this share; else it is the best of some rounds of the rule
	WithoutUSD  float64 // mean of the plan that is made in the same way for the mean alone
	WithoutRisk Risk    // and its spread
	CostUSD     float64 // by how much the plan's mean is under that
}

// A reckoned is a plan, the season that it counts in, and a program from the root that counts so.
type reckoned struct {
	*season
	*question
	plan   Plan
	whole  bool // the program is that of the whole tree
	proven bool // no plan is worth more by what the season counts; known of whole starts alone
}

// takeCare looks for the plan for a share of care: the exact one where the program of the whole tree was solved for the mean, else the
// best of some rounds of the rule. Mean is the plan for the mean in the same way; it stays where rounding keeps the other from
// being found.
func (s *season) takeCare(ctx context.Context, o Options, z *size, mean *reckoned, out *Answer) (*reckoned, error) {
	w := wishOf(o.Care)
	found, err := s.careByRule(ctx, o, z, w, mean)
	switch {
	case errors.Is(err, ErrUnsure):
		out.LeftOut = append(out.LeftOut, LeftOut{What: CarePart, Because: "rounding kept its program from being solved"})
		return mean, nil
	case err != nil:
		return nil, err
	}
	earned, without := s.value(found.plan), s.value(mean.plan)
	spread := s.risk(found.plan)
	out.Care = &Care{Share: o.Care, Proven: mean.whole || found.proven, WithoutUSD: without, WithoutRisk: s.risk(mean.plan), CostUSD: without - earned}
	out.PolicyUSD, out.Risk, out.Plan, out.Today = &earned, &spread, found.plan, s.tasks(found.plan[s.root])
	return found, nil
}

// careExactly solves the program of the whole tree for a wish.
func (s *season) careExactly(ctx context.Context, w wish, mean *reckoned) (*reckoned, error) {
	s.watch.step("the careful plan", 0, 1)
	careful := *s
	careful.wish = w
	q, err := careful.allCells().ask(ctx, s.whole(), plain, []*answer{mean.answer})
	if err != nil {
		return nil, err
	}
	if !proven(q.base) {
		return nil, fmt.Errorf("%w: the duals do not prove it", ErrUnsure)
	}
	return &reckoned{season: &careful, question: q, plan: q.planned(len(s.Nodes)), whole: true}, nil
}

// careByStarts searches for the plan for a wish where moves take time; it returns nothing where the tree is too large for that.
func (s *season) careByStarts(ctx context.Context, o Options, z *size, w wish, mean *reckoned) (*reckoned, error) {
	careful := *s
	careful.wish = w
	if s.movingColumns() > o.Limits.MoveColumns {
		return nil, nil
	}
	plan, proven, err := careful.seek(ctx, o, z, mean.start(nil))
	if err != nil {
		return nil, err
	}
	is, was := s.risk(plan), s.risk(mean.plan)
	if !proven && (is.TailUSD < was.TailUSD || w.worth(s.value(plan), is) < w.worth(s.value(mean.plan), was)) {
		plan = mean.plan
	}
	found := &reckoned{season: &careful, plan: plan, proven: proven}
	found.question, err = careful.morningOf(ctx, o, z, nil, mean.start(nil))
	return found, err
}

// careRounds is how often the rule is followed anew under weights that mind the worst tenth. [judgement]
const careRounds = 3

// careByRule follows the rule under other weights of the leaves: those of the worst tenth so far count for more. The weights are the
// mean over the rounds of what each round's plan asks for, so that they settle. Kept is the plan worth most by the tree's own weights,
// of those whose worst tenth is no worse than that of the plan for the mean.
func (s *season) careByRule(ctx context.Context, o Options, z *size, w wish, mean *reckoned) (*reckoned, error) {
	if mean.whole {
		return s.careExactly(ctx, w, mean)
	}
	if s.MoveHours > 0 {
		found, err := s.careByStarts(ctx, o, z, w, mean)
		if err != nil || found != nil {
			return found, err
		}
	}
	best, base := mean, s.risk(mean.plan)
	worth := w.worth(s.value(mean.plan), base)
	weight := make([]float64, len(s.leaves))
	last := mean
	for round := range careRounds {
		asked := make([]float64, len(s.leaves))
		for k, leaf := range s.leaves {
			asked[k] = w.mean * s.weight[leaf]
		}
		for _, o := range s.worst(last.plan) {
			asked[o.leaf] += w.tail * o.part / tailShare
		}
		for k := range weight {
			weight[k] += (asked[k] - weight[k]) / float64(round+1)
		}
		next := &reckoned{season: s.weighing(weight)}
		var err error
		if next.plan, next.question, err = next.roll(ctx, o, z, last.start(nil)); err != nil {
			return nil, err
		}
		if next.question, err = next.morningOf(ctx, o, z, next.question, last.start(nil)); err != nil {
			return nil, err
		}
		last = next
		spread := s.risk(next.plan)
		if its := w.worth(s.value(next.plan), spread); its > worth && spread.TailUSD >= base.TailUSD {
			best, worth = next, its
		}
	}
	return best, nil
}

// start returns what other programs start from: its own, else those given.
func (r *reckoned) start(others []*answer) []*answer {
	if r.question == nil {
		return others
	}
	return []*answer{r.answer}
}

// weighing returns the season with other weights of its leaves, in their order; they have to add up to one.
func (s *season) weighing(leaves []float64) *season {
	other := *s
	other.weight = make([]float64, len(s.Nodes))
	for k, leaf := range s.leaves {
		other.weight[leaf] = leaves[k]
	}
	for k := len(s.order) - 1; k >= 0; k-- {
		for _, c := range s.children[s.order[k]] {
			other.weight[s.order[k]] += other.weight[c]
		}
	}
	return &other
}
