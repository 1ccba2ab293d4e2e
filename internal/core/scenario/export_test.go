package scenario

import (
	"context"
	"testing"
)

// Priced hands the bound of prices alone to tests outside the package.
func Priced(t *Tree, workers int) (float64, error) {
	return newSeason(t).priced(context.Background(), workers)
}

// Foresee hands the value of foresight alone to tests outside the package.
func Foresee(ctx context.Context, t *Tree) (float64, error) {
	sight, err := newSeason(t).foresee(ctx, 2)
	if err != nil {
		return 0, err
	}
	return sight.USD, nil
}

// PricingAllocates returns how often pricing one more leaf allocates, once room for it is there.
func PricingAllocates(t *Tree) float64 {
	s := newSeason(t)
	p, v := s.newPricing(), s.foresight(s.leaves[0])
	return testing.AllocsPerRun(3, func() {
		p.lay(v, 0)
		p.descend(mostSteps)
	})
}

// Waits hands waiting values alone to tests outside the package, and on how many leaves they were drawn.
func Waits(ctx context.Context, t *Tree, o Options) ([]Wait, int, error) {
	s := newSeason(t)
	z := s.measure()
	var out Answer
	err := s.valueWaiting(ctx, o, &z, nil, &out)
	return out.Wait, out.WaitDrawn, err
}

// Columns returns how many columns the first morning's program of a tree has on all its leaves.
func Columns(t *Tree) int {
	s := newSeason(t)
	z := s.measure()
	return z.own[s.root] + z.paths[s.root]
}

// EvaluatingAllocates returns how often working out what a plan earns over all leaves allocates.
func EvaluatingAllocates(t *Tree, p Plan) float64 {
	s := newSeason(t)
	return testing.AllocsPerRun(3, func() { s.value(p) })
}
