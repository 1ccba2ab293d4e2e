package quantity_test

import (
	"errors"
	"testing"
	"time"
	_ "time/tzdata"

	"pgregory.net/rapid"

	"threshday/internal/core/problem"
	"threshday/internal/feeds/quantity"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// The changes of the clock are those of the IANA time zone database.
func TestLocalTimesMayBeSkippedOrComeTwice(t *testing.T) {
	for _, c := range []struct{ zone, text, want, rule string }{
		{"America/Chicago", "2026-09-14 07:10", "2026-09-14T12:10:00Z", ""},
		{"America/Chicago", "2026-09-14T07:10:30", "2026-09-14T12:10:30Z", ""},
		{"America/Chicago", "2026-12-14 07:10", "2026-12-14T13:10:00Z", ""},
		{"America/Chicago", "2026-03-08 01:59", "2026-03-08T07:59:00Z", ""},
		{"America/Chicago", "2026-03-08 02:30", "", "time.gap"},
		{"America/Chicago", "2026-03-08 03:00", "2026-03-08T08:00:00Z", ""},
		{"America/Chicago", "2026-11-01 00:59", "2026-11-01T05:59:00Z", ""},
		{"America/Chicago", "2026-11-01 01:30", "", "time.twice"},
		{"America/Chicago", "2026-11-01 02:00", "2026-11-01T08:00:00Z", ""},
		{"America/Chicago", "2026-11-01T01:30:00-06:00", "2026-11-01T07:30:00Z", ""},
		{"Australia/Lord_Howe", "2026-04-05 01:45", "", "time.twice"}, // half an hour back at 02:00
		{"Australia/Lord_Howe", "2026-10-04 02:15", "", "time.gap"},
		{"Pacific/Apia", "2011-12-30 12:00", "", "time.gap"}, // the day that was left out
		{"UTC", "2026-03-08 02:30", "2026-03-08T02:30:00Z", ""},
		{"UTC", "2026-02-30 02:30", "", "time.form"},
		{"UTC", "2026-09-14", "", "time.form"},
		{"UTC", "07:10", "", "time.form"},
		{"UTC", "14.09.2026 07:10", "", "time.form"},
	} {
		got, err := quantity.ParseInstant("At", c.text, zone(t, c.zone))
		var refusal *problem.InputError
		switch {
		case errors.As(err, &refusal):
			if refusal.Rule != c.rule {
				t.Errorf("%s %s: refused by %q, want %q", c.zone, c.text, refusal.Rule, c.rule)
			}
		case err != nil || got.Format(time.RFC3339) != c.want:
			t.Errorf("%s %s: got %v, %v, want %s", c.zone, c.text, got, err, c.want)
		}
	}
}

// What a clock shows at an instant is resolved to that instant, or to two of which it is one.
func TestEveryInstantIsFoundAgainOnTheClock(t *testing.T) {
	zones := []string{"America/Chicago", "America/Regina", "America/St_Johns", "Australia/Lord_Howe", "Asia/Kathmandu", "Pacific/Apia", "UTC"}
	rapid.Check(t, func(t *rapid.T) {
		loc, err := time.LoadLocation(rapid.SampledFrom(zones).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		at := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "at"), 0).UTC()
		found := false
		for _, candidate := range quantity.Instants(at.In(loc), loc) {
			found = found || candidate.Equal(at)
		}
		if !found {
			t.Errorf("%v is not among the instants of %v", at, at.In(loc))
		}
		back, err := quantity.ParseInstant("At", quantity.FormatInstant(at, loc), loc)
		if err != nil || !back.Equal(at) {
			t.Errorf("%v is written %s and read as %v, %v", at, quantity.FormatInstant(at, loc), back, err)
		}
	})
}
