package seasonfile

import (
	"cmp"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/feeds/quantity"
)

// A codec turns a value of the file into a V and back.
type codec[V any] struct {
	want string // what is accepted, with unit and range
	// read returns ok false when the value was refused; the reader has been told why.
	read func(r *reader, label string, n *node) (v V, ok bool)
	text func(v V) string // in the file's spelling
}

// spell returns v in the file's spelling; instants stand on the farm's clock.
func (c codec[V]) spell(w *writer, v V) string {
	if t, ok := any(v).(time.Time); ok {
		v = any(t.In(w.zone)).(V)
	}
	return c.text(v)
}

// names turn the keys of a table into a K and back.
type names[K cmp.Ordered] struct {
	want    string
	example string
	read    func(r *reader, label string, e entry) (k K, ok bool)
	text    func(k K) string
}

// Lengths of text that a person types, in characters.
const (
	maxName = 80
	maxNote = 500
	maxID   = 40
)

// text returns the codec of plain text of at most most characters.
func text(most int) codec[string] {
	want := fmt.Sprintf("text in quotes, 1 to %d characters", most)
	return codec[string]{
		want: want, text: quote,
		read: func(r *reader, label string, n *node) (string, bool) {
			if n.form != aText {
				r.wrongForm(n, label, want, aText)
				return "", false
			}
			if c := utf8.RuneCountInString(n.text); c < 1 || c > most {
				r.refuse(n, refusal{"text.length", label, n.shown(), want, fmt.Sprintf("It has %d characters.", c)})
				return "", false
			}
			for _, c := range n.text {
				// A line may break inside a note; what does not print or turns the direction of writing may not.
				if c != '\n' && c != '\t' && !unicode.IsPrint(c) && !unicode.IsSpace(c) || unicode.Is(unicode.Bidi_Control, c) {
					r.refuse(n, refusal{"text.character", label, fmt.Sprintf("%U", c), "text that prints", "Take this hidden character out."})
					return "", false
				}
			}
			return n.text, true
		},
	}
}

// idText reports whether s can be an ID.
func idText(s string) bool {
	if s == "" || len(s) > maxID {
		return false
	}
	const letters = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_"
	return strings.Trim(s, letters) == ""
}

// identity returns the codec of a record's own ID, unique in its section.
func identity(section string) codec[string] {
	want := fmt.Sprintf("a short id of 1 to %d letters, digits, - and _, used once among [[%s]]", maxID, section)
	return codec[string]{
		want: want, text: quote,
		read: func(r *reader, label string, n *node) (string, bool) {
			if n.form != aText {
				r.wrongForm(n, label, want, aText)
				return "", false
			}
			if !idText(n.text) {
				r.refuse(n, refusal{"id.form", label, n.shown(), want, "Put the long form in name."})
				return "", false
			}
			if first, ok := r.ids[section][n.text]; ok {
				r.refuse(n, refusal{"id.twice", label, n.text, want, fmt.Sprintf("Line %d has it already; give one of them another.", r.line(first.offset))})
				return "", false
			}
			if r.ids[section] == nil {
				r.ids[section] = map[string]*node{}
			}
			r.ids[section][n.text] = n
			return n.text, true
		},
	}
}

// ref returns the codec of the ID of a record in one of the sections.
func ref(sections ...string) codec[string] {
	want := "the id of a [[" + strings.Join(sections, "]] or [[") + "]]"
	return codec[string]{
		want: want, text: quote,
		read: func(r *reader, label string, n *node) (string, bool) {
			if n.form != aText {
				r.wrongForm(n, label, want, aText)
				return "", false
			}
			r.refs = append(r.refs, reference{sections, n.text, label, n})
			return n.text, true
		},
	}
}

