package store_test

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"threshday/internal/core/journal"
	"threshday/internal/store"
)

// A world is a few loads that may look alike and what was said of them, drawn at random.
type world struct {
	loads  map[int]journal.Load
	events []journal.Event
	acts   map[journal.ID]said // by event
}

// said is one event about a load, as the model below reads it.
type said struct {
	act   journal.Act
	of    int
	saw   journal.ID
	into  int
	aside []journal.ID
}

func drawWorld(t *rapid.T) world {
	w := world{loads: map[int]journal.Load{}, acts: map[journal.ID]said{}}
	loads := rapid.IntRange(1, 5).Draw(t, "loads")
	shape := func(name string) func(*journal.Load) {
		ticket := rapid.SampledFrom([]string{"", "A", "B"}).Draw(t, name+" ticket")
		gross := rapid.Int64Range(60_000, 60_001).Draw(t, name+" gross")
		minute := rapid.SampledFrom([]int{0, 30, 61}).Draw(t, name+" minute")
		return func(l *journal.Load) {
			l.Ticket, l.Truck = ticket, "red"
			l.Weights.Gross = ptr(gross)
			l.In = ptr(start.Add(time.Duration(minute) * time.Minute))
		}
	}
	body := func(n int, name string) []byte { return loadBody(n, shape(name)) }
	for n := 1; n <= loads; n++ {
		e := event(n, "load.recorded", body(n, fmt.Sprint("load ", n)), journal.Outbox)
		w.events = append(w.events, e)
		w.loads[n], _ = journal.ReadLoad(e.Body)
	}
	for n := 10; n < 10+rapid.IntRange(0, 8).Draw(t, "sayings"); n++ {
		s := said{of: rapid.IntRange(1, loads).Draw(t, "of")}
		s.act = rapid.SampledFrom([]journal.Act{journal.Correct, journal.Correct, journal.Voided, journal.Merged, journal.Kept, journal.SetAside}).Draw(t, "act")
		some := func(name string) journal.ID { return id(rapid.SampledFrom(append(w.numbers(), s.of)).Draw(t, name)) }
		j := journal.Saying{Of: id(s.of)}
		switch s.act {
		case journal.Correct:
			s.saw = some("saw")
			j.Saw, j.To = s.saw, body(s.of, fmt.Sprint("correction ", n))
		case journal.Voided:
			j.Saw = id(s.of)
		case journal.Merged:
			s.into = rapid.IntRange(1, loads+1).Draw(t, "into") // the last of them never comes
			if s.into == s.of {
				continue
			}
			j.Into = id(s.into)
		case journal.SetAside:
			s.aside = []journal.ID{some("aside")}
			j.Events = s.aside
		default: // nothing for the others
		}
		e := say(n, journal.Of(journal.LoadSubject, s.act), j)
		w.events = append(w.events, e)
		w.acts[e.ID] = s
	}
	return w
}

func (w world) numbers() []int {
	var out []int
	for i := range w.events {
		var n int
		_, _ = fmt.Sscanf(string(w.events[i].ID[24:]), "%d", &n) // the IDs are made from numbers
		out = append(out, n)
	}
	return out
}

// counts returns what each load that counts weighs, by the rules of the book and by trying every pair.
func (w world) counts() map[int]int64 {
	aside := map[journal.ID]bool{}
	for _, s := range w.acts {
		for _, a := range s.aside {
			// What is said of one load sets nothing aside that was said of another.
			if about, ok := w.acts[a]; ok && about.of == s.of {
				aside[a] = true
			}
		}
	}
	current, live, kept := map[int]journal.Load{}, map[int]bool{}, map[int]bool{}
	into := map[[2]int]bool{}
	for n, l := range w.loads {
		current[n], live[n] = w.version(n, id(n), l, aside), true
	}
	for e, s := range w.acts {
		if aside[e] {
			continue
		}
		switch s.act {
		case journal.Voided:
			live[s.of] = false
		case journal.Kept:
			kept[s.of] = true
		case journal.Merged:
			into[[2]int{s.of, s.into}] = true
		default: // nothing for the others
		}
	}
	// reach[a, b]: merges lead from a to b over live loads.
	reach := map[[2]int]bool{}
	for pair := range into {
		reach[pair] = live[pair[1]]
	}
	for k := 1; k <= len(w.loads); k++ {
		for a := 1; a <= len(w.loads); a++ {
			for b := 1; b <= len(w.loads); b++ {
				reach[[2]int{a, b}] = reach[[2]int{a, b}] || reach[[2]int{a, k}] && reach[[2]int{k, b}]
			}
		}
	}
	merged := func(a int) bool {
		for b := 1; b <= len(w.loads); b++ {
			if b != a && reach[[2]int{a, b}] && (b < a || !reach[[2]int{b, a}]) {
				return true
			}
		}
		return false
	}
	out := map[int]int64{}
	for n, l := range current {
		net, known := l.Weights.Carried()
		if !live[n] || merged(n) || !known {
			continue
		}
		double := false
		for m := 1; m < n && !kept[n]; m++ {
			double = double || live[m] && !merged(m) && journal.LikenessOf(l).Same(journal.LikenessOf(current[m]))
		}
		if !double {
			out[n] = net
		}
	}
	return out
}

