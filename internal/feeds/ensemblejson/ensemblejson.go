// Package ensemblejson reads hourly ensemble forecasts in an openly documented JSON form: one list of times and, for
// every quantity and run, one list of figures beside it. Units stand in the answer. The form is Open-Meteo's; its free
// service is not for a business, so nothing is asked unless the owner names a page and holds a licence.
//
// An answer is taken whole or refused whole. It leaves out what the farm does not use. [open-meteo]
package ensemblejson

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
)

// The most that is read: an answer of MaxBytes, MaxMembers runs of MaxHours.
const (
	MaxBytes   = 10 << 20
	MaxMembers = 60
	MaxHours   = 400
)

// A variable is a quantity of the answer: what it becomes, in which units it may come, and what can be.
type variable struct {
	name      string
	units     []string
	low, high float64 // in our unit
	accepted  string
	preceding bool // of the hour that ends at its time [open-meteo]
}

const (
	temp = iota
	dew
	humidity
	rain
	wind
	cloud
	sun
	variables
)

var known = [variables]variable{
	temp:     {"temperature_2m", []string{"°C", "°F"}, -60, 60, "-60 to 60 °C", false},
	dew:      {"dew_point_2m", []string{"°C", "°F"}, -80, 45, "-80 to 45 °C", false},
	humidity: {"relative_humidity_2m", []string{"%"}, 0, 1.02, "0 to 102 %", false},
	rain:     {"precipitation", []string{"mm", "inch"}, 0, 305, "0 to 305 mm in the hour", true},
	wind:     {"wind_speed_10m", []string{"m/s", "km/h", "mp/h", "kn"}, 0, 75, "0 to 75 m/s", false},
	cloud:    {"cloud_cover", []string{"%"}, 0, 1, "0 to 100 %", false},
	sun:      {"shortwave_radiation", []string{"W/m²"}, -30, 1500, "-30 to 1500 W/m²", true},
}

// toOwn turns a figure into °C, fraction, mm, m/s or W/m².
func toOwn(x float64, unit string) float64 {
	switch unit {
	case "°F":
		return units.Fahrenheit(x).Celsius()
	case "%":
		return x / 100
	case "inch":
		return x * 25.4
	case "km/h":
		return x * float64(units.KilometerPerHour)
	case "mp/h":
		return x * float64(units.MilePerHour)
	case "kn":
		return x * 1.852 * float64(units.KilometerPerHour) // the nautical mile is 1852 m
	}
	return x
}

// Question returns the page to ask for a place: the owner's own, with place, quantities, units and key.
func Question(page string, lat, lon float64, key string) (string, error) {
	u, err := url.Parse(page)
	if err != nil {
		return "", &problem.InputError{Rule: "ensemble.page", Label: "page of the ensemble service", Got: page, Want: "the address of a page"}
	}
	q := u.Query()
	q.Set("latitude", strconv.FormatFloat(lat, 'f', 4, 64))
	q.Set("longitude", strconv.FormatFloat(lon, 'f', 4, 64))
	var names []string
	for _, v := range known {
		names = append(names, v.name)
	}
	q.Set("hourly", strings.Join(names, ","))
	q.Set("timezone", "GMT")
	q.Set("wind_speed_unit", "ms")
	if key != "" {
		q.Set("apikey", key)
	}
	u.RawQuery = q.Encode()
	return u.String(), nil
}

// An answer is the document.
type answer struct {
	Error  bool                         `json:"error"`
	Reason string                       `json:"reason"`
	Offset *int64                       `json:"utc_offset_seconds"`
	Units  map[string]string            `json:"hourly_units"`
	Hourly map[string][]json.RawMessage `json:"hourly"`
}

// Read reads an answer; name is what messages call it. The error is a [problem.InputError].
func Read(name string, data []byte) (weather.EnsembleForecast, error) {
	r := &reader{name: name}
	if len(data) > MaxBytes {
		return weather.EnsembleForecast{}, r.refuse("ensemble.size", "forecast", fmt.Sprintf("%.1f MB", float64(len(data))/(1<<20)), fmt.Sprintf("at most %d MB", MaxBytes>>20))
	}
	if bytes.Count(data, []byte("{"))+bytes.Count(data, []byte("[")) > maxBrackets {
		return weather.EnsembleForecast{}, r.refuse("ensemble.json", "forecast", "too many brackets", "lists of figures by name")
	}
	if err := json.Unmarshal(data, &r.doc); err != nil {
		return weather.EnsembleForecast{}, r.refuse("ensemble.json", "forecast", "", "the JSON answer of the service, lists of figures by name")
	}
	if r.doc.Error {
		return weather.EnsembleForecast{}, r.refuse("ensemble.refused", "forecast", shown(r.doc.Reason), "an answer; the service refused the question")
	}
	return r.members()
}

// maxBrackets bounds what an answer nests: one list for every quantity and run, and a few objects around them.
const maxBrackets = (variables+1)*(MaxMembers+1) + 20

// A reader carries one answer.
type reader struct {
	name  string
	doc   answer
	first calendar.Hour
	n     int
}

func (r *reader) refuse(rule, label, got, want string) error {
	return &problem.InputError{Rule: rule, Label: label, Got: got, Want: want, Where: problem.Place{File: r.name}, Next: "The forecast kept before stays in use."}
}

func shown(s string) string {
	const most = 100
	s = strings.Map(func(c rune) rune {
		if c < ' ' || c == 0x7f {
			return ' '
		}
		return c
	}, strings.ToValidUTF8(s, "?"))
	if len(s) > most {
		s = strings.ToValidUTF8(s[:most], "") + "…"
	}
	return s
}

