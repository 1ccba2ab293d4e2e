package scheduletoml

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2/unstable"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// maxBytes bounds what is read: a posted schedule is a few kilobytes.
const maxBytes = 1 << 20

// A table is the file's own keys, or one [[factor]] row.
type table struct {
	name   string
	at     int // offset
	values map[string]*value
	order  []string
}

// A value is what stands behind a key, as written.
type value struct {
	kind  unstable.Kind
	text  string
	at    int
	items []*value // of a list
}

// A reader collects everything that cannot be used.
type reader struct {
	file string
	data []byte
	errs problem.InputErrors
}

// parse returns the tables of a file. The error is a file that is no TOML; whatever else is wrong is collected.
func (r *reader) parse(data []byte) (top *table, rows []*table, err error) {
	r.data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	bad := func(at int, got, want string) error {
		return &problem.InputError{Rule: "toml.form", Label: "the file", Got: got, Want: want, Where: r.place(at, "")}
	}
	if len(data) > maxBytes {
		return nil, nil, bad(0, fmt.Sprintf("%d bytes", len(data)), fmt.Sprintf("at most %d bytes", maxBytes))
	}
	if !utf8.Valid(r.data) {
		return nil, nil, bad(0, "bytes that are not UTF-8", "text in UTF-8")
	}
	top = &table{values: map[string]*value{}}
	current := top
	var p unstable.Parser
	p.Reset(r.data)
	for p.NextExpression() {
		switch e := p.Expression(); e.Kind {
		case unstable.Table, unstable.ArrayTable:
			key, at, single := single(e)
			current = &table{name: key, at: at, values: map[string]*value{}}
			if e.Kind == unstable.Table || !single {
				r.fail(at, "", "toml.table", "["+key+"]", "a table of another kind", "a row as [[moisture]], with two brackets and one name", "")
			}
			rows = append(rows, current)
		case unstable.KeyValue:
			r.assign(current, e)
		default: // remarks are not kept by the parser, and no other kind stands by itself
		}
	}
	if err := p.Error(); err != nil {
		at := len(r.data)
		var wrong *unstable.ParserError
		if errors.As(err, &wrong) {
			at = int(p.Range(wrong.Highlight).Offset)
		}
		return nil, nil, bad(at, "a mistake ("+err.Error()+")", "TOML")
	}
	return top, rows, nil
}

// single returns the key of a header or line; ok is false for one of several parts.
func single(e *unstable.Node) (name string, at int, ok bool) {
	keys := e.Key()
	keys.Next()
	first := keys.Node()
	name, at, ok = string(first.Data), int(first.Raw.Offset), keys.IsLast()
	for keys.Next() {
		name += "." + string(keys.Node().Data)
	}
	return name, at, ok
}

func (r *reader) assign(t *table, e *unstable.Node) {
	key, at, ok := single(e)
	switch {
	case !ok:
		r.fail(at, t.name, "toml.key", key, "a key of several parts", "a plain key", "")
	case t.values[key] != nil:
		r.fail(at, t.name, "toml.key", key, "given twice", "once", "")
	default:
		t.values[key] = valueOf(e.Value(), at)
		t.order = append(t.order, key)
	}
}

// valueOf keeps a value as written; one without a place of its own stands where its key does.
func valueOf(n *unstable.Node, at int) *value {
	v := &value{kind: n.Kind, text: string(n.Data), at: at}
	if n.Raw.Length > 0 {
		v.at = int(n.Raw.Offset)
	}
	if n.Kind == unstable.Array {
		for items := n.Children(); items.Next(); {
			v.items = append(v.items, valueOf(items.Node(), v.at))
		}
	}
	return v
}

// known refuses keys that are none of ours.
func (r *reader) known(t *table, keys []string, path string) {
	for _, key := range t.order {
		if !slices.Contains(keys, key) {
			r.fail(t.values[key].at, path+key, "toml.key", key, "an unknown key", "one of "+strings.Join(keys, ", "), "")
		}
	}
}

func (r *reader) fail(at int, path, rule, label, got, want, next string) {
	r.errs = append(r.errs, &problem.InputError{Rule: rule, Label: label, Got: got, Want: want, Next: next, Where: r.place(at, path)})
}

// place turns an offset into line and column, counted from 1 in characters.
func (r *reader) place(at int, path string) problem.Place {
	before := r.data[:max(0, min(at, len(r.data)))]
	return problem.Place{
		File: r.file, Line: bytes.Count(before, []byte("\n")) + 1, Column: utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1, Path: strings.TrimSuffix(path, "."),
	}
}

// text returns the text of a key; empty where it is left out.
func (r *reader) text(t *table, key string) string {
	v := t.values[key]
	if v == nil {
		return ""
	}
	if v.kind != unstable.String || strings.TrimSpace(v.text) == "" {
		r.fail(v.at, t.name, "toml.type", key, v.text, `a text, "…"`, "")
		return ""
	}
	return v.text
}

// list returns a list of texts.
func (r *reader) list(t *table, key string) []string {
	v := t.values[key]
	if v == nil {
		return nil
	}
	var out []string
	for _, item := range v.items {
		if item.kind != unstable.String {
			r.fail(item.at, key, "toml.type", key, item.text, `texts, ["…", "…"]`, "")
			return nil
		}
		out = append(out, item.text)
	}
	if v.kind != unstable.Array {
		r.fail(v.at, key, "toml.type", key, v.text, `a list of texts, ["…", "…"]`, "")
	}
	return out
}

// decimal returns a figure digit by digit as it is written, with or without quotes.
func (r *reader) decimal(t *table, key string) *trade.Decimal {
	v := t.values[key]
	if v == nil {
		return nil
	}
	if v.kind != unstable.Integer && v.kind != unstable.Float && v.kind != unstable.String {
		r.fail(v.at, t.name, "toml.type", key, v.text, "a number, as 13.0", "")
		return nil
	}
	d, err := trade.ParseDecimal(key, v.text)
	if err != nil {
		r.refuse(v.at, t.name, err)
		return nil
	}
	return &d
}

func enum[T comparable](r *reader, t *table, key string, words []word[T]) T {
	var none T
	text := r.text(t, key)
	if text == "" {
		return none
	}
	for _, w := range words {
		if w.name == text {
			return w.value
		}
	}
	r.fail(t.values[key].at, t.name, "words.unknown", key, text, names(words), "")
	return none
}