// refNames returns the names of records as keys of a table.
func refNames(example string, sections ...string) names[string] {
	want := "the id of a [[" + strings.Join(sections, "]] or [[") + "]]"
	return names[string]{
		want: want, example: example, text: func(s string) string { return s },
		read: func(r *reader, label string, e entry) (string, bool) {
			at := *e.node
			at.offset = e.node.key
			r.refs = append(r.refs, reference{sections, e.name, label + " key", &at})
			return e.name, true
		},
	}
}

// choice returns the codec of one of a few words.
func choice(words ...string) codec[string] {
	want := "one of " + strings.Join(words, ", ")
	return codec[string]{
		want: want, text: quote,
		read: func(r *reader, label string, n *node) (string, bool) {
			if n.form != aText {
				r.wrongForm(n, label, want, aText)
				return "", false
			}
			if slices.Contains(words, n.text) {
				return n.text, true
			}
			next := ""
			if near := nearest(n.text, words); near != "" {
				next = fmt.Sprintf("Write %q if that is meant.", near)
			}
			r.refuse(n, refusal{"word.unknown", label, n.shown(), want, next})
			return "", false
		},
	}
}

// cropWords are the names of the crops.
func cropWords() []string {
	var words []string
	for _, k := range crop.Kinds() {
		words = append(words, k.String())
	}
	return words
}

// aCrop returns the codec of a crop's name.
func aCrop() codec[crop.Kind] {
	word := choice(cropWords()...)
	return codec[crop.Kind]{
		want: word.want, text: func(k crop.Kind) string { return quote(k.String()) },
		read: func(r *reader, label string, n *node) (crop.Kind, bool) {
			w, ok := word.read(r, label, n)
			k, _ := crop.Parse(w)
			return k, ok
		},
	}
}

// cropNames returns the crops as keys of a table.
func cropNames() names[crop.Kind] {
	return names[crop.Kind]{
		want: "a crop (" + strings.Join(cropWords(), ", ") + ")", example: "soybean", text: crop.Kind.String,
		read: func(r *reader, label string, e entry) (crop.Kind, bool) {
			k, ok := crop.Parse(e.name)
			if !ok {
				next := ""
				if near := nearest(e.name, cropWords()); near != "" {
					next = fmt.Sprintf("Write %s if that is meant.", near)
				}
				r.refuseAt(e.node.key, refusal{"word.unknown", label + " key", e.name, "one of " + strings.Join(cropWords(), ", "), next})
				e.node.refused = true
			}
			return k, ok
		},
	}
}

// wheatClass returns the codec of a class of wheat.
func wheatClass() codec[string] {
	var words []string
	for _, c := range crop.WheatClasses() {
		words = append(words, c.String())
	}
	return choice(words...)
}

