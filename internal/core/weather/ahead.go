package weather

import (
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
)

// Ahead is what is said about one local day to come. What is nil is not said, and the members keep their own.
type Ahead struct {
	On     calendar.Day
	High   *float64 // °C
	Low    *float64 // °C
	Dew    *float64 // mean dew point, °C
	Wind   *float64 // mean at 2 m, m/s
	Sky    *float64 // mean cloud cover, 0 to 1
	Rain   *float64 // probability that the day brings 0.254 mm or more
	Amount *float64 // mean rain if it rains, mm
	Part   Part     // when it rains, if it does
	Late   int      // by how many days it is older than it looks: its error is that of so many lead days more
}

// A Part of the day names when rain is expected.
type Part string

// The parts, on the farm's own clock: six hours each from midnight. [judgement]
const (
	AnyTime   Part = "any"
	Night     Part = "night"
	Morning   Part = "morning"
	Afternoon Part = "afternoon"
	Evening   Part = "evening"
)

// hours returns the clock hours of the part, or the whole day.
func (p Part) hours() (from, to int) {
	if i := slices.Index([]Part{Night, Morning, Afternoon, Evening}, p); i >= 0 {
		return 6 * i, 6*i + 6
	}
	return 0, 24
}

// The classes in which a person speaks of a day. Empty means not said.
type (
	Amount string // of rain: "trace", "light", "medium", "heavy"
	Dew    string // of the morning: "none", "light", "heavy"
	Wind   string // of the day: "calm", "light", "breezy", "windy"
	Sky    string // "clear", "part", "cloudy"
)

// A ManualDay is one line of the farm's own forecast.
type ManualDay struct {
	On        calendar.Day
	High, Low float64  // °C
	Chance    *float64 // probability of rain, 0 to 1
	Amount    Amount
	Part      Part
	Dew       Dew
	Wind      Wind
	Sky       Sky
}

// A class is a word and what it stands for.
type class struct {
	word  string
	value float64
}

// What the words stand for. Amounts, wind and sky are [judgement]; dew is the mean dew point less the night's
// lowest temperature of dry nights at a rural station, by hours of humid air: [champaign-hourly].
var (
	amountClasses = []class{{"trace", 0.5}, {"light", 2}, {"medium", 8}, {"heavy", 20}} // mm
	dewClasses    = []class{{"none", -2.6}, {"light", lightDew}, {"heavy", 0.7}}        // °C
	windClasses   = []class{{"calm", 1}, {"light", 2.5}, {"breezy", 5}, {"windy", 8}}   // m/s at 10 m
	skyClasses    = []class{{"clear", 0.1}, {"part", 0.5}, {"cloudy", 0.9}}             // cover
	parts         = []class{{"any", 0}, {"night", 0}, {"morning", 0}, {"afternoon", 0}, {"evening", 0}}
)

const (
	lightDew   = -0.2 // °C, and the least after rain
	manualLate = 1    // a person repeats last night's forecast
)

// Ahead turns words into figures. A word it does not know and a high below the low are input errors.
func (d ManualDay) Ahead() (Ahead, error) {
	if d.High < d.Low {
		return Ahead{}, &problem.InputError{Rule: "outlook.high", Label: "high of " + d.On.String(), Got: "below the low", Want: "a high at or above the low"}
	}
	if d.Chance != nil && !(*d.Chance >= 0 && *d.Chance <= 1) {
		return Ahead{}, &problem.InputError{Rule: "outlook.chance", Label: "chance of rain of " + d.On.String(), Got: "outside", Want: "0 to 100 %"}
	}
	out := Ahead{On: d.On, High: &d.High, Low: &d.Low, Rain: d.Chance, Part: d.Part, Late: manualLate}
	var dewLessLow *float64
	var wrong *problem.InputError
	for _, c := range []struct {
		label   string
		word    string
		classes []class
		into    **float64
	}{
		{"amount", string(d.Amount), amountClasses, &out.Amount},
		{"dew", string(d.Dew), dewClasses, &dewLessLow},
		{"wind", string(d.Wind), windClasses, &out.Wind},
		{"sky", string(d.Sky), skyClasses, &out.Sky},
		{"when", string(d.Part), parts, nil},
	} {
		value, err := valueOf(c.label+" of "+d.On.String(), c.word, c.classes)
		if err != nil {
			wrong = err
			break
		}
		if c.into != nil {
			*c.into = value
		}
	}
	if wrong != nil {
		return Ahead{}, wrong
	}
	if dewLessLow != nil {
		dew := d.Low + *dewLessLow
		out.Dew = &dew
	}
	if out.Wind != nil {
		low := WindAt2m(units.Speed(*out.Wind), assumedWindHeight).MetersPerSecond()
		out.Wind = &low
	}
	return out, nil
}

func valueOf(label, word string, classes []class) (*float64, *problem.InputError) {
	if word == "" || word == "unknown" {
		return nil, nil // not said
	}
	want := ""
	for i, c := range classes {
		if c.word == word {
			value := c.value
			return &value, nil
		}
		if i > 0 {
			want += ", "
		}
		want += c.word
	}
	return nil, &problem.InputError{Rule: "outlook.word", Label: label, Got: word, Want: want}
}

// AheadOf returns what an hourly forecast says about the local days it holds whole: highs, lows and means, and
// rain as certain or excluded, since a single series knows no chance; the error of its lead day tempers that.
func AheadOf(forecast *Series, zone *time.Location) []Ahead {
	var out []Ahead
	for _, day := range Days(forecast.Start, forecast.End(), zone) {
		d := forecast.Summary(day.First, day.End)
		if !day.Whole || !d.Known {
			continue
		}
		chance := 0.0
		ahead := Ahead{On: day.Date, High: &d.High, Low: &d.Low, Dew: &d.Dew, Wind: &d.Wind, Sky: &d.Sky, Rain: &chance}
		if d.Wet() {
			chance = 1
			ahead.Amount = &d.Rain
		}
		out = append(out, ahead)
	}
	return out
}
