package web

import (
	"encoding/json"
	"errors"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"

	"threshday/internal/answer"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/feeds/quantity"
	"threshday/internal/words"
)

// A form is what a person typed, by the key of its box. Everything wrong in it is gathered.
type form struct {
	in    map[string]json.RawMessage
	used  map[string]bool
	zone  *time.Location
	typed journal.Typed
	wrong problem.InputErrors
}

func newForm(body json.RawMessage, zone *time.Location) *form {
	f := &form{used: map[string]bool{}, zone: zone, typed: journal.Typed{}}
	if len(body) == 0 {
		return f
	}
	if err := json.Unmarshal(body, &f.in); err != nil {
		f.wrong = append(f.wrong, &problem.InputError{Rule: "request.json", Label: "body", Want: "an object with a text for each box"})
	}
	return f
}

// labels are the boxes whose name is not their key.
var labels = map[string]string{
	"fm": "Foreign material", "bcfm": "Broken corn and foreign material", "heat": "Heat damage", "device": "Read by", "at": "When", "on": "Day", "cash": "Cash price",
	"from": "First day", "until": "Last day", "rain": "Chance of rain", "when": "When it rains", "amount": "How much", "of": "Entry", "why": "Reason", "into": "Other load",
	"plants": "Plants", "lat": "Latitude", "lon": "Longitude", "zone": "Where", "mature": "Ripe on", "out_at": "Time out",
}

func labelOf(key string) string {
	if l, ok := labels[key]; ok {
		return l
	}
	return strings.TrimSuffix(words.Sentence(strings.ReplaceAll(key, "_", " ")), ".")
}

// paperBoxes are the boxes that findings about a cheque or a sheet mean, by the subject and the label.
var paperBoxes = map[string]map[string]string{
	"cheque": {"Date": "on", "Line": "lines", "Cheque": "number"},
	"sheet":  {"Net weight": "net_lb", "Settled weight": "settle_lb", "Price": "price", "Sheet": ""},
}

// keyOf returns the box that a finding about an entry means; empty: none by itself.
func keyOf(rule, label string) string {
	subject, _, _ := strings.Cut(rule, ".")
	if key, ok := paperBoxes[subject][label]; ok {
		return key
	}
	for key, l := range labels {
		if l == label {
			return key
		}
	}
	switch label {
	case "Time of the reading", "Time the bid was heard":
		return "at"
	case "Net weight", "Full weight", "Gross weight":
		return "gross"
	case "Empty weight":
		return "tare"
	case "Day of the sighting":
		return "on"
	case "Price":
		return "cash"
	case "Damage":
		return "damage"
	}
	return strings.ReplaceAll(strings.ToLower(label), " ", "_")
}

// mostBoxWords is how many spaces the name of a box has; what is longer names something else.
const mostBoxWords = 5

// onForm turns a complaint into one beside its box.
func onForm(c answer.Complaint) answer.Complaint {
	c.Say = strings.TrimPrefix(c.Say, c.Where+": ")
	if c.Rule == "entry.duplicate" && c.Want != "" {
		if text := answer.ChangeSaid(journal.Change{Key: c.Label, Old: c.Want, New: c.Got}); text != "" {
			c.Say = "This entry is in the book already, and what came now says otherwise: " + text + ". It was not applied."
		}
		c.Label = ""
	}
	if c.Where == "" && c.Label != "" && strings.Count(c.Label, " ") <= mostBoxWords {
		c.Where = keyOf(c.Rule, c.Label)
	}
	return c
}

func (f *form) refuse(e *problem.InputError) { f.wrong = append(f.wrong, e) }

// has reports whether the box is there at all, though it may be empty.
func (f *form) has(key string) bool { _, ok := f.in[key]; return ok }

// text returns what stands in a box, without what nobody can see.
func (f *form) text(key string) string {
	f.used[key] = true
	raw, ok := f.in[key]
	if !ok || string(raw) == "null" {
		return ""
	}
	var s string
	if err := json.Unmarshal(raw, &s); err != nil {
		var n json.Number
		if json.Unmarshal(raw, &n) != nil {
			f.refuse(&problem.InputError{Rule: "box.text", Label: labelOf(key), Got: shortened(string(raw)), Want: "a text as it was typed", Where: problem.Place{Path: key}})
			return ""
		}
		s = n.String()
	}
	return strings.TrimSpace(journal.Clean(s))
}

// list returns the texts of a box that takes several.
func (f *form) list(key string) []string {
	f.used[key] = true
	var out []string
	if raw, ok := f.in[key]; ok && json.Unmarshal(raw, &out) != nil {
		if one := f.text(key); one != "" {
			out = []string{one}
		}
	}
	for i := range out {
		out[i] = strings.TrimSpace(journal.Clean(out[i]))
	}
	return slices.DeleteFunc(out, func(s string) bool { return s == "" })
}

// put sets a text where its box is there; an empty box takes it out.
func (f *form) put(key string, to *string) {
	if text := f.text(key); f.has(key) {
		*to = text
	}
}

// need refuses what is missing.
func (f *form) need(given bool, key, want string) {
	if !given && !slices.ContainsFunc(f.wrong, func(e *problem.InputError) bool { return e.Where.Path == key }) {
		f.refuse(&problem.InputError{Rule: "box.missing", Label: labelOf(key), Want: want, Where: problem.Place{Path: key}})
	}
}

