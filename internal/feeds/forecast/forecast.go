// Package forecast keeps the farm supplied with forecasts: it asks the US National Weather Service, and a service of
// the owner's own choice where there is one, and keeps every answer as it came in a folder, with its age.
//
// Whatever goes wrong, what was kept stays. Nobody is asked more often than every half hour, nor before the moment a
// service names; an answer that has not changed is not sent again. An answer that cannot be read does not take the place
// of one that can.
//
// It decides nothing about what to believe; that is the plan's. docs/reference/weather-services.md tells what it
// sends and keeps. [nws-api]
package forecast

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// A Place is where a forecast is for, degrees, to four places: the service takes no more.
type Place struct{ Lat, Lon float64 }

// PlaceAt returns the place nearest to a point that a service takes.
func PlaceAt(lat, lon float64) Place {
	round := func(x float64) float64 { return math.Round(x*1e4) / 1e4 }
	return Place{round(lat), round(lon)}
}

// String returns the form in which the service is asked, "41.9,-93.5".
func (p Place) String() string {
	text := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	return text(p.Lat) + "," + text(p.Lon)
}

// A Source is who made a forecast.
type Source string

// The sources.
const (
	National Source = "national"
	Ensemble Source = "ensemble"
)

// Says is what a forecast says of the days to come.
type Says interface {
	Ahead(now calendar.Hour, zone *time.Location) []weather.Ahead
}

// A Kept is a forecast that was received and can be read.
type Kept struct {
	Source   Source
	At       Place
	Form     string    // "grid", "hourly" or "ensemble"
	Cell     string    // of the service's grid; empty: none is known
	Near     string    // the town the service names; empty: none
	Zone     string    // of the clock there, as the service says; empty: it does not
	Issued   time.Time // when it was made; of a service that does not say, when it was received
	Received time.Time
	Checked  time.Time // when the service last said that it still stands
	Says     Says
	Findings []problem.Finding
}

// A Result says what came of asking.
type Result string

// The results that are no trouble.
const (
	New     Result = "new"      // a forecast that was not there before
	Same    Result = "same"     // the one kept still stands
	TooSoon Result = "too-soon" // nobody was asked: it was done a while ago
)

// An Outcome is what came of asking, and what is kept now.
type Outcome struct {
	Result Result
	Kept   *Kept
	Next   time.Time // when it may be asked again
}

// A Trouble is why there is no new forecast. What was kept stays in use.
type Trouble struct {
	Rule string // "forecast.unreachable"
	Say  string // one sentence
	Next string // what to do, one sentence
	Kept *Kept  // what stays; nil: nothing was kept
	Err  error  // what went wrong on the way, if it did
}

func (t *Trouble) Error() string { return t.Say + " " + t.Next }

// Unwrap returns what went wrong on the way.
func (t *Trouble) Unwrap() error { return t.Err }

// Rules of politeness and of trust in what is kept.
const (
	askEvery   = 30 * time.Minute   // the least time between two questions for one place [judgement]
	pointLasts = 7 * 24 * time.Hour // how long a place on the grid is believed without asking again [judgement]
	oldAnswer  = 24 * time.Hour     // a forecast made longer ago than this is said to be old when it arrives [judgement]
	longestAge = 24 * time.Hour     // the most that a service's own lifetime or wait is believed [judgement]
	clockSlack = 10 * time.Minute   // by how much the computer's clock may be behind the service's [judgement]
)

func ago(now, then time.Time) string {
	d := now.Sub(then)
	switch {
	case d < time.Hour:
		return fmt.Sprintf("%d min", max(0, int(d.Minutes())))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h", int(d.Hours()))
	}
	return fmt.Sprintf("%d days", int(d.Hours()/24))
}
