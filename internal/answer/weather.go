package answer

import (
	"time"

	"threshday/internal/app"
)

// A Forecast is a source that is believed about some of the days ahead.
type Forecast struct {
	Source   string  `json:"source"`
	Made     string  `json:"made,omitempty"`
	AgeHours *Figure `json:"age_hours"` // null: nobody says when it was made
	Days     int     `json:"days"`
	Stale    bool    `json:"stale"`
	Near     string  `json:"near,omitempty"`
	Cell     string  `json:"cell,omitempty"`
}

// OfForecasts returns the documents of sources, with their ages at now.
func OfForecasts(sources []app.ForecastSource, now time.Time) []Forecast {
	out := []Forecast{}
	for i := range sources {
		s := &sources[i]
		one := Forecast{Source: s.Name, Days: len(s.Days), Stale: s.Stale, Near: s.Near, Cell: s.Cell}
		if age, ok := s.Age(now); ok {
			hours := Figure(age.Hours())
			one.Made, one.AgeHours = Stamp(s.Made.In(now.Location())), &hours
		}
		out = append(out, one)
	}
	return out
}
