package settlement

import (
	"errors"
	"fmt"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// ErrNotAccepted says that a reject row of the terms refuses the load. The error is a *Rejection.
var ErrNotAccepted = errors.New("the outlet does not accept this load")

// ErrUnstated says that the terms stop before the reading: what such a load pays is not stated. The error is
// an *Unstated and also a *problem.InputError.
var ErrUnstated = errors.New("the schedule does not say what this load pays")

// A Rejection names the row that refuses a load: no settlement is computed, and it is not a price of zero.
type Rejection struct {
	Row       int
	Factor    Factor
	Direction Direction
	Limit     *trade.Decimal // nil for a flag
	Reading   *trade.Percent // nil for a flag, and from Totals and Net
	Text      string         // as the buyer printed it
}

// Say returns one sentence: what was found and what is accepted.
func (r *Rejection) Say() string {
	what := r.Factor.Words()
	if r.Limit == nil {
		return fmt.Sprintf("Not accepted: %s (row %d). Ask the buyer before hauling it.", what, r.Row)
	}
	side := "above"
	if r.Direction == Below {
		side = "below"
	}
	if r.Reading == nil {
		return fmt.Sprintf("Not accepted: %s %s %s %s (row %d).", what, side, r.Limit, r.Factor.Unit(), r.Row)
	}
	return fmt.Sprintf("Not accepted: %s is %s %s, and %s %s %s is refused (row %d). Ask the buyer before hauling it.",
		what, r.Reading, r.Factor.Unit(), side, r.Limit, r.Factor.Unit(), r.Row)
}

func (r *Rejection) Error() string { return r.Say() }

// Is makes errors.Is(err, ErrNotAccepted) true.
func (r *Rejection) Is(target error) bool { return target == ErrNotAccepted }

// An Unstated names the factor whose reading lies past the last band of the terms.
type Unstated struct{ input problem.InputError }

func unstated(e end) *Unstated {
	last := trade.Percent(e.last)
	side := "up to"
	if e.side < 0 {
		side = "down to"
	}
	return &Unstated{problem.InputError{
		Rule:  "schedule.unstated",
		Label: e.factor.Words(),
		Got:   "past the last band",
		Want:  fmt.Sprintf("%s %s %s, where the schedule ends", side, last, e.factor.Unit()),
		Next:  "Ask the buyer what such a load pays and add a row, or a reject row.",
	}}
}

// at returns u with the reading filled in.
func (u *Unstated) at(x trade.Percent) *Unstated {
	with := *u
	with.input.Got = x.String()
	return &with
}

func (u *Unstated) Error() string { return u.input.Error() }

// Is makes errors.Is(err, ErrUnstated) true.
func (u *Unstated) Is(target error) bool { return target == ErrUnstated }

// Unwrap lets errors.As find the *problem.InputError.
func (u *Unstated) Unwrap() error { return &u.input }
