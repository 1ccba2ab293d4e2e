package app

import (
	"testing"

	"threshday/internal/core/planner"
)

// What relieves a field is the cheapest kind that leaves at most half of its acres, and of that kind the best.
func TestTheLeastReliefIsNamed(t *testing.T) {
	truck := planner.More{Truck: true, Combine: -1, Room: -1}
	combine := func(k int) planner.More { return planner.More{Combine: k, Room: -1} }
	room := planner.More{Combine: -1, Room: 3}
	with := func(m planner.More, left float64) planner.More {
		m.Left = []float64{left}
		return m
	}
	for _, c := range []struct {
		name string
		all  []planner.More
		want string
	}{
		{"only a combine helps", []planner.More{with(truck, 9), with(combine(0), 4), with(room, 10)}, "combine hours"},
		{"a truck before a combine", []planner.More{with(combine(0), 0), with(truck, 5), with(room, 10)}, "trucks"},
		{"room before both", []planner.More{with(combine(0), 0), with(truck, 0), with(room, 5)}, "room"},
		{"nothing helps", []planner.More{with(combine(0), 6), with(truck, 8), with(room, 10)}, ""},
	} {
		m, ok := leastRelief(c.all, 0, 10)
		got := ""
		if ok {
			got = wantOf(m)
		}
		if got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
	if m, _ := leastRelief([]planner.More{with(combine(0), 4), with(combine(1), 3)}, 0, 10); m.Combine != 1 {
		t.Errorf("of two combines %+v", m)
	}
}
