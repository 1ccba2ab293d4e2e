// Package gridpoint reads the answers of the US National Weather Service's forecast interface: the raw numbers of a
// grid cell, the hourly periods that stand in for them, where a place lies on the grid, and what the service says
// when it cannot answer. It fetches nothing.
//
// A forecast becomes hours in the farm's quantities and blocks of rain chances, each value checked against what can
// be. A layer in a unit that is not known, or with a figure that cannot be, is left out and said; a forecast
// without a usable temperature is refused. Fields that are not known are passed over: the service adds some every
// year.
//
// It leaves out snow, gusts, wind direction, worded forecasts and hazards. [nws-api]
package gridpoint

import (
	"encoding/json"
	"fmt"
	"math"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// Agency is the name of the service, as answers say it.
const Agency = "National Weather Service"

// MaxBytes is the largest answer that is read; a real one has a tenth of it.
const MaxBytes = 10 << 20

// A Form is which of its two forms a forecast has.
type Form string

// The forms.
const (
	Grid   Form = "grid"   // raw numbers of a cell
	Hourly Form = "hourly" // periods of an hour
)

// A Forecast is one answer of the service, checked.
type Forecast struct {
	Form     Form
	Cell     string    // "ZZZ 41,77"; empty where the answer does not say
	Issued   time.Time // when the office made it; zero where the answer does not say
	Weather  weather.HourlyForecast
	Findings []problem.Finding // what was left out or doubted
}

// longestForecast is how many hours are kept; the service reaches some 190.
const longestForecast = 400

// Read reads a forecast in either form; name is what messages call it. The error is a [problem.InputError].
func Read(name string, data []byte) (*Forecast, error) {
	doc, err := decode(name, data)
	if err != nil {
		return nil, err
	}
	r := &reader{name: name, out: &Forecast{Form: Grid, Cell: doc.cell(), Issued: doc.issued()}}
	var layers [quantities][]entry
	if periods, ok := doc.Properties["periods"]; ok {
		r.out.Form = Hourly
		layers, err = r.periods(periods)
	} else {
		layers, err = r.layers(doc.Properties)
	}
	if err != nil {
		return nil, err
	}
	return r.build(layers)
}

// A document is what both forms have around them.
type document struct {
	Properties map[string]json.RawMessage `json:"properties"`
}

func decode(name string, data []byte) (*document, error) {
	if err := checkShape(name, data); err != nil {
		return nil, err
	}
	var doc document
	if err := json.Unmarshal(data, &doc); err != nil || doc.Properties == nil {
		return nil, refused(name, "forecast.json", "forecast", begin(data), "the JSON answer of the service, with properties", "Fetch it again.")
	}
	return &doc, nil
}

// text returns a property that is a string, or a number as written.
func (d *document) text(key string) string {
	var s string
	if json.Unmarshal(d.Properties[key], &s) == nil {
		return s
	}
	var n json.Number
	if json.Unmarshal(d.Properties[key], &n) == nil {
		return n.String()
	}
	return ""
}

func (d *document) cell() string {
	office, x, y := d.text("gridId"), d.text("gridX"), d.text("gridY")
	if !isOffice(office) || !isIndex(x) || !isIndex(y) {
		return ""
	}
	return office + " " + x + "," + y
}

// issued returns when the office made the forecast.
func (d *document) issued() time.Time {
	for _, key := range []string{"updateTime", "updated", "generatedAt"} {
		if t, ok := parseInstant(d.text(key)); ok {
			return t
		}
	}
	return time.Time{}
}

// A reader collects what is said about one answer.
type reader struct {
	name string
	out  *Forecast
}

// leaveOut says that a layer, or part of it, is not used.
func (r *reader) leaveOut(rule, layer, got, want, say string, args ...any) {
	r.out.Findings = append(r.out.Findings, problem.Finding{
		Rule: rule, Severity: problem.Warning, Where: problem.Place{File: r.name, Path: layer},
		Label: layer, Got: got, Want: want, Say: fmt.Sprintf(say, args...),
	})
}

// build puts the layers into hours.
func (r *reader) build(layers [quantities][]entry) (*Forecast, error) {
	if len(layers[temperature]) == 0 {
		e := refused(r.name, "forecast.temperature", "temperature", "", "a temperature for the hours to come", "The forecast kept before stays in use.")
		for _, f := range r.out.Findings {
			if f.Label == layerKinds[temperature].name {
				e.Rule, e.Got, e.Want = f.Rule, f.Got, f.Want
			}
		}
		return nil, e
	}
	start, end := span(layers[temperature])
	end = min(end, start+longestForecast)
	n := int(end - start)
	at := func(q quantity) []float64 { return hourly(layers[q], start, n) }
	temp, dew, rh := at(temperature), at(dewPoint), at(humidity)
	r.airOf(temp, dew, rh)
	s := weather.NewSeries(start, n)
	for v, column := range map[weather.Var][]float64{
		weather.TempC: temp, weather.DewC: dew, weather.WindMS: to2m(at(wind)), weather.SkyFrac: at(cloud),
		weather.RainMM: totals(layers[amount], start, n),
	} {
		put(s, v, column)
	}
	r.out.Weather = weather.HourlyForecast{Hours: s, Chances: chances(layers[chance], start, end)}
	if len(r.out.Weather.Chances) == 0 {
		r.leaveOut("forecast.no-chance", "probabilityOfPrecipitation", "", "", "This forecast says nothing of the chance of rain; rain is that of the season.")
	}
	return r.out, nil
}

// dewAbove is how far a dew point may lie above its temperature by rounding alone.
const dewAbove = 0.5 // °C [judgement]

// airOf completes the dew point from humidity and takes out what cannot be.
func (r *reader) airOf(temp, dew, rh []float64) {
	impossible := 0
	for i, t := range temp {
		if math.IsNaN(dew[i]) && rh[i] > 0 && !math.IsNaN(t) {
			dew[i] = weather.DewPointC(weather.VaporKPa(t, rh[i]))
		}
		switch {
		case dew[i] > t+dewAbove:
			dew[i] = math.NaN()
			impossible++
		case dew[i] > t:
			dew[i] = t
		}
	}
	if impossible > 0 {
		r.leaveOut("forecast.dew-above", "dewpoint", fmt.Sprintf("%d hours", impossible), "",
			"%d dew points lie more than %.1f °C above the temperature of their hour and are left out.", impossible, dewAbove)
	}
}

// longestGap is how many hours a straight line may bridge.
const longestGap = 3 // [judgement]

// put stores a column; short gaps of what is a state are bridged.
func put(s *weather.Series, v weather.Var, column []float64) {
	last := -1
	for i, x := range column {
		if math.IsNaN(x) {
			continue
		}
		if gap := i - last - 1; v != weather.RainMM && last >= 0 && gap > 0 && gap <= longestGap {
			for k := 1; k <= gap; k++ {
				at := column[last] + (x-column[last])*float64(k)/float64(gap+1)
				s.Set(v, s.Start+calendar.Hour(last+k), at, weather.Filled)
			}
		}
		s.Set(v, s.Start+calendar.Hour(i), x, weather.Forecast)
		last = i
	}
}

func refused(name, rule, label, got, want, next string) *problem.InputError {
	return &problem.InputError{Rule: rule, Label: label, Got: got, Want: want, Where: problem.Place{File: name}, Next: next}
}
