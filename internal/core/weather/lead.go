package weather

import (
	"errors"
	"time"

	"threshday/internal/core/calendar"
)

// A LeadIn is what is known about the weather of an ensemble: what has been, and what is said to come.
type LeadIn struct {
	Now      calendar.Hour // the first hour that is not observed yet
	Zone     *time.Location
	Observed *Series // nil: nothing; hours missing in it keep the members' own
	Days     []Ahead // in any order, each date once; days before today and past the 14th are passed over
	Root     [32]byte
	Errors   *ErrorTable // of the forecasts; nil: [DefaultErrors]
}

func (in *LeadIn) errors() ErrorTable {
	if in.Errors != nil {
		return *in.Errors
	}
	return DefaultErrors()
}

// ErrTwoForecasts: a date is forecast twice, and which counts is the caller's to say.
var ErrTwoForecasts = errors.New("two forecasts for one day")