// version follows the corrections of load n from version v.
func (w world) version(n int, v journal.ID, l journal.Load, aside map[journal.ID]bool) journal.Load {
	var heirs []journal.Event
	for _, e := range w.events {
		if s, ok := w.acts[e.ID]; ok && s.act == journal.Correct && s.of == n && s.saw == v && !aside[e.ID] {
			heirs = append(heirs, e)
		}
	}
	if len(heirs) != 1 || heirs[0].ID == v {
		return l
	}
	s, _ := journal.ReadSaying(heirs[0])
	next, _ := journal.ReadLoad(s.To)
	return w.version(n, heirs[0].ID, next, aside)
}

// Whatever the order in which a set of entries arrives, and however often, the totals are those that follow from
// the set; and the tables made anew from the book are those that were there.
func TestTotalsFollowFromTheSetOfEntries(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	farms := 0
	rapid.Check(t, func(rt *rapid.T) {
		w := drawWorld(rt)
		want := w.counts()
		for range 2 {
			farms++
			farm := fmt.Sprint("farm-", farms)
			order := rapid.Permutation(w.events).Draw(rt, "order")
			order = append(order, order[:rapid.IntRange(0, len(order)).Draw(rt, "again")]...)
			for i := range order {
				order[i].Farm = farm
			}
			tally := s.Tally(farm)
			cut := rapid.IntRange(0, len(order)).Draw(rt, "cut")
			put(t, s, order[:cut]...)
			sameTotals(rt, s, tally, farm)
			put(t, s, order[cut:]...)
			sameTotals(rt, s, tally, farm)
			page, _, _, err := s.Loads(t.Context(), store.LoadQuery{Farm: farm})
			if err != nil {
				rt.Fatal(err)
			}
			whole, err := s.AllLoads(t.Context(), farm, 2031)
			if err != nil || !reflect.DeepEqual(whole, page) {
				rt.Fatalf("%v: all loads are %+v, a page %+v", err, whole, page)
			}
			got := map[int]int64{}
			for _, r := range page {
				if r.Counted {
					n := slices.Index([]journal.ID{"", id(1), id(2), id(3), id(4), id(5)}, r.ID)
					got[n], _ = r.Load.Weights.Carried()
				}
			}
			if fmt.Sprint(got) != fmt.Sprint(want) {
				rt.Fatalf("these count: %v; want %v; in the order %v of %v", got, want, world{events: order}.numbers(), w.acts)
			}
			var sum, parts int64
			for _, n := range want {
				sum += n
			}
			sums, err := s.LoadTotals(t.Context(), "field", store.LoadQuery{Farm: farm})
			if err != nil {
				rt.Fatal(err)
			}
			for _, one := range sums {
				parts += one.NetLb
			}
			if parts != sum {
				rt.Fatalf("fields add to %d, loads to %d", parts, sum)
			}
		}
	})
	if was, is, err := s.Rebuild(t.Context()); err != nil || was != is {
		t.Errorf("made anew the tables differ: %s, %s, %v", was, is, err)
	}
}

// sameTotals holds a tally against what the tables add up to, by every group and with every filter that halves the loads.
func sameTotals(t *rapid.T, s *store.Store, tally *store.Tally, farm string) {
	for _, q := range []store.LoadQuery{{}, {Field: "north-40"}, {CropYear: 2031}, {Outlet: "river"}, {Contract: "none"}, {Waiting: true}, {Crop: "corn"}, {From: day}, {Until: day.AddDays(-1)}} {
		q.Farm = farm
		for _, by := range []string{"", "outlet", "field", "crop", "contract", "day", "crop_year"} {
			want, err := s.LoadTotals(context.Background(), by, q)
			got, e := tally.Totals(context.Background(), by, q)
			if err != nil || e != nil || fmt.Sprint(got) != fmt.Sprint(want) {
				t.Fatalf("by %q of %+v the tally has %v, the tables %v; %v %v", by, q, got, want, e, err)
			}
		}
	}
}

// A void and a new record come to the same as a correction, in every total.
func TestVoidAndRecordAgainEqualsCorrect(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	farms := 0
	rapid.Check(t, func(rt *rapid.T) {
		gross := rapid.Int64Range(30_000, 90_000).Draw(rt, "gross")
		field := rapid.SampledFrom([]string{"north-40", "west"}).Draw(rt, "field")
		right := loadBody(1, func(l *journal.Load) {
			l.Weights.Gross, l.From = ptr(gross), []journal.Part{{Field: field, Share: 1}}
		})
		totals := func(events ...journal.Event) string {
			farms++
			for i := range events {
				events[i].Farm = fmt.Sprint("farm-", farms)
			}
			put(t, s, events...)
			out := ""
			for _, by := range []string{"", "outlet", "field", "crop", "day", "crop_year"} {
				sums, err := s.LoadTotals(t.Context(), by, store.LoadQuery{Farm: events[0].Farm})
				if err != nil {
					rt.Fatal(err)
				}
				out += fmt.Sprintln(by, sums)
			}
			return out
		}
		one := totals(load(1, nil), say(2, "load.corrected", journal.Saying{Of: id(1), Saw: id(1), To: right}))
		other := totals(load(1, nil), say(2, "load.voided", journal.Saying{Of: id(1), Saw: id(1)}), event(3, "load.recorded", right, journal.Outbox))
		if one != other {
			rt.Fatalf("corrected\n%s\nvoided and recorded again\n%s", one, other)
		}
	})
}