// filePath returns the codec of the name of another file, relative to the season file.
func filePath() codec[string] {
	const want = "the name of a file beside the season file or in a folder below it, as schedules/elevator.json"
	return codec[string]{
		want: want, text: quote,
		read: func(r *reader, label string, n *node) (string, bool) {
			if n.form != aText {
				r.wrongForm(n, label, want, aText)
				return "", false
			}
			if strings.Contains(n.text, `\`) {
				r.refuse(n, refusal{"path.form", label, n.text, want, "Part folders with / on every kind of computer."})
				return "", false
			}
			if _, ok := text(maxNote).read(r, label, n); !ok {
				return "", false
			}
			if !fs.ValidPath(n.text) {
				r.refuse(n, refusal{"path.form", label, n.shown(), want, "Put the file beside the season file."})
				return "", false
			}
			return n.text, true
		},
	}
}

// timeZone returns the codec of the name of the farm's clock.
func timeZone() codec[string] {
	const want = "a name of the IANA time zone database, as America/Chicago"
	return codec[string]{
		want: want, text: quote,
		read: func(r *reader, label string, n *node) (string, bool) {
			if n.form != aText || r.zone == nil { // the zone was loaded before the tables are read
				r.refuse(n, refusal{"zone.unknown", label, n.shown(), want, ""})
				return "", false
			}
			return n.text, true
		},
	}
}

// truth returns the codec of true and false.
func truth() codec[bool] {
	const want = "true or false"
	return codec[bool]{
		want: want, text: strconv.FormatBool,
		read: func(r *reader, label string, n *node) (bool, bool) {
			if n.form != aBool {
				r.wrongForm(n, label, want, aBool)
			}
			return n.text == "true", n.form == aBool
		},
	}
}

// number returns the codec of a number from low to high of what.
func number(low, high float64, what string) codec[float64] {
	want := fmt.Sprintf("%s from %s to %s", what, quantity.FormatNumber(low), quantity.FormatNumber(high))
	return codec[float64]{
		want: want, text: quantity.FormatNumber,
		read: func(r *reader, label string, n *node) (float64, bool) {
			if n.form != aNumber {
				r.wrongForm(n, label, want, aNumber)
				return 0, false
			}
			x, err := quantity.ParseNumber(label, strings.ReplaceAll(n.text, "_", ""))
			if err != nil {
				r.refuseWith(n, label, want, err)
				return 0, false
			}
			if x < low || x > high {
				r.refuse(n, refusal{"number.range", label, n.text, want, ""})
				return 0, false
			}
			return x, true
		},
	}
}

// whole returns the codec of a whole number from low to high of what.
func whole(low, high int, what string) codec[int] {
	want := fmt.Sprintf("%s from %d to %d, whole", what, low, high)
	return codec[int]{
		want: want, text: strconv.Itoa,
		read: func(r *reader, label string, n *node) (int, bool) {
			if n.form != aNumber {
				r.wrongForm(n, label, want, aNumber)
				return 0, false
			}
			x, err := strconv.Atoi(strings.ReplaceAll(n.text, "_", ""))
			if err != nil || x < low || x > high {
				r.refuse(n, refusal{"number.range", label, n.text, want, ""})
				return 0, false
			}
			return x, true
		},
	}
}

// aDay returns the codec of a date.
func aDay() codec[calendar.Day] {
	const want = "a date as 2031-09-14"
	return codec[calendar.Day]{
		want: want, text: calendar.Day.String,
		read: func(r *reader, label string, n *node) (calendar.Day, bool) {
			if n.form != aDate && n.form != aText {
				r.wrongForm(n, label, want, aDate)
				return calendar.Day{}, false
			}
			d, err := quantity.ParseDay(label, n.text)
			if err != nil {
				r.refuseWith(n, label, "", err)
				return calendar.Day{}, false
			}
			if d.Year < minYear || d.Year > maxYear {
				r.refuse(n, refusal{"date.range", label, n.text, fmt.Sprintf("a date from %d to %d", minYear, maxYear), ""})
				return calendar.Day{}, false
			}
			return d, true
		},
	}
}

// The years a season may lie in. Weather records that serve as what-if seasons begin about here.
const minYear, maxYear = 1900, 2199

// anInstantOf returns the codec of a date and time.
func anInstantOf() codec[time.Time] {
	const want = "a date and time as 2031-09-14 07:10 on the farm's clock, or with an offset as 2031-09-14T07:10:00-05:00"
	return codec[time.Time]{
		want: want, text: func(t time.Time) string { return quantity.FormatInstant(t, t.Location()) },
		read: func(r *reader, label string, n *node) (time.Time, bool) {
			if n.form != anInstant && n.form != aWallTime && n.form != aText {
				r.wrongForm(n, label, want, anInstant)
				return time.Time{}, false
			}
			zone := r.zone
			if zone == nil {
				zone = time.UTC // the missing zone is reported; a time without it is only looked at for its form
			}
			t, err := quantity.ParseInstant(label, n.text, zone)
			if err != nil {
				r.refuseWith(n, label, "", err)
				return time.Time{}, false
			}
			if t.Year() < minYear || t.Year() > maxYear {
				r.refuse(n, refusal{"date.range", label, n.text, fmt.Sprintf("a date from %d to %d", minYear, maxYear), ""})
				return time.Time{}, false
			}
			return t, true
		},
	}
}
