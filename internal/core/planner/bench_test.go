package planner

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"threshday/internal/core/worth"
)

// A size is that of a farm; its table is for benchmarks like those of a season: hourly, dews and wet spells of the whole farm, fields that dry and lose,
// an outlet that closes in the evening, a contract with little room, a bin.
type size struct{ fields, days, members int }

var sizes = []struct {
	name string
	size
}{{"S", size{12, 20, 100}}, {"M", size{30, 30, 100}}, {"L", size{60, 45, 100}}}

const benchDestinations = 6

func (z size) table() *worth.Table {
	r := rand.New(rand.NewPCG(1, uint64(z.fields)))
	t := &worth.Table{Hours: 24 * z.days, Members: z.members, TruckHours: 3 + float64(z.fields)/15, Carts: 2}
	runs, day := make([]bool, t.Hours), make([]bool, t.Hours)
	for h := range t.Hours {
		t.Day = append(t.Day, h/24)
		runs[h], day[h] = h%24 >= 8 && h%24 < 22, h%24 >= 7 && h%24 < 19
	}
	for m := range z.members {
		t.Source = append(t.Source, fmt.Sprint("year ", m%5))
	}
	for d := range benchDestinations {
		row := worth.DestinationRow{Site: d, Open: runs, Room: math.Inf(1), Posted: 4 - 0.1*float64(d)}
		switch d {
		case 0:
			row.Room = 150 * float64(z.fields) * 10
		case 1, 2:
			row.Open = day
		case 3:
			row.Room = 2000 * float64(z.fields)
		}
		t.Sites = append(t.Sites, worth.SiteRow{PerHour: 4000, PerDay: math.Inf(1)})
		t.Destinations = append(t.Destinations, row)
	}
	for range z.fields {
		f := worth.FieldRow{Acres: 40 + 100*r.Float64(), CutCost: 15, Deadline: z.days - 1}
		bu, miles := make([]float32, worth.GridLen), 2+20*r.Float64()
		yield := 60 + 130*r.Float64()
		for i := range bu {
			bu[i] = float32(yield)
		}
		for d := range benchDestinations {
			f.TruckBu = append(f.TruckBu, (0.5+miles*(1+0.3*float64(d))/20)/900)
			curve := make([]float32, worth.GridLen)
			for i := range curve {
				over := max(0, worth.GridPct(i)-15)
				curve[i] = float32(yield * (4 - 0.1*float64(d) - 0.06*over))
			}
			t.Value = append(t.Value, curve)
		}
		t.Fields, t.Bushels = append(t.Fields, f), append(t.Bushels, bu)
	}
	for range 2 + z.fields/30 {
		c := worth.CombineRow{Runs: runs, StartIn: -1}
		move := make([][]float64, z.fields+1)
		for i := range move {
			move[i] = make([]float64, z.fields)
			for j := range move[i] {
				if i != j {
					move[i][j] = 0.3 + 0.7*r.Float64()
				}
			}
		}
		for range z.fields {
			c.Rate = append(c.Rate, 8+5*r.Float64())
		}
		t.Combines, t.MoveHours = append(t.Combines, c), append(t.MoveHours, move)
	}
	z.weather(t)
	return t
}

// weather fills the cells: wet days follow wet days, dew keeps the morning, grain dries by day, wets in rain and loses with time.
func (z size) weather(t *worth.Table) {
	n := z.members * t.Hours * z.fields
	t.Workable, t.Wet = make([]bool, n), make([]bool, n)
	t.Moisture, t.Keep = make([]uint16, n), make([]float32, n)
	t.Crop = make([]float32, z.members*z.fields)
	for m := range z.members {
		r := rand.New(rand.NewPCG(2, uint64(m)))
		pct := make([]float64, z.fields)
		start := rand.New(rand.NewPCG(3, 3))
		for f := range pct {
			pct[f] = 14 + 12*start.Float64() + r.Float64()
			t.Crop[m*z.fields+f] = float32(0.85 + 0.3*r.Float64())
		}
		wet, lost := false, 0.0
		for h := range t.Hours {
			if h%24 == 0 {
				wet = r.Float64() < 0.2 || wet && r.Float64() < 0.4
			}
			dew := h%24 < 9+m%3
			if lost += 0.0002; wet {
				lost += 0.0004
			}
			for f := range pct {
				if wet {
					pct[f] += 0.03
				} else if !dew {
					pct[f] -= 0.004 * (pct[f] - 12)
				}
				i := t.At(m, h, f)
				t.Wet[i] = wet || dew
				t.Workable[i] = !t.Wet[i] && pct[f] < 20
				t.Moisture[i], t.Keep[i] = worth.GridIndex(pct[f]), float32(1-lost)
			}
		}
	}
}

func BenchmarkMake(b *testing.B) {
	for _, z := range sizes {
		b.Run(z.name, func(b *testing.B) {
			table := z.table()
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Make(context.Background(), table, Settings{Workers: 2}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// One evaluation is a season in each member. Twice the fields, members or days must not take much more than twice the time.
func BenchmarkEvaluate(b *testing.B) {
	m := sizes[1].size
	for _, z := range append(sizes, []struct {
		name string
		size
	}{
		{"fields x 2", size{2 * m.fields, m.days, m.members}}, {"days x 2", size{m.fields, 2 * m.days, m.members}}, {"members x 2", size{m.fields, m.days, 2 * m.members}},
	}...) {
		b.Run(z.name, func(b *testing.B) {
			e := newEvaluator(z.table(), Settings{Workers: 1})
			b.ReportAllocs()
			for b.Loop() {
				if _, err := e.evaluate(context.Background(), Rule{Order: ByLoss, Margin: 0.15}, bends{}, nil); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*z.members*z.days*z.fields), "ns/member-day-field")
		})
	}
}

func TestASeasonAllocatesNothing(t *testing.T) {
	e := newEvaluator(sizes[0].table(), Settings{Workers: 1})
	s := e.state(0)
	run := func() { e.season(s, 7, Rule{Order: ByLoss, Margin: 0.15}, bends{}, nil) }
	if n := testing.AllocsPerRun(20, run); n > 0 {
		t.Errorf("a season allocates %.0f times", n)
	}
}
