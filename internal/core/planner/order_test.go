package planner

import (
	"context"
	"slices"
	"testing"
)

// Improving the day's order never makes it worth less, and what combines are led to keeps every limit of the table.
func TestTodaysOrderIsNeverWorthLessThanBefore(t *testing.T) {
	changed := 0
	for seed := range uint64(40) {
		table := alike(seed).near(seed).table()
		e := newEvaluator(table, Settings{Workers: 1})
		best, err := e.choose(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		plain := e.record(best.rule, bends{})
		bend, r, err := e.orderToday(context.Background(), best.rule, bends{}, plain)
		if err != nil {
			t.Fatal(err)
		}
		before, _ := Mean(trial{usd: plain.usd, lost: plain.lost}.worth())
		after, _ := Mean(trial{usd: r.usd, lost: r.lost}.worth())
		if after < before-1e-6 {
			t.Errorf("world %d: the day is worth %.2f in order, %.2f as the rule has it", seed, after, before)
		}
		if bend.lead == nil {
			continue
		}
		changed++
		logs := make([][]work, table.Members)
		usd, err := e.evaluate(context.Background(), best.rule, bend, func(m int, w work) { logs[m] = append(logs[m], w) })
		if err != nil {
			t.Fatal(err)
		}
		for m, log := range logs {
			audit(t, table, m, log, usd[m])
		}
	}
	if changed < 5 {
		t.Errorf("the order changed in %d worlds of 40: nothing was tried", changed)
	}
}

// An acre yields 36 bushels there, so that trucks serve one combine and a twentieth: what the second would cut is worth a hundred dollars, and it would stand for nine hours.
func TestACombineIsNotSentOutForWhatTrucksLeaveIt(t *testing.T) {
	w := world{
		fields: 3, members: 8, days: 8, perDay: 10, acres: 100, rate: 10, bu: 60, combines: 2, trucks: 0.38, truckBu: 0.001,
		value: func(_, day, _, _ int) (float64, bool) { return 600 - 12*float64(day), true },
	}
	p := plan(t, w.table(), 1)
	if out := sequenceOf(p.Today, 2); (len(out[0]) == 0) == (len(out[1]) == 0) {
		t.Errorf("the combines go to %v, want one of them out", out)
	}
}

func TestALedCombineTakesItsFieldsInOrder(t *testing.T) {
	w := world{
		fields: 3, members: 4, days: 4, perDay: 10, acres: 30, rate: 10, bu: 60,
		value: func(_, day, f, _ int) (float64, bool) { return 600 - 5*float64(day), f != 1 || day > 0 },
	}
	e := newEvaluator(w.table(), Settings{Workers: 1})
	rule := Rule{Order: ByWorth}
	for _, row := range []struct {
		name string
		bend bends
		want []int
	}{
		{"as the rule has it", bends{}, []int{0, 2}},
		{"led", bends{lead: [][]int{{2, 0}}}, []int{2, 0}},
		{"past a field that is not fit", bends{lead: [][]int{{1, 2}}}, []int{2, 0}},
		{"kept off a field", bends{bar: [][]int{{0}}}, []int{2}},
		{"kept off but led", bends{lead: [][]int{{2, 0}}, bar: [][]int{{0}}}, []int{2, 0}},
		{"a field held is not led to", bends{lead: [][]int{{2, 0}}}.with(3, 2, 1, plainTurn), []int{0}},
		{"first of all goes before the lead", bends{lead: [][]int{{2}}, bar: [][]int{{0}}}.with(3, 0, 0, firstTurn), []int{0, 2}},
	} {
		if got := e.sequence(rule, row.bend, 0)[0]; !slices.Equal(got, row.want) {
			t.Errorf("%s: fields %v, want %v", row.name, got, row.want)
		}
	}
}
