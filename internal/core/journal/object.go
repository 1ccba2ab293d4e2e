package journal

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
)

// Longest texts, in characters; judgement.
const (
	maxName   = 80
	maxNote   = 500
	maxTicket = 32
)

// MaxSeason is the longest season file in bytes that one event carries; judgement.
const MaxSeason = 4 << 20

// An object is a JSON object being read key by key. What cannot be read is gathered; a key that nobody asked
// for is refused, so that nothing entered is silently passed over.
type object struct {
	m    map[string]any
	path string // of the object inside the body, "to.": empty at the top
	read []string
	errs *problem.InputErrors // shared with the objects inside
}

func open(m map[string]any) *object { return &object{m: m, errs: &problem.InputErrors{}} }

func openBody(body []byte) (*object, error) {
	m, err := parseObject(body)
	if err != nil {
		return nil, &problem.InputError{
			Rule: "entry.json", Label: "Entry", Got: cut(string(body)),
			Want: "one JSON object of texts and integers; " + err.Error(),
		}
	}
	return open(m), nil
}

// inside returns the object under key.
func (o *object) inside(key string) *object {
	return &object{m: o.object(key), path: o.path + key + ".", errs: o.errs}
}

func (o *object) wrong(key, got, want string) {
	*o.errs = append(*o.errs, &problem.InputError{Rule: "entry.form", Label: o.path + key, Got: got, Want: want})
}

// close returns what was wrong so far, unread keys among it.
func (o *object) close() error {
	var unread []string
	for k := range o.m {
		if !slices.Contains(o.read, k) {
			unread = append(unread, k)
		}
	}
	slices.Sort(unread)
	for _, k := range unread {
		o.wrong(k, show(o.m[k]), "no such key")
	}
	return o.errs.Or()
}

// show returns v as written, cut to a readable length.
func show(v any) string { return cut(string(appendValue(nil, v))) }

func cut(s string) string {
	if utf8.RuneCountInString(s) > 60 {
		s = string([]rune(s)[:57]) + "..."
	}
	return s
}

func (o *object) get(key string) (any, bool) {
	o.read = append(o.read, key)
	v, ok := o.m[key]
	return v, ok
}

func (o *object) text(key string, most int) string {
	v, ok := o.get(key)
	s, isText := v.(string)
	switch {
	case !ok:
		o.wrong(key, "", "a text")
	case !isText:
		o.wrong(key, show(v), "a text")
	case s == "":
		o.wrong(key, `""`, "a text that is not empty")
	case utf8.RuneCountInString(s) > most:
		o.wrong(key, show(v), fmt.Sprintf("at most %d characters", most))
	case Clean(s) != s:
		o.wrong(key, show(v), "no control characters and no marks that turn the reading direction")
	}
	return s
}

func (o *object) optText(key string, most int) string {
	if _, ok := o.m[key]; !ok {
		return ""
	}
	return o.text(key, most)
}

func (o *object) textList(key string) []string {
	v, ok := o.get(key)
	if !ok {
		return nil
	}
	list, isList := v.([]any)
	out := make([]string, 0, len(list))
	for _, x := range list {
		s, isText := x.(string)
		isList = isList && isText && Clean(s) == s && utf8.RuneCountInString(s) <= maxNote
		out = append(out, s)
	}
	if !isList {
		o.wrong(key, show(v), "a list of texts")
	}
	return out
}

func (o *object) integer(key string, least, most int64) int64 {
	v, ok := o.get(key)
	n, isInt := v.(int64)
	switch {
	case !ok:
		o.wrong(key, "", "an integer")
	case !isInt:
		o.wrong(key, show(v), "an integer")
	case n < least || n > most:
		o.wrong(key, show(v), strconv.FormatInt(least, 10)+" to "+strconv.FormatInt(most, 10))
	}
	return n
}

func (o *object) optInteger(key string, least, most int64) *int64 {
	if _, ok := o.m[key]; !ok {
		return nil
	}
	n := o.integer(key, least, most)
	return &n
}

func (o *object) truth(key string) bool {
	v, ok := o.get(key)
	b, isBool := v.(bool)
	if ok && !isBool {
		o.wrong(key, show(v), "true or false")
	}
	return b
}

func (o *object) object(key string) map[string]any {
	v, ok := o.get(key)
	m, isObject := v.(map[string]any)
	if !ok || !isObject {
		got := ""
		if ok {
			got = show(v)
		}
		o.wrong(key, got, "an object")
	}
	return m
}

func (o *object) id(key string) ID {
	id := ID(o.text(key, maxName))
	if id != "" && !id.Valid() {
		o.wrong(key, string(id), "a UUID in lower case")
	}
	return id
}

func (o *object) idList(key string) []ID {
	var ids []ID
	for _, s := range o.textList(key) {
		if !ID(s).Valid() {
			o.wrong(key, s, "UUIDs in lower case")
		}
		ids = append(ids, ID(s))
	}
	return ids
}

func (o *object) instant(key string) time.Time {
	s := o.text(key, maxName)
	t, err := ParseInstant(s)
	if err != nil && s != "" {
		o.wrong(key, s, "an instant like 2031-09-14T18:02:11.000Z")
	}
	return t
}

func (o *object) optInstant(key string) *time.Time {
	if _, ok := o.m[key]; !ok {
		return nil
	}
	t := o.instant(key)
	return &t
}

func (o *object) day(key string) calendar.Day {
	s := o.text(key, maxName)
	d, err := calendar.ParseDay(s)
	if err != nil && s != "" {
		o.wrong(key, s, "a date like 2031-09-14")
	}
	return d
}

func (o *object) optDay(key string) *calendar.Day {
	if _, ok := o.m[key]; !ok {
		return nil
	}
	d := o.day(key)
	return &d
}

// Clean returns s without control characters other than tab and line feed, and without the marks that turn the
// reading direction and so can make a text show other than it is.
func Clean(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '\n' || r == '\t' {
			return r
		}
		if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == utf8.RuneError {
			return -1
		}
		return r
	}, s)
}

// A builder gathers the keys of a body; absent values leave no key.
type builder map[string]any

func (b builder) text(key, s string) {
	if s != "" {
		b[key] = s
	}
}

func (b builder) day(key string, d *calendar.Day) {
	if d != nil && !d.IsZero() {
		b[key] = d.String()
	}
}

func (b builder) instant(key string, t *time.Time) {
	if t != nil && !t.IsZero() {
		b[key] = FormatInstant(*t)
	}
}

// set puts an optional printed number.
func set[N ~int64](b builder, key string, n *N) {
	if n != nil {
		b[key] = int64(*n)
	}
}

// number reads an optional printed number.
func number[N ~int64](o *object, key string) *N {
	n := o.optInteger(key, -maxInteger, maxInteger)
	if n == nil {
		return nil
	}
	v := N(*n)
	return &v
}

func (b builder) body() []byte { return appendValue(nil, map[string]any(b)) }

func texts(list []string) []any {
	out := make([]any, len(list))
	for i, s := range list {
		out[i] = s
	}
	return out
}
