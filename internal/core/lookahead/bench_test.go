package lookahead

import (
	"context"
	"testing"
)

// sizes are those of benchmarks: fields, days, destinations; twenty weathers.
var sizes = []struct {
	name                       string
	fields, days, destinations int
}{
	{"S", 12, 20, 4},
	{"M", 30, 30, 5},
	{"L", 60, 45, 6},
	{"Lh14", 60, 14, 6},
}

func ofSize(k int) *Program {
	s := sizes[k]
	set := DefaultSettings()
	set.Members = 4
	p := &Program{t: tableOf(fan(s.fields, s.days, s.destinations, 20, 1)), set: set}
	return p
}

// BenchmarkTwoStage lays out and solves the programs of five batches of four weathers and of all twenty.
func BenchmarkTwoStage(b *testing.B) {
	for k, s := range sizes {
		b.Run(s.name, func(b *testing.B) {
			p := ofSize(k)
			b.ReportAllocs()
			for b.Loop() {
				p = program(b, p.t, p.set)
			}
			pivots := p.main.best.Pivots
			for _, part := range p.batches {
				pivots += part.best.Pivots
			}
			b.ReportMetric(float64(pivots), "pivots")
			b.ReportMetric(float64(p.main.lp.Columns()), "columns")
			b.ReportMetric(float64(p.main.lp.Rows()), "rows")
		})
	}
}

// BenchmarkWaitTable values five delays of every field.
func BenchmarkWaitTable(b *testing.B) {
	for k, s := range sizes {
		b.Run(s.name, func(b *testing.B) {
			p := ofSize(k)
			p = program(b, p.t, p.set)
			var asks []Ask
			for f := range s.fields {
				asks = append(asks, Ask{f, 5})
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := p.Waits(context.Background(), []int{1, 2, 3, 5, 7}, asks); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
