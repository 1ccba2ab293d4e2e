package worth

import (
	"testing"
	"time"

	"threshday/internal/core/calendar"
)

func chicago(t *testing.T) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func span(t *testing.T, from string, hours int) Span {
	t.Helper()
	at, err := time.Parse(time.RFC3339, from)
	if err != nil {
		t.Fatal(err)
	}
	return Span{Start: calendar.HourOf(at), Hours: hours, Zone: chicago(t)}
}

// The clocks go back on 2026-11-01: that day has 25 hours, and the work of it is still 08:00 to 22:00.
func TestADayOfTwentyFiveHoursHasItsWorkingHoursOnce(t *testing.T) {
	s := span(t, "2026-10-31T00:00:00-05:00", 24+25+24)
	count := map[int]int{}
	for _, d := range s.Days() {
		count[d]++
	}
	if count[0] != 24 || count[1] != 25 || count[2] != 24 {
		t.Errorf("hours by day %v", count)
	}
	works := map[int]int{}
	for h, on := range s.Within(8*60, 22*60, func(calendar.Day) bool { return true }) {
		if on {
			works[s.Days()[h]]++
		}
	}
	if works[0] != 14 || works[1] != 14 || works[2] != 14 {
		t.Errorf("working hours by day %v, want 14 each", works)
	}
}

func TestGrainMustArriveWhileThePlaceIsOpenAndThePriceHolds(t *testing.T) {
	s := span(t, "2026-10-01T00:00:00-05:00", 72) // a Thursday
	until := calendar.MustDay("2026-10-02")
	open := s.Takes(Receiving{
		Open:   map[time.Weekday][2]calendar.Clock{time.Thursday: {7 * 60, 19 * 60}, time.Friday: {7 * 60, 19 * 60}, time.Saturday: {7 * 60, 12 * 60}},
		Closed: nil, Until: &until, Lag: 90 * time.Minute,
	})
	for h, want := range map[int]bool{
		5:  false, // arrives 06:30
		6:  true,  // arrives 07:30
		17: true,  // arrives 18:30
		18: false, // arrives 19:30
		30: true,  // Friday
		54: false, // Saturday, past the last day of the price
	} {
		if open[h] != want {
			t.Errorf("cut in hour %d: taken %v, want %v", h, open[h], want)
		}
	}
	closed := s.Takes(Receiving{Closed: []calendar.Day{calendar.MustDay("2026-10-01")}})
	if closed[10] || !closed[34] {
		t.Error("a closed day is not closed, or another is")
	}
}
