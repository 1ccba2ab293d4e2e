package gridpoint

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"time"
)

// An entry is one value of a layer and the seconds since 1970 that it is for.
type entry struct {
	from, to int64
	value    float64 // NaN: nothing applies
}

// A wrong is why a layer cannot be used.
type wrong struct{ rule, got, want, say string }

func (w *wrong) Error() string { return w.say }

// layers reads the raw grid. A layer that cannot be used is left out and said.
func (r *reader) layers(properties map[string]json.RawMessage) (out [quantities][]entry, err error) {
	for q, kind := range layerKinds {
		raw, there := properties[kind.name]
		if !there {
			continue
		}
		entries, err := kind.entries(raw, r.out.Issued)
		var w *wrong
		switch {
		case errors.As(err, &w):
			r.leaveOut(w.rule, kind.name, w.got, w.want, "The layer %s is left out: %s.", kind.name, w.say)
		case err != nil:
			return out, err
		default:
			out[q] = entries
		}
	}
	return out, nil
}

// entries reads one layer of the raw grid.
func (k layerKind) entries(raw json.RawMessage, now time.Time) ([]entry, error) {
	var layer struct {
		Unit   string `json:"uom"`
		Values []struct {
			ValidTime string          `json:"validTime"`
			Value     json.RawMessage `json:"value"`
		} `json:"values"`
	}
	if err := json.Unmarshal(raw, &layer); err != nil {
		return nil, &wrong{"forecast.layer", begin(raw), "a unit and a list of values, each with its time", "it has another form than it had"}
	}
	convert, ok := k.toOwn(layer.Unit)
	if !ok {
		return nil, &wrong{"forecast.unit", layer.Unit, oneOf(k.units), fmt.Sprintf("its unit %q is not one that is known", layer.Unit)}
	}
	var out []entry
	for i, v := range layer.Values {
		from, to, ok := parseInterval(v.ValidTime, now)
		if !ok {
			return nil, &wrong{"forecast.time", v.ValidTime, "two times, or a time and a length, as 2026-10-03T12:00:00+00:00/PT6H", fmt.Sprintf("the time of its value %d is not one", i+1)}
		}
		x, err := numberOrNull(v.Value)
		if err != nil {
			return nil, k.unsound(string(v.Value), from)
		}
		e := entry{from.Unix(), to.Unix(), convert(x)}
		if !k.possible(e) {
			return nil, k.unsound(string(v.Value), from)
		}
		e.value = min(e.value, k.most(e)) // humidity of 101 % is 100 %
		out = append(out, e)
	}
	return out, nil
}

// possible reports whether a value lies within what can be; one that is missing does.
func (k layerKind) possible(e entry) bool {
	high := k.high
	if k.name == layerKinds[amount].name {
		high *= max(1, float64(e.to-e.from)/(6*3600))
	}
	return math.IsNaN(e.value) || (e.value >= k.low && e.value <= high)
}

// most returns the largest value that is kept as it is.
func (k layerKind) most(entry) float64 {
	if k.name == layerKinds[humidity].name {
		return 1
	}
	return math.Inf(1)
}

func (k layerKind) unsound(got string, at time.Time) *wrong {
	return &wrong{
		"forecast.range", begin([]byte(got)), k.accepted,
		fmt.Sprintf("its value for %s is not possible", at.UTC().Format("2006-01-02 15:04 MST")),
	}
}

// numberOrNull reads a figure; null, or none, is NaN. What is not finite is an error.
func numberOrNull(raw json.RawMessage) (float64, error) {
	if len(raw) == 0 || string(raw) == "null" {
		return math.NaN(), nil
	}
	x, err := strconv.ParseFloat(string(raw), 64)
	if err == nil && (math.IsInf(x, 0) || math.IsNaN(x)) {
		err = strconv.ErrRange
	}
	return x, err
}

func oneOf(words []string) string {
	out := ""
	for i, w := range words {
		switch {
		case i > 0 && i == len(words)-1:
			out += " or "
		case i > 0:
			out += ", "
		}
		out += w
	}
	return out
}

// A Refusal is what the service says when it cannot answer, RFC 7807. [nws-api]
type Refusal struct {
	Type          string `json:"type"`
	Title         string `json:"title"`
	Status        int    `json:"status"`
	Detail        string `json:"detail"`
	CorrelationID string `json:"correlationId"`
}

// ReadRefusal reads the body of an answer that is none. ok is false where it is not in the service's own form: then it
// came from something between, and says nothing about the request.
func ReadRefusal(body []byte) (r Refusal, ok bool) {
	if checkShape("", body) != nil || json.Unmarshal(body, &r) != nil || r.Type == "" && r.Title == "" && r.Detail == "" {
		return Refusal{}, false
	}
	for _, text := range []*string{&r.Type, &r.Title, &r.Detail, &r.CorrelationID} {
		*text = printable([]byte(*text), 200)
	}
	return r, true
}

// A Point is where a place lies on the service's grid.
type Point struct {
	Office string // three letters
	X, Y   int
	Zone   string // IANA name of the clock there; empty where the answer does not say
	Near   string // "Town, ST"; empty where the answer does not say
}

// ReadPoint reads where a place lies on the grid. The error is a [problem.InputError].
func ReadPoint(name string, data []byte) (Point, error) {
	doc, err := decode(name, data)
	if err != nil {
		return Point{}, err
	}
	p := Point{Office: doc.text("gridId"), Zone: doc.text("timeZone")}
	x, y := doc.text("gridX"), doc.text("gridY")
	if !isOffice(p.Office) || !isIndex(x) || !isIndex(y) {
		return Point{}, refused(name, "forecast.point", "place on the grid", p.Office+" "+x+","+y, "an office of three letters and two whole numbers", "Fetch it again.")
	}
	p.X, _ = strconv.Atoi(x) // checked above
	p.Y, _ = strconv.Atoi(y)
	var near struct {
		Properties struct{ City, State string }
	}
	if json.Unmarshal(doc.Properties["relativeLocation"], &near) == nil && near.Properties.City != "" {
		p.Near = begin([]byte(near.Properties.City + ", " + near.Properties.State))
	}
	return p, nil
}

func isOffice(s string) bool {
	if len(s) != 3 {
		return false
	}
	for i := range len(s) {
		if (s[i] < 'A' || s[i] > 'Z') && (s[i] < '0' || s[i] > '9') {
			return false
		}
	}
	return true
}

func isIndex(s string) bool {
	if s == "" || len(s) > 4 {
		return false
	}
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}
