package scenario

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"

	"threshday/internal/core/linear"
)

// ErrUnsure says that rounding kept a linear program from being solved; its answer is left out.
var ErrUnsure = errors.New("scenario: a linear program could not be solved for rounding")

// solved returns an error unless the solution is optimal. The programs of this package are always feasible
// (nothing cut) and bounded, so any other end is a context that ended or a failure of the solver.
func solved(ctx context.Context, s *linear.Solution) error {
	switch {
	case s.Status == linear.Optimal:
		return nil
	case ctx.Err() != nil:
		return ctx.Err()
	}
	return fmt.Errorf("%w: %v after %d pivots", ErrUnsure, s.Status, s.Pivots)
}

// each calls do for 0 to n-1, on as many goroutines as workers. The calls must not depend on each other; their
// results go to places of their own, so that the order of the calls does not matter. It returns the error of
// the lowest number.
func each(ctx context.Context, workers, n int, do func(int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range max(1, min(workers, n)) {
		wg.Go(func() {
			for {
				k := int(next.Add(1)) - 1
				if k >= n {
					return
				}
				if errs[k] = ctx.Err(); errs[k] == nil {
					errs[k] = do(k)
				}
			}
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
