package lookahead

import (
	"context"
	"errors"
	"math"
	"reflect"
	"testing"

	"threshday/internal/core/linear"
	"threshday/internal/core/scenario"
)

// Where weathers part on the second day, knowing each from then on is no foresight: the program's value is the season's exact one,
// and its waiting values are exact too. Both are worked out anew by package scenario from the tree.
func TestAFanIsWorthWhatItsTreeIs(t *testing.T) {
	waits := 0
	for seed := range uint64(30) {
		tree := fan(2+int(seed%6), 3+int(seed%9), 1+int(seed%3), 1+int(seed%11), seed)
		o := scenario.DefaultOptions()
		o.SharedDays = 1
		want, err := scenario.Solve(context.Background(), tree, o)
		if err != nil {
			t.Fatal(err)
		}
		p := program(t, tableOf(tree), whole())
		got, bound := p.USD()
		if off(got, *want.ExactUSD) > 1e-6 || off(bound, *want.ExactUSD) > 1e-6 {
			t.Errorf("fan %d: program %.4f, its bound %.4f, the tree %.4f", seed, got, bound, *want.ExactUSD)
		}
		for _, w := range want.Wait {
			mine, err := p.Waits(context.Background(), []int{1}, []Ask{{w.Field, w.Acres}})
			if err != nil {
				t.Fatal(err)
			}
			if usd := mine[0][0].USD / w.Acres; math.Abs(usd-w.USDPerAcre) > 0.01 {
				t.Errorf("fan %d: waiting with field %d is worth %.3f an acre, on the tree %.3f", seed, w.Field, usd, w.USDPerAcre)
			}
			waits++
		}
	}
	if waits < 60 {
		t.Errorf("only %d waiting values were compared", waits)
	}
}

// One field of 100 acres at 10 an hour, ten hours a day; half the weathers rain from tomorrow on. Waiting a day gains 30 an acre
// in the dry half and loses all in the wet one: worth (630 - 600)/2 - 600/2 an acre.
func TestAChanceOfALostSeasonIsWeighed(t *testing.T) {
	tree := coin(600, 630)
	p := program(t, tableOf(tree), whole())
	if usd, _ := p.USD(); off(usd, 100*600) > 1e-9 {
		t.Errorf("the season is worth %.2f, all of it today 60000", usd)
	}
	waits, err := p.Waits(context.Background(), []int{1, 2}, []Ask{{0, 100}})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := waits[0][0].USD, 100*(630.0/2-600); off(got, want) > 1e-9 {
		t.Errorf("waiting a day is worth %.2f, by hand %.2f", got, want)
	}
	if got, want := waits[0][1].USD, -100*600.0; off(got, want) > 1e-9 {
		t.Errorf("waiting past the last day is worth %.2f, by hand %.2f", got, want)
	}
}

// coin is a season of two days: one field, one outlet, today worth so much an acre in both weathers, tomorrow so much in one.
func coin(today, tomorrow float64) *scenario.Tree {
	return &scenario.Tree{
		Days: 2, Blocks: 1, BlockHours: hoursOfDay, Speeds: []float64{1}, TruckHours: 1000,
		Fields:              []scenario.Field{{Acres: 100, BushelsPerAcre: 50, AcresPerHour: 10}},
		Destinations:        []scenario.Destination{{DayBushels: []float64{1e6, 1e6}, TotalBushels: math.Inf(1)}},
		TruckHoursPerBushel: []float64{0.001},
		Nodes: []scenario.Node{
			{Parent: -1, Probability: 1, Blocks: []scenario.Block{{Share: 1, Net: []float64{today}}}},
			{Day: 1, Probability: 0.5, Blocks: []scenario.Block{{Share: 1, Net: []float64{tomorrow}}}},
			{Day: 1, Probability: 0.5, Blocks: make([]scenario.Block, 1)},
		},
	}
}

// Where today ends after so many hours in one weather, what is planned for the whole day is cut there in that part.
func TestAShortDayCutsItsShareOfThePlan(t *testing.T) {
	table := tableOf(coin(600, 300))
	for h := 4; h < hoursOfDay; h++ {
		table.Workable[table.At(1, h, 0)] = false
	}
	p := program(t, table, whole())
	if got := p.Today(); len(got) != 1 || off(got[0].Acres, 100) > 1e-9 || off(got[0].Mean, 70) > 1e-9 {
		t.Fatalf("today is %+v, want 100 acres in a whole day, 70 in the mean", got)
	}
	// The first weather has its 100 acres cut today; the second 40, and rain for the rest.
	if usd, _ := p.USD(); off(usd, 600*70) > 1e-9 {
		t.Errorf("worth %.2f, by hand 42000", usd)
	}
}

