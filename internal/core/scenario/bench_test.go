package scenario_test

import (
	"context"
	"testing"

	"threshday/internal/core/scenario"
	"threshday/test/oracle/season"
)

// BenchmarkSolve answers everything about the tree classes, cold.
func BenchmarkSolve(b *testing.B) {
	for k, c := range classes {
		b.Run(c.name, func(b *testing.B) { benchmark(b, drawClass(k, 0)) })
	}
}

// BenchmarkFan answers seasons in which all weathers part on the second day, in blocks of a day.
func BenchmarkFan(b *testing.B) {
	for _, c := range []struct {
		name string
		size season.Size
	}{
		{"S", season.Size{Fields: 12, Days: 20, Blocks: 1, Destinations: 4, Leaves: 100, Fan: true}},
		{"M", season.Size{Fields: 30, Days: 30, Blocks: 1, Destinations: 5, Leaves: 200, Fan: true}},
		{"L", season.Size{Fields: 60, Days: 45, Blocks: 1, Destinations: 6, Leaves: 300, Fan: true}},
	} {
		b.Run(c.name, func(b *testing.B) { benchmark(b, season.Draw(c.size, 1)) })
	}
}

// benchmark reports, beside time and memory, by how much of the bound the plan falls short and the bound exceeds
// foresight.
func benchmark(b *testing.B, tree *scenario.Tree) {
	b.ReportAllocs()
	o := scenario.DefaultOptions()
	o.Workers = 2
	var a scenario.Answer
	for b.Loop() {
		var err error
		if a, err = scenario.Solve(context.Background(), tree, o); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(100*(1 - *a.PolicyUSD / *a.BoundUSD), "gap%")
	if a.ClairvoyantUSD != nil {
		b.ReportMetric(100*(*a.BoundUSD / *a.ClairvoyantUSD - 1), "bound%")
	}
}