func (r *reader) members() (weather.EnsembleForecast, error) {
	if err := r.hours(); err != nil {
		return weather.EnsembleForecast{}, err
	}
	runs := r.runs(temp)
	if len(runs) == 0 || len(runs) > MaxMembers {
		return weather.EnsembleForecast{}, r.refuse("ensemble.members", known[temp].name, strconv.Itoa(len(runs))+" runs", fmt.Sprintf("1 to %d runs of %s", MaxMembers, known[temp].name))
	}
	var out weather.EnsembleForecast
	for _, run := range runs {
		s, err := r.member(run)
		if err != nil {
			return weather.EnsembleForecast{}, err
		}
		out.Members = append(out.Members, s)
	}
	return out, nil
}

// hours reads the times, which must follow each other hour by hour.
func (r *reader) hours() error {
	times := r.doc.Hourly["time"]
	if len(times) < 2 || len(times) > MaxHours {
		return r.refuse("ensemble.hours", "hourly time", strconv.Itoa(len(times))+" times", fmt.Sprintf("2 to %d hours", MaxHours))
	}
	if r.doc.Offset == nil {
		return r.refuse("ensemble.offset", "utc_offset_seconds", "", "the clock of the times, in seconds ahead of UTC")
	}
	for i, raw := range times {
		var text string
		if err := json.Unmarshal(raw, &text); err != nil {
			text = string(raw)
		}
		at, err := time.Parse("2006-01-02T15:04", text)
		at = at.Add(-time.Duration(min(max(*r.doc.Offset, -86400), 86400)) * time.Second)
		if err != nil || at.Unix()%3600 != 0 || at.Year() < 1970 || at.Year() > 2200 {
			return r.refuse("ensemble.time", fmt.Sprintf("hourly time %d", i+1), shown(text), "a full hour as 2026-10-03T12:00")
		}
		if h := calendar.HourOf(at); i == 0 {
			r.first = h
		} else if h != r.first+calendar.Hour(i) {
			return r.refuse("ensemble.time", fmt.Sprintf("hourly time %d", i+1), shown(text), "every hour once, in order")
		}
	}
	r.n = len(times)
	return nil
}

// runs returns the endings of the names of a quantity's runs: "" for the one without, "_member01" and so on.
func (r *reader) runs(v int) []string {
	var out []string
	for name := range r.doc.Hourly {
		if rest, ok := strings.CutPrefix(name, known[v].name); ok && (rest == "" || isMember(rest)) {
			out = append(out, rest)
		}
	}
	slices.Sort(out)
	return out
}

func isMember(s string) bool {
	digits, ok := strings.CutPrefix(s, "_member")
	_, err := strconv.ParseUint(digits, 10, 16)
	return ok && err == nil
}

// member reads one run.
func (r *reader) member(run string) (*weather.Series, error) {
	var columns [variables][]float64
	for v := range known {
		column, err := r.column(v, run)
		if err != nil {
			return nil, err
		}
		columns[v] = column
	}
	s := weather.NewSeries(r.first, r.n)
	for i := range r.n {
		set := func(v weather.Var, x float64) {
			if !math.IsNaN(x) {
				s.Set(v, r.first+calendar.Hour(i), x, weather.Forecast)
			}
		}
		t, d := columns[temp][i], columns[dew][i]
		if rh := columns[humidity][i]; math.IsNaN(d) && rh > 0 && !math.IsNaN(t) {
			d = weather.DewPointC(weather.VaporKPa(t, min(1, rh)))
		}
		set(weather.TempC, t)
		set(weather.DewC, min(d, t))
		set(weather.WindMS, weather.WindAt2m(units.Speed(columns[wind][i]), 10*units.Meter).MetersPerSecond())
		set(weather.RainMM, columns[rain][i])
		set(weather.SkyFrac, columns[cloud][i])
		set(weather.SolarWM2, max(0, columns[sun][i]))
	}
	return s, nil
}

// column reads the figures of one quantity of one run, NaN where there are none, each in the hour it is of.
func (r *reader) column(v int, run string) ([]float64, error) {
	k := known[v]
	out := make([]float64, r.n)
	for i := range out {
		out[i] = math.NaN()
	}
	list, there := r.doc.Hourly[k.name+run]
	if !there {
		return out, nil
	}
	if len(list) != r.n {
		return nil, r.refuse("ensemble.length", k.name+run, fmt.Sprintf("%d values", len(list)), fmt.Sprintf("%d, one for each hour", r.n))
	}
	unit, ok := r.doc.Units[k.name+run]
	if !ok {
		unit = r.doc.Units[k.name]
	}
	if !slices.Contains(k.units, unit) {
		return nil, r.refuse("ensemble.unit", "unit of "+k.name+run, shown(unit), strings.Join(k.units, ", "))
	}
	for i, raw := range list {
		if string(raw) == "null" {
			continue
		}
		x, err := strconv.ParseFloat(string(raw), 64)
		x = toOwn(x, unit)
		if err != nil || !(x >= k.low && x <= k.high) {
			at := (r.first + calendar.Hour(i)).Start().Format("2006-01-02 15:04 MST")
			return nil, r.refuse("ensemble.range", k.name+run+" at "+at, shown(string(raw)), k.accepted)
		}
		if at := i - 1; !k.preceding {
			out[i] = x
		} else if at >= 0 {
			out[at] = x
		}
	}
	return out, nil
}
