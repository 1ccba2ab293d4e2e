package scenario_test

import (
	"context"
	"math"
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

// The fans that are measured: in them all weathers part on the second day, in blocks of a day.
var (
	smallFan  = season.Size{Fields: 12, Days: 20, Blocks: 1, Destinations: 4, Leaves: 100, Fan: true}
	middleFan = season.Size{Fields: 30, Days: 30, Blocks: 1, Destinations: 5, Leaves: 200, Fan: true}
	largeFan  = season.Size{Fields: 60, Days: 45, Blocks: 1, Destinations: 6, Leaves: 300, Fan: true}
)

// BenchmarkToday answers everything about fans, cold, waiting values included.
func BenchmarkToday(b *testing.B) {
	b.Run("S", func(b *testing.B) { benchmark(b, season.Draw(smallFan, 1)) })
	b.Run("M", func(b *testing.B) { benchmark(b, season.Draw(middleFan, 1)) })
	b.Run("L", func(b *testing.B) { benchmark(b, season.Draw(largeFan, 1)) })
}

// BenchmarkScaling doubles the fields, the weathers or the days of the middle fan and reports the power of the size that the time
// grows with.
func BenchmarkScaling(b *testing.B) {
	for _, c := range []struct {
		name   string
		double func(*season.Size)
	}{
		{"F", func(s *season.Size) { s.Fields *= 2 }},
		{"W", func(s *season.Size) { s.Leaves *= 2 }},
		{"H", func(s *season.Size) { s.Days *= 2 }},
	} {
		b.Run(c.name, func(b *testing.B) {
			size := middleFan
			c.double(&size)
			once, twice := season.Draw(middleFan, 1), season.Draw(size, 1)
			before, after := math.Inf(1), math.Inf(1) // the least of the rounds: others are at work on the machine too
			for b.Loop() {
				start := b.Elapsed()
				answer(b, once)
				middle := b.Elapsed()
				answer(b, twice)
				before, after = min(before, (middle-start).Seconds()), min(after, (b.Elapsed()-middle).Seconds())
			}
			b.ReportMetric(math.Log2(after/before), "exponent")
		})
	}
}

// benchmark reports, beside time and memory, by how much of the bound the plan falls short and the bound exceeds
// foresight.
func benchmark(b *testing.B, tree *scenario.Tree) {
	b.ReportAllocs()
	var a scenario.Answer
	for b.Loop() {
		a = answer(b, tree)
	}
	b.ReportMetric(100*(1 - *a.PolicyUSD / *a.BoundUSD), "gap_%")
	if a.ClairvoyantUSD != nil {
		b.ReportMetric(100*(*a.BoundUSD / *a.ClairvoyantUSD - 1), "bound_%")
	}
}

func answer(b *testing.B, tree *scenario.Tree) scenario.Answer {
	o := scenario.DefaultOptions()
	o.Workers = 2
	a, err := scenario.Solve(context.Background(), tree, o)
	if err != nil {
		b.Fatal(err)
	}
	return a
}
