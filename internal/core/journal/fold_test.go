package journal_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/journal"
)

// id returns a fixed event ID for the tests.
func id(n int) journal.ID { return journal.ID(fmt.Sprintf("00000000-0000-7000-8000-%012d", n)) }

func say(n int, act journal.Act, s journal.Saying) journal.Event {
	s.Reason = "test"
	return journal.Event{Farm: "home", ID: id(n), Kind: journal.Of(journal.LoadSubject, act), Body: journal.SayingBody(act, s)}
}

// load is a record with one number in it, as event n or as the body of a correction.
func load(net int64) []byte {
	return journal.LoadBody(journal.Load{
		Outlet: "elevator", Crop: 2, CropYear: 2031, Day: day, Weights: journal.Weights{Unit: journal.Pounds, Net: &net},
	})
}

func recorded(n int, net int64) journal.Event {
	return journal.Event{Farm: "home", ID: id(n), Kind: "load.recorded", Body: load(net)}
}

func corrected(n, of, saw int, net int64) journal.Event {
	return say(n, journal.Correct, journal.Saying{Of: id(of), Saw: id(saw), To: load(net)})
}

func net(t interface{ Fatal(...any) }, r journal.Record) int64 {
	l, err := journal.ReadLoad(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	n, _ := l.Weights.Carried()
	return n
}

func TestWhatARecordAmountsTo(t *testing.T) {
	first := recorded(1, 100)
	for _, c := range []struct {
		name   string
		events []journal.Event
		state  journal.State
		net    int64
		rivals int
		loose  int
	}{
		{"recorded", []journal.Event{first}, journal.Live, 100, 0, 0},
		{"corrected", []journal.Event{first, corrected(2, 1, 1, 200)}, journal.Live, 200, 0, 0},
		{"corrected twice, one after the other", []journal.Event{first, corrected(2, 1, 1, 200), corrected(3, 1, 2, 300)}, journal.Live, 300, 0, 0},
		{"two corrections of one version", []journal.Event{first, corrected(2, 1, 1, 200), corrected(3, 1, 1, 300)}, journal.Live, 100, 2, 0},
		{
			"one of the two is set aside", []journal.Event{
				first, corrected(2, 1, 1, 200), corrected(3, 1, 1, 300),
				say(4, journal.SetAside, journal.Saying{Of: id(1), Events: []journal.ID{id(2)}}),
			}, journal.Live, 300, 0, 0,
		},
		{
			"two people set aside each other's", []journal.Event{
				first, corrected(2, 1, 1, 200), corrected(3, 1, 1, 300),
				say(4, journal.SetAside, journal.Saying{Of: id(1), Events: []journal.ID{id(2)}}),
				say(5, journal.SetAside, journal.Saying{Of: id(1), Events: []journal.ID{id(3)}}),
			}, journal.Live, 100, 0, 0,
		},
		{"voided", []journal.Event{first, say(2, journal.Voided, journal.Saying{Of: id(1), Saw: id(1)})}, journal.Void, 100, 0, 0},
		{
			"the void is set aside", []journal.Event{
				first, say(2, journal.Voided, journal.Saying{Of: id(1), Saw: id(1)}),
				say(3, journal.SetAside, journal.Saying{Of: id(1), Events: []journal.ID{id(2)}}),
			}, journal.Live, 100, 0, 0,
		},
		{
			"a correction of a voided record changes nothing that counts", []journal.Event{
				first, say(2, journal.Voided, journal.Saying{Of: id(1), Saw: id(1)}), corrected(3, 1, 1, 300),
			}, journal.Void, 300, 0, 0,
		},
		{"a correction of a version not in the book", []journal.Event{first, corrected(2, 1, 9, 200)}, journal.Live, 100, 0, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := journal.Fold(id(1), c.events)
			if r.State != c.state || net(t, r) != c.net || len(r.Rivals) != c.rivals || len(r.Loose) != c.loose {
				t.Errorf("got %s %d, %d rivals, %d loose; want %s %d, %d, %d",
					r.State, net(t, r), len(r.Rivals), len(r.Loose), c.state, c.net, c.rivals, c.loose)
			}
		})
	}
}

func TestACorrectionThatComesFirstWaits(t *testing.T) {
	r := journal.Fold(id(1), []journal.Event{corrected(2, 1, 1, 200)})
	if r.State != journal.Waiting || r.Body != nil || !slices.Equal(r.Loose, []journal.ID{id(2)}) {
		t.Errorf("got %+v, want a record that waits with one loose correction", r)
	}
}