// oneOf sets a word out of few.
func (f *form) oneOf(key string, to *string, known ...string) {
	text := f.text(key)
	switch {
	case !f.has(key):
	case text == "" || slices.Contains(known, text):
		*to = text
	default:
		f.refuse(&problem.InputError{Rule: "box.word", Label: labelOf(key), Got: shortened(text), Want: words.OneOf(known), Where: problem.Place{Path: key}})
	}
}

// read reads a box that may be left out; an empty one takes the value out. as is the key under which the text is kept.
func read[T any](f *form, key, as string, parse func(label, text string) (T, error), to **T) {
	text := f.text(key)
	if !f.has(key) {
		return
	}
	if text == "" {
		*to = nil
		return
	}
	v, err := parse(labelOf(key), text)
	if err != nil {
		f.refuse(atBox(err, key))
		return
	}
	*to = &v
	if as != "" {
		f.typed[as] = text
	}
}

// must reads a box into a value that has no empty form; an empty box leaves it.
func must[T any](f *form, key, as string, parse func(label, text string) (T, error), to *T) (given bool) {
	var v *T
	read(f, key, as, parse, &v)
	if v != nil {
		*to = *v
	}
	return v != nil
}

// atBox returns the complaint in err, about the box of key.
func atBox(err error, key string) *problem.InputError {
	var one *problem.InputError
	if !errors.As(err, &one) {
		return &problem.InputError{Rule: "box", Label: labelOf(key), Want: err.Error(), Where: problem.Place{Path: key}}
	}
	with := *one
	with.Where = problem.Place{Path: key}
	return &with
}

// done returns what is wrong; a box that nobody knows is wrong too.
func (f *form) done() error {
	for _, key := range slices.Sorted(maps.Keys(f.in)) {
		if !f.used[key] {
			f.refuse(&problem.InputError{Rule: "box.unknown", Label: key, Got: shortened(string(f.in[key])), Want: "a key that docs/reference/http.md lists for it", Where: problem.Place{Path: key}})
		}
	}
	return f.wrong.Or()
}

// comma is a decimal comma that can be nothing else: no grouping has one or two digits behind it.
var comma = regexp.MustCompile(`^(-?\d+),(\d{1,2})(\D.*)?$`)

func pointed(text string) string { return comma.ReplaceAllString(text, "$1.$2$3") }

// printed reads a percentage to hundredths. Whether it can be true the book judges.
func printed(label, text string) (trade.Percent, error) {
	plain := strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(pointed(text), "%"), "lb/bu"))
	d, err := trade.ParseDecimal(label, plain)
	if err != nil {
		return 0, &problem.InputError{Rule: "percent", Label: label, Got: text, Want: "a number with at most two decimals, like 15.6"}
	}
	x := d.Float() * 100
	if math.Abs(x-math.Round(x)) > 1e-6 || math.Abs(x) > 1e8 {
		return 0, &problem.InputError{Rule: "percent", Label: label, Got: text, Want: "a number with at most two decimals, like 15.6"}
	}
	return trade.Percent(math.Round(x)), nil
}

// percent reads a modelled percentage of 0 to 100.
func percent(label, text string) (float64, error) {
	x, err := quantity.ParsePercent(label, pointed(text))
	if err == nil && (x < 0 || x > 100) {
		err = &problem.InputError{Rule: "percent.range", Label: label, Got: text, Want: "0 to 100 %"}
	}
	return x, err
}

func number(label, text string) (float64, error) { return quantity.ParseNumber(label, pointed(text)) }

func count(label, text string) (int, error) {
	x, err := quantity.ParseNumber(label, text)
	if err == nil && (x != math.Trunc(x) || x < 1 || x > 10_000) {
		err = &problem.InputError{Rule: "number.whole", Label: label, Got: text, Want: "a whole number from 1"}
	}
	return int(x), err
}

func price(label, text string) (trade.Price, error) { return quantity.ParsePrice(label, text, "") }

func kind(label, text string) (crop.Kind, error) {
	k, ok := crop.Parse(text)
	if !ok {
		return 0, &problem.InputError{Rule: "crop.unknown", Label: label, Got: text, Want: words.OneOf(cropNames(crop.Kinds()))}
	}
	return k, nil
}

func clock(label, text string) (calendar.Clock, error) {
	c, err := calendar.ParseClock(text)
	if err != nil {
		return 0, &problem.InputError{Rule: "clock", Label: label, Got: text, Want: "a time of day as 07:30"}
	}
	return c, nil
}

// instant reads a time on the farm's clock, or with an offset.
func (f *form) instant(label, text string) (time.Time, error) {
	return quantity.ParseInstant(label, text, f.zone)
}

// A scaleWeight is what a scale printed, in its own unit.
type scaleWeight struct {
	n    int64
	unit journal.Unit
}

func weight(label, text string) (scaleWeight, error) {
	m, err := quantity.ParseMass(label, text)
	if err != nil {
		return scaleWeight{}, err
	}
	w, x := scaleWeight{unit: journal.Kilograms}, m.Kilograms()
	if low := strings.ToLower(text); strings.HasSuffix(low, "lb") || strings.HasSuffix(low, "lbs") {
		w.unit, x = journal.Pounds, m.Pounds()
	}
	w.n = int64(math.Round(x))
	if math.Abs(x-math.Round(x)) > 1e-6 {
		return w, &problem.InputError{Rule: "weight.whole", Label: label, Got: text, Want: "whole pounds or whole kilograms as the scale printed them, as 78460 lb or 35590 kg"}
	}
	return w, nil
}

func temperature(label, text string) (units.Temperature, error) {
	return quantity.ParseTemperature(label, text)
}
