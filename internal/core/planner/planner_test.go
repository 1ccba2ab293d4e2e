package planner

import (
	"context"
	"math"
	"reflect"
	"slices"
	"testing"

	"threshday/internal/core/worth"
)

func plan(t *testing.T, table *worth.Table, workers int) *Plan {
	t.Helper()
	p, err := Make(context.Background(), table, Settings{Workers: workers})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestCropThatOnlyLosesIsCutToday(t *testing.T) {
	w := world{
		fields: 1, members: 8, days: 10, perDay: 10, acres: 50, rate: 10, bu: 60,
		value: func(_, day, _, _ int) (float64, bool) { return 600 - 20*float64(day), true },
	}
	p := plan(t, w.table(), 1)
	if mean, _ := Mean(p.USD); math.Abs(mean-50*600) > 1 {
		t.Errorf("season earns %.0f, all of it today is worth 30000", mean)
	}
	for i, n := range WaitDays {
		got, _ := Mean(p.Waits[0][i].USD)
		if want := -20.0 * float64(n) * 50; math.Abs(got-want) > 1 {
			t.Errorf("waiting %d days is worth %.0f, the crop loses exactly %.0f", n, got, want)
		}
	}
	if len(p.Today) != 1 || math.Abs(p.Today[0].Acres-50) > 1e-9 || p.Today[0].From != 0 || math.Abs(p.Today[0].To-5) > 1e-9 {
		t.Errorf("today is %+v, want 50 acres in the first five hours", p.Today)
	}
}

func TestCropThatGainsIsLeftUntilItsBestDay(t *testing.T) {
	w := world{
		fields: 1, members: 8, days: 10, perDay: 10, acres: 50, rate: 10, bu: 60,
		value: func(_, day, _, _ int) (float64, bool) {
			return 600 + 30*float64(min(day, 3)) - 25*float64(max(day-3, 0)), true
		},
	}
	p := plan(t, w.table(), 1)
	if mean, _ := Mean(p.USD); math.Abs(mean-50*690) > 1 {
		t.Errorf("season earns %.0f, day 3 is worth 34500", mean)
	}
	if got, _ := Mean(p.Waits[0][3].USD); math.Abs(got-50*90) > 1 {
		t.Errorf("waiting 3 days is worth %.0f, want 4500", got)
	}
	if len(p.Today) != 0 {
		t.Errorf("cuts %+v today", p.Today)
	}
}

// Two fields and hours for one a day: the one that loses faster must go first. Both orders are tried by hand.
func TestFieldThatLosesFasterGoesFirst(t *testing.T) {
	value := func(_, day, f, _ int) (float64, bool) { return 600 - []float64{5, 60}[f]*float64(day), true }
	w := world{fields: 2, members: 8, days: 6, perDay: 10, acres: 100, rate: 10, bu: 60, value: value}
	p := plan(t, w.table(), 1)
	first0 := 100*600.0 + 100*540.0 // field 0 today, field 1 tomorrow
	first1 := 100*600.0 + 100*595.0
	best := math.Max(first0, first1)
	if mean, _ := Mean(p.USD); math.Abs(mean-best) > 1 {
		t.Errorf("earns %.0f, the better of both orders %.0f", mean, best)
	}
}

// Half the weathers rain from day 1 to the end: what a dry day is worth today must be known as a chance, and the plan
// must cut even though the dry half would gain by waiting.
func TestAChanceOfALostSeasonIsPricedIn(t *testing.T) {
	w := world{
		fields: 1, members: 16, days: 8, perDay: 10, acres: 50, rate: 10, bu: 60,
		value: func(m, day, _, _ int) (float64, bool) { return 600 + 30*float64(day), day == 0 || (m/4)%2 == 0 },
	}
	p := plan(t, w.table(), 1)
	if mean, _ := Mean(p.USD); mean < 50*600-1 {
		t.Errorf("earns %.0f, cutting all today earns 30000", mean)
	}
	if got, _ := Mean(p.Waits[0][1].USD); got > -50*200 {
		t.Errorf("waiting a day is worth %.0f, half the crop would be lost", got)
	}
}

func TestTheSameTableGivesTheSamePlanOnOneAndTwoWorkers(t *testing.T) {
	for seed := range uint64(20) {
		table := random(seed).table()
		if one, two := plan(t, table, 1), plan(t, table, 2); !reflect.DeepEqual(one, two) {
			t.Fatalf("world %d: plans differ\n%+v\n%+v", seed, one, two)
		}
	}
}

func TestThePlanIsNeverWorseThanARuleOfThumbOrDoingNothing(t *testing.T) {
	for seed := range uint64(40) {
		p := plan(t, random(seed).table(), 2)
		got, _ := Mean(p.USD)
		if got < 0 {
			t.Errorf("world %d loses money: %.2f", seed, got)
		}
		for _, s := range p.Simple[:3] {
			if mean, _ := Mean(s.USD); mean > got+1e-6 {
				t.Errorf("world %d: %q earns %.2f, the plan %.2f", seed, s.Name, mean, got)
			}
		}
	}
}

// An independent audit: replays the log of work against every limit of the table.
func TestAcresBushelsTrucksAndRoomBalance(t *testing.T) {
	for seed := range uint64(60) {
		table := random(seed).table()
		e := newEvaluator(table, Settings{Workers: 1})
		for _, rule := range append(learned(t, e), simpleRules[3].rule, simpleRules[4].rule) {
			logs := make([][]work, table.Members)
			usd, err := e.evaluate(context.Background(), rule, bends{}, func(m int, w work) {
				logs[m] = append(logs[m], w)
			})
			if err != nil {
				t.Fatal(err)
			}
			for m, log := range logs {
				audit(t, table, m, log, usd[m])
			}
		}
	}
}

func audit(t *testing.T, table *worth.Table, m int, log []work, usd float64) {
	t.Helper()
	cut := make([]float64, len(table.Fields))
	room := make([]float64, len(table.Destinations))
	trucks := map[int]float64{}
	hours := map[[2]int]float64{}
	money := 0.0
	for _, w := range log {
		i := table.At(m, w.Hour, w.Field)
		if !table.Workable[i] {
			t.Fatalf("member %d cuts field %d in hour %d, which is not workable", m, w.Field, w.Hour)
		}
		bu := float64(table.Bushels[w.Field][table.Moisture[i]]) * float64(table.Keep[i]) * float64(table.Crop[m*len(table.Fields)+w.Field]) * w.Acres
		if math.Abs(bu-w.Bushels) > 1e-6 {
			t.Fatalf("%v bushels from %v acres, want %v", w.Bushels, w.Acres, bu)
		}
		net, ok := table.Net(m, w.Hour, w.Field, w.Destination)
		if !ok {
			t.Fatalf("hauled to %d, which does not take it", w.Destination)
		}
		money += table.Earned(m, w.Field, net) * w.Acres
		cut[w.Field] += w.Acres
		room[w.Destination] += w.Bushels
		trucks[w.Hour] += w.Bushels * table.Fields[w.Field].TruckBu[w.Destination]
		hours[[2]int{w.Combine, w.Hour}] += w.Acres / table.Combines[w.Combine].Rate[w.Field]
	}
	const slack = 1e-6
	for f, acres := range cut {
		if acres > table.Fields[f].Acres+slack {
			t.Errorf("cut %v of %v acres in field %d", acres, table.Fields[f].Acres, f)
		}
	}
	for d, bu := range room {
		if bu > table.Destinations[d].Room+slack {
			t.Errorf("%v bushels into room for %v", bu, table.Destinations[d].Room)
		}
	}
	for h, used := range trucks {
		if used > table.TruckHours+slack {
			t.Errorf("hour %d uses %v truck hours of %v", h, used, table.TruckHours)
		}
	}
	for key, used := range hours {
		if used > 1+slack {
			t.Errorf("combine %d works %v hours in hour %d", key[0], used, key[1])
		}
	}
	if math.Abs(money-usd) > 0.01 {
		t.Errorf("member %d: work adds to %v, season says %v", m, money, usd)
	}
}

// Nothing a member does up to a day may change when everything after that day is replaced.
func TestADecisionNeverSeesItsMembersFuture(t *testing.T) {
	for seed := range uint64(30) {
		w := random(seed)
		const m = 3
		day := w.days / 2
		before := worksUntil(t, w.table(), m, day)
		plain := w.value
		other := random(seed + 1000).value
		w.value = func(mm, d, f, dd int) (float64, bool) {
			if mm == m && d > day {
				v, ok := other(0, 0, 0, 0)
				return v + float64(17*d+f), ok != (d%2 == 0)
			}
			return plain(mm, d, f, dd)
		}
		if after := worksUntil(t, w.table(), m, day); !reflect.DeepEqual(before, after) {
			t.Fatalf("world %d: member %d works differently before day %d when its future changes", seed, m, day+1)
		}
	}
}

func worksUntil(t *testing.T, table *worth.Table, m, day int) []work {
	t.Helper()
	e := newEvaluator(table, Settings{Workers: 1})
	var out []work
	for _, rule := range learned(t, e) {
		if _, err := e.evaluate(context.Background(), rule, bends{}, func(mm int, w work) {
			if mm == m && table.Day[w.Hour] <= day {
				out = append(out, w)
			}
		}); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func TestCancelledPlanningSaysSo(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Make(ctx, random(1).table(), Settings{Workers: 1}); err == nil {
		t.Error("a cancelled plan came back without an error")
	}
}

// learned returns the plain rules and those of two rounds of learning.
func learned(t *testing.T, e *evaluator) []Rule {
	t.Helper()
	rules := append([]Rule(nil), plain...)
	for round := 1; round <= 2; round++ {
		e.exp = append(e.exp, e.learn(rules[len(rules)-1]))
		rules = append(rules, Rule{Order: ByLoss, Round: round, Margin: margins[1]})
	}
	return rules
}

func TestNoPlanEarnsMoreThanTheBoundOfForesight(t *testing.T) {
	for seed := range uint64(40) {
		table := random(seed).table()
		e := newEvaluator(table, Settings{Workers: 1})
		f := e.foresight()
		for _, rule := range learned(t, e) {
			usd, err := e.evaluate(context.Background(), rule, bends{}, nil)
			if err != nil {
				t.Fatal(err)
			}
			for i, m := range f.Members {
				if usd[m] > f.USD[i]*(1+1e-9) {
					t.Errorf("world %d member %d: %+v earns %.2f, perfect foresight at most %.2f", seed, m, rule, usd[m], f.USD[i])
				}
			}
		}
	}
}

// Two fields, hours for one a day, no other limit: the best is known, and the bound must come close to it.
func TestTheBoundOfForesightIsNearTheBestWhereThatIsKnown(t *testing.T) {
	value := func(_, day, f, _ int) (float64, bool) { return 600 - []float64{5, 60}[f]*float64(day), true }
	w := world{fields: 2, members: 8, days: 6, perDay: 10, acres: 100, rate: 10, bu: 60, value: value}
	e := newEvaluator(w.table(), Settings{Workers: 1})
	const best = 100*600.0 + 100*595.0
	for _, usd := range e.foresight().USD {
		if usd < best-1 || usd > best*1.005 {
			t.Errorf("the bound is %.0f, the best plan earns %.0f", usd, best)
		}
	}
}

// One combine for two fields that each lose 60 dollars a day: a second one saves the second field its day.
func TestAnotherCombineIsWorthTheDayItSaves(t *testing.T) {
	w := world{
		fields: 2, members: 8, days: 6, perDay: 10, acres: 100, rate: 10, bu: 60, trucks: 100, truckBu: 0.001,
		value: func(_, day, _, _ int) (float64, bool) { return 600 - 60*float64(day), true },
	}
	for _, m := range plan(t, w.table(), 1).OneMore {
		got, _ := Mean(m.USD)
		switch {
		case m.Combine == 0 && math.Abs(got-100*60) > 1:
			t.Errorf("another combine earns %.0f, it saves 6000", got)
		case m.Truck && math.Abs(got) > 1e-6:
			t.Errorf("another truck earns %.2f where trucks stand idle", got)
		}
	}
}

// One day for two days of work leaves half of it standing; another combine leaves nothing, another truck as much.
func TestWhatOneMoreWouldLeave(t *testing.T) {
	w := world{
		fields: 2, members: 8, days: 1, perDay: 10, acres: 100, rate: 10, bu: 60, trucks: 100, truckBu: 0.001,
		value: func(_, _, _, _ int) (float64, bool) { return 600, true },
	}
	for _, m := range plan(t, w.table(), 1).OneMore {
		want := 100.0
		if m.Combine == 0 {
			want = 0
		}
		if got := m.Left[0] + m.Left[1]; math.Abs(got-want) > 1e-6 {
			t.Errorf("%+v: %.1f acres left, want %.0f", m, got, want)
		}
	}
}

// What is only run must not change what is chosen: the rest of the table decides as if it were not there.
func TestMembersApartAreNotChosenOn(t *testing.T) {
	for seed := range uint64(10) {
		w := random(seed)
		w.members = 16
		w.crop = w.crop[:w.members*w.fields]
		alone := plan(t, w.table(), 1)
		const apart = 4
		w.members += apart
		w.crop = append(w.crop, make([]float32, apart*w.fields)...)
		for i := len(w.crop) - apart*w.fields; i < len(w.crop); i++ {
			w.crop[i] = 1
		}
		table := w.table()
		for m := w.members - apart; m < w.members; m++ {
			table.Source[m] = "apart"
		}
		both, err := Make(context.Background(), table, Settings{Workers: 1, Apart: apart, Brief: true})
		if err != nil {
			t.Fatal(err)
		}
		if both.Rule != alone.Rule || !reflect.DeepEqual(both.USD[:16], alone.USD) {
			t.Errorf("world %d: %+v alone, %+v with others run beside", seed, alone.Rule, both.Rule)
		}
	}
}

// Where no acre costs anything to cut, all prices doubled double what every season earns, and so what waiting is worth.
func TestWaitingAtOtherPricesIsTheSameSeasonsAddedUpAnew(t *testing.T) {
	for seed := range uint64(6) {
		base := random(seed).table()
		double := *base
		double.Value = nil
		for _, curve := range base.Value {
			other := slices.Clone(curve)
			for i := range other {
				other[i] *= 2
			}
			double.Value = append(double.Value, other)
		}
		alone, err := Make(context.Background(), base, Settings{Workers: 2})
		if err != nil {
			t.Fatal(err)
		}
		with, err := Make(context.Background(), base, Settings{Workers: 1, Repriced: []*worth.Table{&double, base}})
		if err != nil {
			t.Fatal(err)
		}
		for f, waits := range with.Waits {
			for n, w := range waits {
				if !slices.Equal(w.USD, alone.Waits[f][n].USD) {
					t.Errorf("seed %d, field %d: other prices change what waiting is worth at these", seed, f)
				}
				for m, usd := range w.USD {
					if math.Abs(w.Repriced[0][m]-2*usd) > 1e-6*(1+math.Abs(usd)) || w.Repriced[1][m] != usd {
						t.Errorf("seed %d, field %d, %d days, member %d: %g, at twice the prices %g, at the same %g", seed, f, w.Days, m, usd, w.Repriced[0][m], w.Repriced[1][m])
					}
				}
			}
		}
	}
}