// drawEvents returns a record and up to nine things said of it, at random: corrections of any version, voids,
// merges, keeps, and settings aside of any of them.
func drawEvents(t *rapid.T) []journal.Event {
	events := []journal.Event{recorded(1, 100)}
	for n := 2; n <= rapid.IntRange(1, 10).Draw(t, "events"); n++ {
		some := func(name string) int { return rapid.IntRange(1, n-1).Draw(t, name) }
		switch rapid.IntRange(0, 5).Draw(t, "act") {
		case 0:
			events = append(events, say(n, journal.Voided, journal.Saying{Of: id(1), Saw: id(some("saw"))}))
		case 1:
			events = append(events, say(n, journal.SetAside, journal.Saying{Of: id(1), Events: []journal.ID{id(some("aside"))}}))
		case 2:
			events = append(events, say(n, journal.Merged, journal.Saying{Of: id(1), Into: id(100 + n)}))
		case 3:
			events = append(events, say(n, journal.Kept, journal.Saying{Of: id(1)}))
		default:
			events = append(events, corrected(n, 1, some("saw"), int64(100*n)))
		}
	}
	return events
}

func TestTheOrderOfArrivalDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		events := drawEvents(t)
		want := fmt.Sprint(journal.Fold(id(1), events))
		if got := fmt.Sprint(journal.Fold(id(1), rapid.Permutation(events).Draw(t, "order"))); got != want {
			t.Fatalf("got %s, want %s", got, want)
		}
	})
}

// What the record stands at follows from the events by plain rules, tried here one candidate at a time.
func TestTheVersionThatStandsIsReachedWithoutADispute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		events := drawEvents(t)
		r := journal.Fold(id(1), events)
		aside := map[journal.ID]bool{}
		saw := map[journal.ID]journal.ID{}
		for _, e := range events[1:] {
			s, err := journal.ReadSaying(e)
			if err != nil {
				t.Fatal(err)
			}
			for _, x := range s.Events {
				aside[x] = true
			}
			if _, act, _ := e.Kind.Split(); act == journal.Correct {
				saw[e.ID] = s.Saw
			}
		}
		heirs := func(v journal.ID) (n int) {
			for e, s := range saw {
				if s == v && !aside[e] {
					n++
				}
			}
			return n
		}
		// Back from the version that stands to the first: each step was the only one there was.
		for v := r.Version; v != id(1); v = saw[v] {
			if aside[v] || heirs(saw[v]) != 1 {
				t.Fatalf("%s stands, by way of %s, which is set aside or disputed", r.Version, v)
			}
		}
		if n := heirs(r.Version); n == 1 || n != len(r.Rivals) {
			t.Fatalf("%s stands with %d corrections and %d rivals", r.Version, n, len(r.Rivals))
		}
	})
}

func TestVoidThenRecordAgainEqualsCorrect(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		before, after := rapid.Int64Range(1, 1e5).Draw(t, "before"), rapid.Int64Range(1, 1e5).Draw(t, "after")
		total := func(records ...journal.Record) (sum int64) {
			for _, r := range records {
				if r.State == journal.Live {
					sum += net(t, r)
				}
			}
			return sum
		}
		one := journal.Fold(id(1), []journal.Event{recorded(1, before), corrected(2, 1, 1, after)})
		gone := journal.Fold(id(1), []journal.Event{recorded(1, before), say(2, journal.Voided, journal.Saying{Of: id(1), Saw: id(1)})})
		anew := journal.Fold(id(3), []journal.Event{recorded(3, after)})
		if total(one) != total(gone, anew) {
			t.Fatalf("corrected %d, voided and recorded again %d", total(one), total(gone, anew))
		}
	})
}

func TestPartsOfALoadAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weight := rapid.Int64Range(0, 1e9).Draw(t, "net")
		var parts []journal.Part
		var whole int64
		for i := range rapid.IntRange(1, 20).Draw(t, "parts") {
			parts = append(parts, journal.Part{Field: fmt.Sprint(i), Share: rapid.Int64Range(1, 1e9).Draw(t, "share")})
			whole += parts[i].Share
		}
		var sum int64
		for i, n := range journal.Apportion(weight, parts) {
			sum += n
			if floor := weight * parts[i].Share / whole; n != floor && n != floor+1 {
				t.Fatalf("part %d is %d, its share is %d or one more", i, n, floor)
			}
		}
		if sum != weight {
			t.Fatalf("parts add to %d, the load is %d", sum, weight)
		}
	})
}

func TestDiffNamesWhatChanged(t *testing.T) {
	got := fmt.Sprint(journal.Diff(load(78_420), load(78_240)))
	if want := "[{net_lb 78420 78240}]"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
