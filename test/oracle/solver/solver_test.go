package solver_test

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"sync"
	"testing"

	"threshday/internal/core/scenario"
	"threshday/test/oracle/season"
	"threshday/test/oracle/solver"
)

// full says that every check is wanted, not only the quick ones.
func full() bool { return os.Getenv("THRESHDAY_FULL") != "" }

// installed says whether the solvers are there. The full check fails without them; the quick one says what it left.
func installed(t *testing.T) bool {
	missing := solver.Missing()
	if len(missing) > 0 && full() {
		t.Fatalf("not installed: %v", missing)
	}
	if len(missing) > 0 {
		t.Logf("not installed: %v; ./check installs them and compares", missing)
	}
	return len(missing) == 0
}

// pick draws a tree of 2 to 8 fields, 3 to 10 days, 1 to 3 destinations and 1 to 32 leaves; every third one has
// tables without any order in them.
func pick(seed uint64) *scenario.Tree {
	rng := rand.New(rand.NewPCG(seed, 77))
	t := season.Draw(season.Size{
		Fields: 2 + rng.IntN(7), Days: 3 + rng.IntN(8), Blocks: 1 + rng.IntN(2),
		Destinations: 1 + rng.IntN(3), Leaves: 1 + rng.IntN(32), Fan: seed%5 == 4,
	}, seed+1000)
	if seed%3 == 2 {
		season.Scramble(t, seed)
	}
	return t
}

// eachTree calls check for trees 0 to n-1, two at a time.
func eachTree(n int, check func(seed uint64)) {
	var wg sync.WaitGroup
	for part := range uint64(2) {
		wg.Go(func() {
			for seed := part; seed < uint64(n); seed += 2 {
				check(seed)
			}
		})
	}
	wg.Wait()
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-6*math.Max(1, math.Abs(b)) }

// TestTwoSolversAgree holds exact and clairvoyant values against the season stated as a linear program and solved by
// cbc and by glpsol.
func TestTwoSolversAgree(t *testing.T) {
	if !installed(t) {
		return
	}
	n := 30
	if full() {
		n = 200
	}
	eachTree(n, func(seed uint64) {
		tree := pick(seed)
		got, err := scenario.Solve(context.Background(), tree, scenario.DefaultOptions())
		if err != nil || got.ExactUSD == nil {
			t.Errorf("tree %d: %v, %+v", seed, err, got)
			return
		}
		for _, c := range []struct {
			name  string
			model solver.Model
			got   float64
		}{{"exact", solver.Model{}, *got.ExactUSD}, {"clairvoyant", solver.Model{Foresight: true}, *got.ClairvoyantUSD}} {
			program := solver.Program(tree, c.model)
			for name, solve := range solvers {
				lost, err := solve(context.Background(), t.TempDir(), program)
				if err != nil {
					t.Errorf("tree %d, %s: %v", seed, c.name, err)
				} else if !near(c.got, -lost) {
					t.Errorf("tree %d: %s is %.6f, %s says %.6f", seed, c.name, c.got, name, -lost)
				}
			}
		}
	})
}

var solvers = map[string]func(context.Context, string, []byte) (float64, error){"cbc": solver.CBC, "glpsol": solver.GLPK}

// TestWaitingIsTheDifferenceOfTwoPrograms holds waiting values against two exact programs for each field: none of
// it today, and at least the first acres.
func TestWaitingIsTheDifferenceOfTwoPrograms(t *testing.T) {
	if !installed(t) {
		return
	}
	n := 8
	if full() {
		n = 40
	}
	eachTree(n, func(seed uint64) {
		tree := pick(seed)
		got, err := scenario.Solve(context.Background(), tree, scenario.DefaultOptions())
		if err != nil {
			t.Errorf("tree %d: %v", seed, err)
			return
		}
		worth := func(today solver.Today) float64 {
			lost, err := solver.CBC(context.Background(), t.TempDir(), solver.Program(tree, solver.Model{Today: &today}))
			if err != nil {
				t.Errorf("tree %d: %v", seed, err)
			}
			return -lost
		}
		for _, w := range got.Wait {
			left := worth(solver.Today{Field: w.Field})
			cut := worth(solver.Today{Field: w.Field, Least: w.Acres, Most: tree.Fields[w.Field].Acres})
			// Both values carry cbc's eight places; the difference is divided by few acres.
			want, tol := (left-cut)/w.Acres, 1e-7*math.Max(1, math.Abs(left))/w.Acres+1e-6
			if math.Abs(w.USDPerAcre-want) > tol || want < w.Low-tol || want > w.High+tol {
				t.Errorf("tree %d, field %d: waiting is worth %.6f (%.6f to %.6f), the programs say %.6f", seed, w.Field, w.USDPerAcre, w.Low, w.High, want)
			}
		}
	})
}
