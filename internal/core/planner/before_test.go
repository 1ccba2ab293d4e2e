package planner

import (
	"context"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"threshday/internal/core/worth"
)

// replan plans with an earlier order given.
func replan(t *testing.T, table *worth.Table, before [][]int) *Plan {
	t.Helper()
	p, err := Make(context.Background(), table, Settings{Workers: 2, Before: before, ChangeUSD: ChangeUSD})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// near is w with every value moved by up to a part in two hundred, as another seed or a new run of the forecast would.
func (w world) near(seed uint64) world {
	r := rand.New(rand.NewPCG(seed, 11))
	v := make([]float64, w.members*w.days*w.fields)
	for i := range v {
		v[i] = 1 + 0.005*(2*r.Float64()-1)
	}
	plain := w.value
	w.value = func(m, day, f, d int) (float64, bool) {
		usd, ok := plain(m, day, f, d)
		return usd * v[(m*w.days+day)*w.fields+f], ok
	}
	return w
}

// alike is a world whose first day is fit in all weathers, with fields so alike that the order of the day hangs by cents.
func alike(seed uint64) world {
	w := random(seed)
	w.fields, w.combines, w.perDay, w.crop, w.move = 4, 2, 8, nil, 0.5
	r := rand.New(rand.NewPCG(seed, 5))
	wet := make([]bool, w.members*w.days)
	for i := range wet {
		wet[i] = i%w.days > 0 && r.Float64() < 0.3
	}
	w.value = func(m, day, f, _ int) (float64, bool) { return 700 + float64(f) - 9*float64(day), !wet[m*w.days+day] }
	return w
}

func TestAPlanMadeAgainKeepsTheOrdersUnlessOthersEarnTheirPrice(t *testing.T) {
	flips, changed := 0, 0
	for seed := range uint64(25) {
		w := alike(seed)
		morning := plan(t, w.table(), 2)
		before := sequenceOf(morning.Today, w.combines)
		noon := w.near(seed).table()
		if changes(before, sequenceOf(plan(t, noon, 2).Today, w.combines)) > 0 {
			flips++
		}
		p := replan(t, noon, before)
		if p.Against.Changed != changes(before, sequenceOf(p.Today, w.combines)) {
			t.Fatalf("world %d: it says %d turns changed; orders %v, then %v", seed, p.Against.Changed, before, p.Today)
		}
		if p.Against.Changed == 0 {
			continue
		}
		changed++
		if gain, se := Mean(p.Against.USD); gain < ChangeUSD+2*se-1e-9 {
			t.Errorf("world %d: orders go from %v to %v for %.2f dollars, error %.2f", seed, before, p.Against.Is, gain, se)
		}
	}
	if flips < 10 || changed > flips/3 {
		t.Errorf("of 25 plans made again %d have other orders where nothing was kept, %d where they were", flips, changed)
	}
}

// Two fields and hours for one a day: cutting the faster loser first earns 100 acres times 55 dollars more.
func TestARealChangeChangesTheOrders(t *testing.T) {
	w := world{fields: 2, members: 8, days: 6, perDay: 10, acres: 100, rate: 10, bu: 60}
	loses := func(usd ...float64) func(_, day, f, _ int) (float64, bool) {
		return func(_, day, f, _ int) (float64, bool) { return 600 - usd[f]*float64(day), true }
	}
	w.value = loses(60, 5)
	before := sequenceOf(plan(t, w.table(), 1).Today, 1)
	if !reflect.DeepEqual(before, [][]int{{0}}) {
		t.Fatalf("the morning's order is %v, want field 0", before)
	}
	w.value = loses(5, 60)
	p := replan(t, w.table(), before)
	if gain, _ := Mean(p.Against.USD); !reflect.DeepEqual(p.Against.Is, [][]int{{1}}) || math.Abs(gain-100*55) > 1 {
		t.Errorf("order %v for %.0f dollars more, want field 1 for 5500", p.Against.Is, gain)
	}
	// A tenth of a dollar an acre is ten dollars in all: not worth a call.
	w.value = loses(5, 5.1)
	if p := replan(t, w.table(), before); p.Against.Changed != 0 {
		t.Errorf("order %v for ten dollars", p.Against.Is)
	}
	// Rain on the field that was ordered: the combine goes to the other.
	w.value = func(m, day, f, d int) (float64, bool) {
		usd, _ := loses(60, 5)(m, day, f, d)
		return usd, day > 0 || f != 0
	}
	if p := replan(t, w.table(), before); !reflect.DeepEqual(p.Against.Is, [][]int{{1}}) {
		t.Errorf("with field 0 too wet to cut the order is %v", p.Against.Is)
	}
}

func TestTurnsThatDifferAreCounted(t *testing.T) {
	for _, row := range []struct {
		was, is [][]int
		want    int
	}{
		{nil, nil, 0},
		{[][]int{{1, 2, 3}}, [][]int{{1, 2, 3}}, 0},
		{[][]int{{1, 2, 3}}, [][]int{{1, 3}}, 1},
		{[][]int{{1, 2, 3}}, [][]int{{1, 4, 3}}, 1},
		{[][]int{{1, 2}}, [][]int{{2, 1}}, 1},
		{[][]int{{1}, {2}}, [][]int{{2}, {1}}, 2},
		{[][]int{{1}}, [][]int{{1}, {2, 3}}, 0},
		{[][]int{{1}, nil}, [][]int{{1, 2}, {2, 3}}, 0},
		{[][]int{{1}}, [][]int{{2, 1}}, 1},
		{[][]int{{1, 2}}, nil, 2},
	} {
		if got := changes(row.was, row.is); got != row.want {
			t.Errorf("%v to %v: %d turns differ, want %d", row.was, row.is, got, row.want)
		}
	}
}
