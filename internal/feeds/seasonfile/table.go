package seasonfile

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"threshday/internal/core/farm"
)

// A table says which keys a table of the file has and which part of a T each one is. Reading, writing and the
// reference page all go by it, so none of them can know a key that the others do not.
type table[T any] struct {
	keys []key[T]
	// check looks at what must hold between keys. It is called when the table has been read, also if some of its
	// keys were refused.
	check func(r *reader, label string, n *node, v *T)
}

// A key is one key of a table.
type key[T any] struct {
	name  string
	about string // what it means, one sentence
	want  string // what is accepted, with unit
	need  bool
	form  form // aTable and aList have keys of their own

	// read reads the value into a T. Problems go to the reader.
	read func(r *reader, label, path string, n *node, into *T)
	// text returns the value in the file's spelling, "" when it is not given. Nil for tables with a header.
	text func(w *writer, from *T) string
	// tables writes tables with headers. Nil for values.
	tables func(w *writer, path string, from *T)
	// below lists the keys of tables and of lists of tables.
	below func(path string) []Key
}

// must returns k as a key that cannot be left out.
func (k key[T]) must() key[T] {
	k.need = true
	return k
}

// wanted returns what is accepted for k at its path.
func (k key[T]) wanted(path string) string {
	switch {
	case k.tables != nil && k.form == aTable:
		return "one table, [" + path + "]"
	case k.tables != nil:
		return "tables, [[" + path + "]]"
	}
	return k.want
}

// opt returns a key of an optional value.
func opt[T, V any](name string, c codec[V], at func(*T) **V, about string) key[T] {
	return key[T]{
		name: name, about: about, want: c.want, form: aText,
		read: func(r *reader, label, _ string, n *node, into *T) {
			if v, ok := c.read(r, label, n); ok {
				*at(into) = &v
			}
		},
		text: func(w *writer, from *T) string {
			if p := *at(from); p != nil {
				return c.spell(w, *p)
			}
			return ""
		},
	}
}

// val returns a key of a value whose zero means that it was not given. A key that must be given may be zero.
func val[T any, V comparable](name string, c codec[V], at func(*T) *V, about string) key[T] {
	k := key[T]{
		name: name, about: about, want: c.want, form: aText,
		read: func(r *reader, label, _ string, n *node, into *T) {
			if v, ok := c.read(r, label, n); ok {
				*at(into) = v
			}
		},
	}
	k.text = func(w *writer, from *T) string {
		if v, zero := *at(from), *new(V); v != zero {
			return c.spell(w, v)
		}
		return ""
	}
	return k
}

// owed is val for a key that must be given.
func owed[T any, V comparable](name string, c codec[V], at func(*T) *V, about string) key[T] {
	k := val(name, c, at, about).must()
	k.text = func(w *writer, from *T) string { return c.spell(w, *at(from)) }
	return k
}

// many returns a key of a list of values.
func many[T, V any](name string, c codec[V], at func(*T) *[]V, about string) key[T] {
	want := "a list of values in brackets, each " + c.want
	return key[T]{
		name: name, about: about, want: want, form: aText,
		read: func(r *reader, label, _ string, n *node, into *T) {
			if n.form != aList || n.headed {
				r.wrongForm(n, label, want, aList)
				return
			}
			for i, item := range n.items {
				if v, ok := c.read(r, fmt.Sprintf("%s %d", label, i+1), item); ok {
					*at(into) = append(*at(into), v)
				}
			}
		},
		text: func(w *writer, from *T) string {
			if len(*at(from)) == 0 {
				return ""
			}
			var items []string
			for _, v := range *at(from) {
				items = append(items, c.spell(w, v))
			}
			return "[" + strings.Join(items, ", ") + "]"
		},
	}
}

// byName returns a key of a table whose keys are names: of crops, of records.
func byName[T any, K cmp.Ordered, V any](name string, keys names[K], c codec[V], at func(*T) *map[K]V, about string) key[T] {
	want := fmt.Sprintf("a table in braces, {%s = …}: %s, and for each %s", keys.example, keys.want, c.want)
	return key[T]{
		name: name, about: about, want: want, form: aText,
		read: func(r *reader, label, path string, n *node, into *T) {
			if n.form != aTable {
				r.wrongForm(n, label, want, aTable)
				return
			}
			r.repeated(n, label, path)
			for _, e := range n.entries {
				k, ok := keys.read(r, label, e)
				if !ok {
					continue
				}
				if v, ok := c.read(r, join(label, e.name), e.node); ok {
					if *at(into) == nil {
						*at(into) = map[K]V{}
					}
					(*at(into))[k] = v
				}
			}
		},
		text: func(w *writer, from *T) string {
			if len(*at(from)) == 0 {
				return ""
			}
			var pairs []string
			for _, k := range slices.Sorted(maps.Keys(*at(from))) {
				pairs = append(pairs, bareKey(keys.text(k))+" = "+c.spell(w, (*at(from))[k]))
			}
			return "{" + strings.Join(pairs, ", ") + "}"
		},
	}
}