// Another unit earns no more than its price, and the last one no less: by solving with one more and one less of each.
func TestPricesLieBetweenOneMoreAndOneLess(t *testing.T) {
	checked := 0
	for seed := range uint64(12) {
		p := program(t, tableOf(fan(5, 7, 3, 6, seed)), whole())
		m := p.main
		for _, rows := range rowsToPrice(p) {
			price, step := 0.0, 0.01
			for _, row := range rows {
				price += m.best.RowDual[row]
			}
			more, less := moved(t, m, rows, step), moved(t, m, rows, -step)
			up, down := (more-m.best.Objective)/step, (m.best.Objective-less)/step
			if price < up-0.01 || price > down+0.01 {
				t.Errorf("fan %d: priced at %.4f, one more earns %.4f, one less costs %.4f", seed, price, up, down)
			}
			if down > 0.01 {
				checked++
			}
		}
	}
	if checked < 20 {
		t.Errorf("only %d prices were not zero", checked)
	}
}

// rowsToPrice lists the rows of all members together: today's combine hours, trucks and places, and rooms.
func rowsToPrice(p *Program) [][]int {
	var out [][]int
	add := func(row func(b *block) int) {
		var rows []int
		for i := range p.main.blocks {
			if r := row(&p.main.blocks[i]); r >= 0 {
				rows = append(rows, r)
			}
		}
		if len(rows) > 0 {
			out = append(out, rows)
		}
	}
	add(func(b *block) int { return b.hours[0][0] })
	add(func(b *block) int { return b.hours[0][1] })
	add(func(b *block) int { return b.trucks[0] })
	for d := range p.t.Destinations {
		add(func(b *block) int { return b.sites[d][0] })
		add(func(b *block) int { return b.rooms[d] })
	}
	return out
}

func moved(t *testing.T, p *part, rows []int, by float64) float64 {
	t.Helper()
	lp := p.lp.Clone()
	for _, row := range rows {
		low, high := lp.Row(row)
		lp.SetRow(row, low, max(0, high+by))
	}
	sol := lp.Solve(context.Background(), linear.Options{Start: &p.best.Basis})
	if sol.Status != linear.Optimal {
		t.Fatal(sol.Status)
	}
	return sol.Objective
}

func TestTheSameTableGivesTheSameBitsOnOneAndTwoWorkers(t *testing.T) {
	for seed := range uint64(6) {
		table := tableOf(fan(6, 12, 3, 20, seed))
		var got [2][]any
		for i := range got {
			p := program(t, table, Settings{Workers: 1 + i, Batches: 4, Members: 4, Take: Fair})
			waits, err := p.Waits(context.Background(), []int{1, 2, 3}, []Ask{{0, 9}, {3, 9}, {5, 9}})
			if err != nil {
				t.Fatal(err)
			}
			usd, bound := p.USD()
			got[i] = []any{usd, bound, p.Today(), p.Members(), p.Prices(), waits}
		}
		if !reflect.DeepEqual(got[0], got[1]) {
			t.Fatalf("fan %d: %+v on one worker, %+v on two", seed, got[0], got[1])
		}
	}
}

func TestMembersSetApartAreNotLookedAt(t *testing.T) {
	table := tableOf(fan(4, 8, 2, 16, 3))
	set := Settings{Workers: 1, Batches: 3, Members: 4, Apart: 4, Take: Fair}
	before := program(t, table, set)
	for i := table.At(12, 0, 0); i < len(table.Workable); i++ {
		table.Workable[i] = !table.Workable[i]
	}
	if after := program(t, table, set); !reflect.DeepEqual(before.Today(), after.Today()) || !reflect.DeepEqual(before.Prices(), after.Prices()) {
		t.Error("what is done today hangs on a weather that was set apart")
	}
}

// Knowing each member's weather from today on is worth no less than from tomorrow on, and batches no less than all together.
func TestFewerWeathersInOneProgramEarnMore(t *testing.T) {
	for seed := range uint64(10) {
		p := program(t, tableOf(fan(5, 9, 3, 12, seed)), Settings{Workers: 1, Batches: 3, Members: 4, Take: Best})
		alone := 0.0
		for _, b := range p.batches {
			alone += b.best.Objective / float64(len(p.batches))
		}
		if usd, _ := p.USD(); usd > alone*(1+1e-9)+1e-6 {
			t.Errorf("fan %d: all together earn %.4f, batches %.4f", seed, usd, alone)
		}
	}
}

func TestNothingIsAnsweredOnceCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	table := tableOf(fan(3, 5, 2, 4, 1))
	if _, err := New(ctx, table, whole()); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	p := program(t, table, whole())
	if _, err := p.Waits(ctx, []int{1}, []Ask{{0, 5}}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}
