package gridpoint

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// A period is one hour of the hourly form. Temperature and wind come as a figure with a unit beside it, as words, or
// as an object; the rest as objects. [nws-api]
type period struct {
	Start       string          `json:"startTime"`
	End         string          `json:"endTime"`
	Temperature json.RawMessage `json:"temperature"`
	TempUnit    string          `json:"temperatureUnit"`
	Wind        json.RawMessage `json:"windSpeed"`
	Chance      json.RawMessage `json:"probabilityOfPrecipitation"`
	Dew         json.RawMessage `json:"dewpoint"`
	Humidity    json.RawMessage `json:"relativeHumidity"`
}

// periods reads the hourly form. It has no cloud and no amounts of rain.
func (r *reader) periods(raw json.RawMessage) (out [quantities][]entry, err error) {
	var list []period
	if err := json.Unmarshal(raw, &list); err != nil {
		return out, refused(r.name, "forecast.json", "periods", begin(raw), "a list of hours", "Fetch it again.")
	}
	if len(list) > longestForecast {
		list = list[:longestForecast]
	}
	left := map[quantity]*wrong{}
	for i, p := range list {
		from, to, ok := p.interval()
		if !ok {
			return out, refused(r.name, "forecast.time", fmt.Sprintf("period %d", i+1), p.Start, "a time as 2026-10-03T12:00:00-05:00", "Fetch it again.")
		}
		for q, value := range map[quantity]func() (float64, string, error){
			temperature: p.temperature, wind: p.wind,
			dewPoint: object(p.Dew), humidity: object(p.Humidity), chance: object(p.Chance),
		} {
			e, w := layerKinds[q].one(value, from, to)
			if w != nil {
				left[q] = w
			} else if !math.IsNaN(e.value) {
				out[q] = append(out[q], e)
			}
		}
	}
	for q, kind := range layerKinds {
		if w := left[quantity(q)]; w != nil {
			out[q] = nil
			r.leaveOut(w.rule, kind.name, w.got, w.want, "The layer %s is left out: %s.", kind.name, w.say)
		}
	}
	return out, nil
}

func (p period) interval() (from, to time.Time, ok bool) {
	from, ok = parseInstant(p.Start)
	if !ok {
		return from, to, false
	}
	if p.End == "" {
		return from, from.Add(time.Hour), true
	}
	to, ok = parseInstant(p.End)
	return from, to, ok && to.After(from)
}

// one turns a figure with its unit into an entry.
func (k layerKind) one(value func() (float64, string, error), from, to time.Time) (entry, *wrong) {
	x, unit, err := value()
	if err == nil && math.IsNaN(x) {
		return entry{from.Unix(), to.Unix(), x}, nil
	}
	if err != nil {
		return entry{}, k.unsound(err.Error(), from)
	}
	convert, ok := k.toOwn(unit)
	if !ok {
		return entry{}, &wrong{"forecast.unit", unit, oneOf(k.units), fmt.Sprintf("its unit %q is not one that is known", unit)}
	}
	e := entry{from.Unix(), to.Unix(), convert(x)}
	if !k.possible(e) {
		return entry{}, k.unsound(fmt.Sprint(x), from)
	}
	e.value = min(e.value, k.most(e))
	return e, nil
}

// A measure is a figure with its unit, as objects have it.
type measure struct {
	Unit  string          `json:"unitCode"`
	Value json.RawMessage `json:"value"`
	Low   json.RawMessage `json:"minValue"`
	High  json.RawMessage `json:"maxValue"`
}

// object returns what reads {"unitCode", "value"}, or the middle of {"minValue", "maxValue"}.
func object(raw json.RawMessage) func() (float64, string, error) {
	return func() (float64, string, error) {
		var m *measure
		if len(raw) == 0 {
			return math.NaN(), "", nil
		}
		if err := json.Unmarshal(raw, &m); err != nil {
			return 0, "", notFigure(raw)
		}
		if m == nil {
			return math.NaN(), "", nil
		}
		x, err := numberOrNull(m.Value)
		if err != nil {
			return 0, "", notFigure(m.Value)
		}
		low, errLow := numberOrNull(m.Low)
		high, errHigh := numberOrNull(m.High)
		if math.IsNaN(x) && errLow == nil && errHigh == nil {
			x = (low + high) / 2
		}
		return x, m.Unit, nil
	}
}

// A notFigure is what stands where a figure should.
type notFigure string

func (e notFigure) Error() string { return string(e) }

func (p period) temperature() (float64, string, error) {
	if x, err := numberOrNull(p.Temperature); err == nil {
		unit, known := map[string]string{"F": "degF", "C": "degC"}[p.TempUnit]
		if !known {
			unit = p.TempUnit
		}
		return x, unit, nil
	}
	return object(p.Temperature)()
}

// windWords are the units of winds that come as words.
var windWords = []struct {
	word  string
	toKmH float64
}{{" mph", 1.609344}, {" km/h", 1}, {" kt", 1.852}}

// wind reads "10 mph", "5 to 10 mph" as its middle, or an object.
func (p period) wind() (float64, string, error) {
	var words string
	if json.Unmarshal(p.Wind, &words) != nil {
		return object(p.Wind)()
	}
	if words == "" {
		return math.NaN(), "", nil
	}
	for _, u := range windWords {
		figures, ok := strings.CutSuffix(words, u.word)
		if !ok {
			continue
		}
		sum, parts := 0.0, strings.Split(figures, " to ")
		for _, part := range parts {
			x, err := strconv.ParseUint(part, 10, 16)
			if err != nil || len(parts) > 2 {
				return 0, "", notFigure(p.Wind)
			}
			sum += float64(x)
		}
		return sum / float64(len(parts)) * u.toKmH, "km_h-1", nil
	}
	return 0, "", notFigure(p.Wind)
}