// sub returns a key of one table inside this one, under a header of its own.
func sub[T, V any](name string, t *table[V], at func(*T) *V, about string) key[T] {
	return key[T]{
		name: name, about: about, form: aTable,
		read: func(r *reader, label, path string, n *node, into *T) {
			if n.form != aTable {
				r.refuse(n, refusal{"value.type", label, n.shown(), "one table", "Write [" + path + "] once, in single brackets."})
				return
			}
			t.read(r, label, path, n, at(into))
		},
		tables: func(w *writer, path string, from *T) {
			writeTable(w, "["+path+"]", t, path, at(from), false)
		},
		below: t.list,
	}
}

// records returns a key of tables that repeat, under [[name]], each a record with an identity.
func records[T, V any](name string, t *table[V], at func(*T) *[]V, about string) key[T] {
	return key[T]{
		name: name, about: about, form: aList,
		read: func(r *reader, label, path string, n *node, into *T) {
			for i, item := range r.tables(n, label, path, "Write [["+path+"]] above each, in double brackets.") {
				each := farm.RecordName(name, t.identity(item), i+1)
				each = join(strings.TrimSuffix(strings.TrimSuffix(label, name), " "), each)
				r.records[each] = item
				var v V
				t.read(r, each, path, item, &v)
				*at(into) = append(*at(into), v)
			}
		},
		tables: func(w *writer, path string, from *T) {
			for i := range *at(from) {
				writeTable(w, "[["+path+"]]", t, path, &(*at(from))[i], true)
			}
		},
		below: t.list,
	}
}

// parts returns a key of a list of small tables written in braces on one line.
func parts[T, V any](name string, t *table[V], at func(*T) *[]V, about string) key[T] {
	return key[T]{
		name: name, about: about, want: "a list of tables in braces, as [{" + t.keys[0].name + " = …}, {…}]", form: aList,
		read: func(r *reader, label, path string, n *node, into *T) {
			for i, item := range r.tables(n, label, path, "Write it in brackets, with braces for each.") {
				var v V
				t.read(r, fmt.Sprintf("%s %d", label, i+1), path, item, &v)
				*at(into) = append(*at(into), v)
			}
		},
		text: func(w *writer, from *T) string {
			if len(*at(from)) == 0 {
				return ""
			}
			var items []string
			for i := range *at(from) {
				var pairs []string
				for _, k := range t.keys {
					if text := k.text(w, &(*at(from))[i]); text != "" {
						pairs = append(pairs, k.name+" = "+text)
					}
				}
				items = append(items, "{"+strings.Join(pairs, ", ")+"}")
			}
			return "[" + strings.Join(items, ", ") + "]"
		},
		below: t.list,
	}
}

// identity returns what tells n from others of its kind: its id, its name where records of t have no id, or "".
func (t *table[T]) identity(n *node) string {
	naming := "name"
	if slices.ContainsFunc(t.keys, func(k key[T]) bool { return k.name == "id" }) {
		naming = "id"
	}
	if c := n.child(naming); c != nil && c.form == aText {
		return c.text
	}
	return ""
}

// tables returns the tables of a list; anything else in it is reported.
func (r *reader) tables(n *node, label, path, next string) []*node {
	if n.form != aList {
		r.refuse(n, refusal{"value.type", label, n.shown(), "a list of tables", next})
		return nil
	}
	var out []*node
	for i, item := range n.items {
		if item.form != aTable {
			r.refuse(item, refusal{"value.type", fmt.Sprintf("%s %d", label, i+1), item.shown(), "a table", next})
			continue
		}
		out = append(out, item)
	}
	return out
}

// read reads every key of n that t knows, in the order of t, and reports the others.
func (t *table[T]) read(r *reader, label, path string, n *node, into *T) {
	r.repeated(n, label, path)
	for _, e := range n.entries {
		if !slices.ContainsFunc(t.keys, func(k key[T]) bool { return k.name == e.name }) {
			t.unknown(r, label, path, n, e)
		}
	}
	for _, k := range t.keys {
		child := n.child(k.name)
		below := k.name
		if path != "" {
			below = path + "." + k.name
		}
		if child == nil {
			if k.need && !r.partial {
				r.missing(n, label, k.name, k.wanted(below), "")
			}
			continue
		}
		if _, ok := r.seen[below]; !ok {
			r.seen[below] = child
		}
		k.read(r, join(label, k.name), below, child, into)
	}
	if t.check != nil && !r.partial {
		t.check(r, label, n, into)
	}
}

// unknown reports a key that t does not have.
func (t *table[T]) unknown(r *reader, label, path string, n *node, e entry) {
	if r.full() {
		r.more++
		return
	}
	var known []string
	for _, k := range t.keys {
		known = append(known, k.name)
	}
	section := "the file"
	if path != "" {
		section = "[" + path + "]"
	}
	why := refusal{"key.unknown", join(label, "key"), e.name, "a key of " + section + ": " + strings.Join(known, ", "), "Take it out, or correct it."}
	if near := nearest(e.name, known); near != "" {
		n.meant = append(n.meant, near)
		why.want, why.next = "a key of "+section, fmt.Sprintf("Write %s if that is meant.", near)
	}
	r.refuseAt(e.node.key, why)
	e.node.refused = true
}
