package planner

import (
	"context"
	"math"
	"testing"

	"threshday/internal/core/lookahead"
)

// Where no weather differs from another the program and the rule run again must say the same of waiting, and both what is sum by
// hand: twenty dollars an acre and day.
func TestBothValuesOfWaitingAreTheSumByHandWhereTheWeatherIsKnown(t *testing.T) {
	w := world{
		fields: 1, members: 20, days: 10, perDay: 10, acres: 50, rate: 10, bu: 60,
		value: func(_, day, _, _ int) (float64, bool) { return 600 - 20*float64(day), true },
	}
	p := plan(t, w.table(), 1)
	if p.Ahead == nil || len(p.Ahead.Waits[0]) != len(WaitDays)-1 || math.Abs(p.Ahead.Acres[0]-50) > 1e-6 {
		t.Fatalf("looking ahead says %+v", p.Ahead)
	}
	for i, got := range p.Ahead.Waits[0] {
		run, _ := Mean(p.Waits[0][i+1].USD)
		if want := -20.0 * float64(got.Days) * 50; math.Abs(got.USD-want) > 0.1 || math.Abs(run-want) > 0.1 || got.High-got.Low > 0.1 {
			t.Errorf("waiting %d days: program %.2f (%.2f to %.2f), rule %.2f, by hand %.2f", got.Days, got.USD, got.Low, got.High, run, want)
		}
	}
}

// Members that share today's weather: what a rule does today it does in all of them, so it is one of the program's plans where values
// are the best of a day, and earns no more.
func TestARuleEarnsNoMoreThanTheProgram(t *testing.T) {
	for seed := range uint64(30) {
		w := random(seed)
		w.crop = nil
		value := w.value
		w.value = func(m, day, f, d int) (float64, bool) {
			if day == 0 {
				m = 0
			}
			return value(m, day, f, d)
		}
		table := w.table()
		program, err := lookahead.New(context.Background(), table, lookahead.Settings{Workers: 1, Batches: 1, Members: w.members, Take: lookahead.Best})
		if err != nil {
			t.Fatal(err)
		}
		most, _ := program.USD()
		e := newEvaluator(table, Settings{Workers: 1})
		for _, rule := range plain[:3] {
			usd, err := e.evaluate(context.Background(), rule, bends{}, nil)
			if err != nil {
				t.Fatal(err)
			}
			if got, _ := Mean(usd); got > most*(1+1e-9) {
				t.Errorf("world %d: %+v earns %.2f, the program %.2f", seed, rule, got, most)
			}
		}
	}
}

// The day is full with a field that loses faster: going after it the other is not cut today at all, which is no way of cutting it.
func TestCuttingAFieldTodayCutsIt(t *testing.T) {
	w := world{
		fields: 2, members: 16, days: 6, perDay: 10, acres: 100, rate: 10, bu: 60,
		value: func(_, day, f, _ int) (float64, bool) { return 600 - []float64{60, 5}[f]*float64(day), true },
	}
	e := newEvaluator(w.table(), Settings{Workers: 1})
	bend := bends{}.led(1, 0, []int{0}, nil)
	p := &Plan{Rule: Rule{Order: ByWorth}, CutToday: []float64{1, 0}}
	got := e.cutToday(p, bend, e.record(p.Rule, bend), 1)
	if acres := meanOf(got.today); math.Abs(acres-100) > 1e-6 {
		t.Errorf("cuts %.2f acres today", acres)
	}
	if usd := meanOf(got.usd); math.Abs(usd-100*(600+540)) > 1 {
		t.Errorf("earns %.0f, by hand 114000", usd)
	}
}
