package market

import (
	"fmt"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// CashOf returns what a bid pays: its cash price, or futures and basis together. False where a part is missing; nothing is
// assumed in its place.
func CashOf(cash, futures, basis *trade.Price) (trade.Price, bool) {
	switch {
	case cash != nil:
		return *cash, true
	case futures != nil && basis != nil:
		return *futures + *basis, true
	}
	return 0, false
}

// A Standing says where a day lies against the window of delivery of a bid or premium.
type Standing string

// The standings.
const (
	NotYet  Standing = "not yet"
	Current Standing = "open"
	Over    Standing = "over"
)

// StandingOn returns where day lies against the window from..until, both days included; nil is open.
func StandingOn(day calendar.Day, from, until *calendar.Day) Standing {
	switch {
	case from != nil && day.Before(*from):
		return NotYet
	case until != nil && day.After(*until):
		return Over
	}
	return Current
}

// A Freshness says how far an old bid may be trusted.
type Freshness uint8

// The freshnesses. Whoever is about to haul on a stale bid should call first.
const (
	Fresh   Freshness = iota
	DayOld            // heard before the last close
	TooOld            // a business day or more has gone by since it was heard
	Unheard           // when it was heard is not known
)

// FreshnessOf returns how fresh a bid is at now, on the clock of now. Cash bids follow the day's close; Saturdays and Sundays
// bring no new one. The limits are [judgement].
func FreshnessOf(taken, now time.Time) Freshness {
	if taken.IsZero() {
		return Unheard
	}
	heard, today := calendar.DayOf(taken, now.Location()), calendar.DayOf(now, now.Location())
	days := 0 // business days after the one it was heard on, today not counted
	for d := heard.AddDays(1); d.Before(today) && days < 2; d = d.AddDays(1) {
		if d.Weekday() != time.Saturday && d.Weekday() != time.Sunday {
			days++
		}
	}
	switch {
	case days >= 1:
		return TooOld
	case heard.Before(today):
		return DayOld
	}
	return Fresh
}

// A Weighed load says when it did what a window may ask for. The zero time is not known.
type Weighed struct {
	Arrival, Gross, Tare time.Time
	Moisture             *trade.Percent
	Earlier              trade.Bushels // that have earned the premium before
}

// Earns reports whether a load earns a premium, and if not why, in a sentence. The event that counts is gross weighing unless
// the premium says otherwise; its date is the one at the buyer, in zone. A truck in the line at closing time counts only where
// arrival does. Where the event's own time is not known the nearest one known stands in.
func Earns(p farm.Premium, w Weighed, zone *time.Location) (ok bool, why string) {
	at := w.Gross
	switch p.Counts {
	case "arrival":
		at = firstKnown(w.Arrival, w.Gross, w.Tare)
	case "tare":
		at = firstKnown(w.Tare, w.Gross, w.Arrival)
	default:
		at = firstKnown(at, w.Tare, w.Arrival)
	}
	if at.IsZero() {
		return false, "when it was weighed is not known"
	}
	until := p.Until
	switch StandingOn(calendar.DayOf(at, zone), p.From, &until) {
	case NotYet:
		return false, fmt.Sprintf("the premium begins on %s", *p.From)
	case Over:
		return false, fmt.Sprintf("the premium ended on %s", p.Until)
	case Current:
	}
	if p.MaxMoisture != nil {
		if w.Moisture == nil {
			return false, "its moisture is not known"
		}
		if *w.Moisture > *p.MaxMoisture {
			return false, fmt.Sprintf("the premium is for grain of at most %s %%", *p.MaxMoisture)
		}
	}
	if p.CapBu != nil && w.Earlier.Float() >= *p.CapBu {
		return false, "the premium's bushels are used up"
	}
	return true, ""
}

func firstKnown(times ...time.Time) time.Time {
	for _, t := range times {
		if !t.IsZero() {
			return t
		}
	}
	return time.Time{}
}

func unread() error {
	return &problem.InputError{Rule: "T06", Label: "moisture", Want: "a reading", Next: "A missing reading is never taken as dry."}
}
