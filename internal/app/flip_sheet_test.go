package app_test

import (
	"context"
	"regexp"
	"slices"
	"testing"

	"threshday/internal/app"
)

// The table at another bid is the one that a season file with that bid builds from the ground up.
func TestATableAtAnotherBidIsThatOfASeasonWithThatBid(t *testing.T) {
	r := demoRequest()
	r.Members = 4
	base, err := wired(t).BuildOf(context.Background(), r)
	if err != nil {
		t.Fatal(err)
	}
	got, err := base.AtBid(2, 960_000)
	if err != nil {
		t.Fatal(err)
	}
	r.Files = edited(t, `cash = "\$10.21"`, `cash = "$$9.60"`)
	want, err := wired(t).BuildOf(context.Background(), r)
	if err != nil {
		t.Fatal(err)
	}
	moved := 0
	for i, curve := range want.Table.Value {
		if !slices.EqualFunc(curve, got.Value[i], same) {
			t.Errorf("curve %d differs", i)
		}
		if !slices.EqualFunc(curve, base.Table.Value[i], same) {
			moved++
		}
	}
	if moved == 0 {
		t.Error("the bid moves nothing")
	}
	for d, row := range want.Table.Destinations {
		if row.Posted != got.Destinations[d].Posted {
			t.Errorf("%s is posted at %g, want %g", row.Name, got.Destinations[d].Posted, row.Posted)
		}
	}
}

// same holds two missing values equal.
func same(a, b float32) bool { return a == b || a != a && b != b }

var turned = regexp.MustCompile(`^(the bid of .+ (falls|rises) to about \$\d+\.\d\d, from \$\d+\.\d\d.*|(no )?rain comes before .+|it really stands at .+)$`)

// What would turn a field's answer never turns it to what it is already, and what holds is said only where nothing of its kind turns.
func TestWhatTurnsAnAnswerIsNotWhatHoldsIt(t *testing.T) {
	s := plan(t, demoRequest())
	said := 0
	for _, f := range s.Fields {
		for _, flip := range f.Flips {
			said++
			if !turned.MatchString(flip.If) {
				t.Errorf("%s: if %q", f.ID, flip.If)
			}
			if now := map[app.Advice]string{app.Cut: "cutting it today pays"}[f.Advice]; !f.TossUp && flip.Then == now {
				t.Errorf("%s: %s, and would be if %s: %s", f.ID, f.Advice, flip.If, flip.Then)
			}
		}
		said += len(f.Holds)
		if bids, rains := kinds(f); bids > 1 || rains > 1 {
			t.Errorf("%s turns and holds at once: %v %v", f.ID, f.Flips, f.Holds)
		}
	}
	if said == 0 {
		t.Error("nothing is said of any field")
	}
}

func kinds(f app.FieldAdvice) (bids, rains int) {
	count := func(text string) {
		switch {
		case regexp.MustCompile(`bid of`).MatchString(text):
			bids++
		case regexp.MustCompile(`rain|dry until`).MatchString(text):
			rains++
		}
	}
	for _, flip := range f.Flips {
		count(flip.If)
	}
	for _, text := range f.Holds {
		count(text)
	}
	return bids, rains
}
