package cli

import (
	"encoding/json"
	"reflect"
	"strings"

	"github.com/alecthomas/kong"

	"threshday/internal/flags"
	"threshday/internal/pencil"
)

// A page is what there is to say of one command; help, the reference, the manual and the completions print it.
type page struct {
	path     string // "threshday pencil emc"
	summary  string
	detail   string // paragraphs parted by an empty line
	args     []entry
	flags    []entry
	shared   []entry // flags that belong to the commands above
	commands []entry
	keys     []entry  // of the JSON document it answers with
	examples []string // command lines without the program's name
}

// An entry is one flag, argument or command.
type entry struct {
	name    string // "--temp 77F"
	flag    string // "temp"; empty for a command or an argument
	value   bool   // the flag takes a value
	choices []string
	file    bool // the value is the name of a file
	help    string
	accepts string
	needed  bool
	def     string // what is taken when it is left out
}

// An explained command says more than its one line of help.
type explained interface{ Explain() string }

// An answering command has a JSON form; Answer returns a zero one, from which its keys are read.
type answering interface{ Answer() any }

// An exemplified command shows command lines; a test runs each of them.
type exemplified interface{ Examples() []string }

// pageOf returns the page of one command; of the program itself where node is nil or the root.
func (s *session) pageOf(node *kong.Node) page {
	if node == nil {
		node = s.model.Node
	}
	p := page{path: strings.TrimSpace(s.model.Name + " " + node.Path()), summary: node.Help}
	if node.Target.CanAddr() {
		command := node.Target.Addr().Interface()
		if c, ok := command.(explained); ok {
			p.detail = c.Explain()
		}
		if c, ok := command.(answering); ok {
			p.keys = keysOf(reflect.TypeOf(c.Answer()), "")
		}
		if c, ok := command.(exemplified); ok {
			p.examples = c.Examples()
		}
	}
	for _, arg := range node.Positional {
		e := s.entryOf(arg)
		e.name, e.flag = labelOf(arg), ""
		p.args = append(p.args, e)
	}
	for _, f := range node.Flags {
		p.flags = append(p.flags, s.entryOf(f.Value))
	}
	for above := node.Parent; above != nil; above = above.Parent {
		for _, f := range above.Flags {
			p.shared = append(p.shared, s.entryOf(f.Value))
		}
	}
	for _, c := range node.Children {
		if !c.Hidden {
			p.commands = append(p.commands, entry{name: c.Name, help: c.Help})
		}
	}
	return p
}

func (s *session) entryOf(v *kong.Value) entry {
	e := entry{name: "--" + v.Name, flag: v.Name, help: v.Help, needed: v.Tag.Has("need")}
	if v.IsBool() {
		return e
	}
	e.value = true
	e.accepts = flags.Accepts(v, s.notes)
	t := v.Target.Type()
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	e.file = t == reflect.TypeFor[filename]() || t == reflect.TypeFor[dataname]()
	if few := s.notes[t].Choices; few != nil {
		e.choices = few
	}
	example := v.Tag.PlaceHolder
	if example == "" {
		example = s.notes[t].Example
	}
	if v.HasDefault {
		e.def = v.Default
		if example == "" {
			example = v.Default
		}
	}
	e.name += " " + example
	return e
}

// walk calls visit for node and every command below it that is not hidden, parents first.
func walk(node *kong.Node, visit func(*kong.Node)) {
	visit(node)
	for _, c := range node.Children {
		if !c.Hidden {
			walk(c, visit)
		}
	}
}

// keysOf lists the keys of the JSON form of t, those within objects after a point and within lists after [].
func keysOf(t reflect.Type, before string) []entry {
	var out []entry
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		inner, kind := f.Type, ""
		if inner.Kind() == reflect.Pointer {
			inner = inner.Elem()
			kind = " or null"
		}
		list := inner.Kind() == reflect.Slice
		if list {
			inner, kind = inner.Elem(), ""
		}
		switch {
		case name == "-", f.Type == reflect.TypeFor[pencil.Why](): // what every pencil adds is said once, at pencil
		case f.Anonymous && name == "":
			out = append(out, keysOf(inner, before)...)
		case inner.Kind() == reflect.Struct && !inner.Implements(reflect.TypeFor[json.Marshaler]()):
			mark := "."
			if list {
				mark = "[]."
			}
			out = append(out, keysOf(inner, before+name+mark)...)
		default:
			kind = jsonKind(inner) + kind
			if list {
				kind = "list of " + kind
			}
			out = append(out, entry{name: before + name, help: kind})
		}
	}
	return out
}

// jsonKind returns what a value of t is in JSON, in words.
func jsonKind(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Bool:
		return "true or false"
	case reflect.Float64, reflect.Int, reflect.Int64:
		return "number"
	default:
		return "text"
	}
}
