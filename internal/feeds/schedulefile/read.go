package schedulefile

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// A reader turns nodes into values and collects everything it cannot use.
type reader struct {
	file string
	data []byte
	errs problem.InputErrors
}

func newReader(file string, data []byte) (*reader, node, error) {
	r := &reader{file: file, data: bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))}
	root, err := tree(file, data)
	if err != nil {
		return nil, node{}, err
	}
	return r, root, nil
}

func (r *reader) fail(n node, path, rule, got, want string) {
	label := path
	if label == "" {
		label = "The file"
	}
	r.errs = append(r.errs, &problem.InputError{Rule: rule, Label: label, Got: got, Want: want, Where: r.place(n)})
}

func (r *reader) place(n node) problem.Place { return place(r.file, r.data, n.offset, "") }

// object calls the reader of every key of n. Unknown and repeated keys and missing ones of must are refused;
// a null counts as left out.
func (r *reader) object(n node, path string, must []string, known map[string]func(n node, path string)) {
	if n.kind != '{' {
		r.fail(n, path, "json.type", n.shown(), "an object, {…}")
		return
	}
	seen := map[string]bool{}
	for i, key := range n.keys {
		read, ok := known[key]
		switch at := join(path, key); {
		case !ok:
			r.fail(n.items[i], at, "json.key", "an unknown key", "one of "+strings.Join(sorted(known), ", "))
		case seen[key]:
			r.fail(n.items[i], at, "json.key", "given twice", "once")
		case n.items[i].kind == 'n':
		default:
			seen[key] = true
			read(n.items[i], at)
		}
	}
	for _, key := range must {
		if !seen[key] {
			r.fail(n, join(path, key), "json.missing", "", "a value")
		}
	}
}

// has reports whether n is an object with that key.
func (n node) has(key string) bool { return slices.Contains(n.keys, key) }

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func sorted(known map[string]func(node, string)) []string {
	keys := make([]string, 0, len(known))
	for key := range known {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	return keys
}

// list calls each for every item of n.
func (r *reader) list(n node, path string, each func(n node, path string)) {
	if n.kind != '[' {
		r.fail(n, path, "json.type", n.shown(), "a list, […]")
		return
	}
	for i, item := range n.items {
		each(item, fmt.Sprintf("%s[%d]", path, i))
	}
}

// text returns the string n holds.
func (r *reader) text(n node, path string) (string, bool) {
	if n.kind == '"' {
		return n.text, true
	}
	want := "a string, \"…\""
	if n.kind == '0' {
		want = fmt.Sprintf("the number as a string, %q, so that no digit is lost", n.text)
	}
	r.fail(n, path, "json.type", n.shown(), want)
	return "", false
}

// whole returns the whole number n holds; it may be written as a number or a string.
func (r *reader) whole(n node, path string, low, high int) (int, bool) {
	v, err := strconv.Atoi(n.text)
	if n.kind != '0' && n.kind != '"' || err != nil || v < low || v > high {
		r.fail(n, path, "json.type", n.shown(), fmt.Sprintf("a whole number from %d to %d", low, high))
		return 0, false
	}
	return v, true
}

// parsed returns what parse makes of the string n holds.
func parsed[T any](r *reader, n node, path string, parse func(label, text string) (T, error)) *T {
	text, ok := r.text(n, path)
	if !ok {
		return nil
	}
	v, err := parse(path, text)
	if err != nil {
		r.refuse(n, err)
		return nil
	}
	return &v
}

// refuse keeps the error of a parser, with the place it lacks.
func (r *reader) refuse(n node, err error) {
	if e, ok := err.(*problem.InputError); ok { //nolint:errorlint // parsers of trade return it unwrapped
		with := *e
		with.Where = r.place(n)
		r.errs = append(r.errs, &with)
		return
	}
	r.fail(n, "", "json.value", n.text, err.Error())
}

func (r *reader) decimal(n node, path string) *trade.Decimal {
	return parsed(r, n, path, trade.ParseDecimal)
}

func (r *reader) fraction(n node, path string) *trade.Fraction {
	return parsed(r, n, path, trade.ParseFraction)
}

func (r *reader) day(n node, path string) *calendar.Day {
	return parsed(r, n, path, func(label, text string) (calendar.Day, error) {
		d, err := calendar.ParseDay(text)
		if err != nil {
			return d, &problem.InputError{Rule: "date.form", Label: label, Got: text, Want: "a date like 2031-09-14"}
		}
		return d, nil
	})
}

func (r *reader) crop(n node, path string) crop.Kind {
	text, ok := r.text(n, path)
	if !ok {
		return crop.Unknown
	}
	k, ok := crop.Parse(text)
	if !ok {
		var names []string
		for _, k := range crop.Kinds() {
			names = append(names, k.String())
		}
		r.fail(n, path, "crop.unknown", text, "one of "+strings.Join(names, ", "))
	}
	return k
}

// pounds returns a weight; whole numbers may stand without quotes.
func (r *reader) pounds(n node, path string) *trade.Pounds {
	if n.kind == '0' {
		n.kind = '"'
	}
	return parsed(r, n, path, trade.ParsePounds)
}

// shown returns what stands at n, for a message.
func (n node) shown() string {
	switch n.kind {
	case '{':
		return "an object"
	case '[':
		return "a list"
	}
	return n.text
}
