// Package device answers on the device itself, with no server: the pencils, the settlement of one load and a schedule read back
// while it is typed, as JSON text. An answer is {"ok": …} or {"error": …, "code": …}, the code being that of the command line.
package device

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"threshday/internal/core/problem"
	"threshday/internal/document"
	"threshday/internal/feeds/boundaryfile"
	"threshday/internal/flags"
	"threshday/internal/pencil"
	"threshday/internal/words"
)

// A Device answers on the device.
type Device struct {
	version string
	source  func(key string) (pencil.Source, bool)
}

// New returns a device; source looks up a key of the table of sources.
func New(version string, source func(key string) (pencil.Source, bool)) *Device {
	return &Device{version, source}
}

// Codes of failures, as on the command line.
const (
	noAnswer = 1
	badInput = 2
)

type answer struct {
	OK       any                  `json:"ok,omitempty"`
	Error    *document.Complaint  `json:"error,omitempty"`
	Findings []document.Complaint `json:"findings,omitempty"`
	Code     int                  `json:"code,omitempty"`
}

// text writes an answer; a bug is an answer too, for the page must go on.
func text(work func() (any, error)) (out string) {
	defer func() {
		if bug := recover(); bug != nil {
			out = text(func() (any, error) { return nil, fmt.Errorf("something broke: %v", bug) })
		}
	}()
	doc, err := work()
	a := answer{OK: doc}
	if err != nil {
		a = failed(err)
	}
	body, err := json.Marshal(a)
	if err != nil {
		panic(err)
	}
	return string(body)
}

func failed(err error) answer {
	var many problem.InputErrors
	var one *problem.InputError
	var refused *problem.Refusal
	var none *problem.NoAnswer
	a := answer{Code: badInput}
	stop := func(rule, label, say, next string) {
		c := document.Stop(rule, say, next)
		c.Label = label
		a.Error = &c
	}
	switch {
	case errors.As(err, &many) && len(many) > 0:
		for _, e := range many {
			a.Findings = append(a.Findings, document.OfInput(e))
		}
		a.Error = &a.Findings[0]
	case errors.As(err, &one):
		c := document.OfInput(one)
		a.Error = &c
	case errors.As(err, &refused):
		stop(refused.Rule, refused.Label, refused.Say, refused.Next)
	case errors.As(err, &none):
		a.Code = noAnswer
		stop(none.Rule, "", none.Say, none.Next)
	default:
		stop("command.usage", "", words.Sentence(err.Error()), "")
	}
	return a
}

// tree is the commands that a device knows.
type tree struct {
	Pencil pencil.All `cmd:""`
}

// parser builds the parser of pencils.
func (d *Device) parser(t *tree, desk *pencil.Desk) (*kong.Kong, *flags.Set) {
	set := flags.New(func(string, string) {})
	k, err := kong.New(t, append(set.Options, kong.Name("threshday"), kong.Writers(io.Discard, io.Discard), kong.WithHyphenPrefixedParameters(true),
		kong.NoDefaultHelp(), kong.Exit(func(int) {}), kong.Bind(desk))...)
	if err != nil {
		panic("device: " + err.Error()) // the tree of commands itself is wrong: a bug that the first test finds
	}
	return k, set
}

// Pencil reckons: args are the pencil's name and its flags, as on the command line.
func (d *Device) Pencil(args ...string) string {
	return text(func() (any, error) {
		var doc any
		var t tree
		desk := &pencil.Desk{
			Zone: time.LoadLocation, Source: d.source, Answer: func(s pencil.Sum) error { doc = shown(s); return nil },
			Read: func(name flags.Filename) ([]byte, error) { return []byte(name), nil }, // on a device a file is its text
			Boundaries: func(_ string, data []byte) ([]pencil.Boundary, error) {
				read, err := boundaryfile.Read("boundaries", data)
				out := make([]pencil.Boundary, len(read))
				for i, b := range read {
					out[i] = pencil.Boundary(b)
				}
				return out, err
			},
		}
		k, set := d.parser(&t, desk)
		c, err := k.Parse(append([]string{"pencil"}, args...))
		if err != nil {
			return nil, err
		}
		if err := flags.Doubled(c.Path); err != nil {
			return nil, err
		}
		if lacking := flags.Missing(c.Selected(), set.Notes); len(lacking) > 0 {
			lacking[len(lacking)-1].Next = ""
			return nil, lacking
		}
		desk.Metric = t.Pencil.Metric
		err = c.Run()
		return doc, err
	})
}

// shown is a pencil's document with what a person reads first.
func shown(s pencil.Sum) any {
	body, err := json.Marshal(s.Doc)
	if err != nil {
		panic(err)
	}
	doc := map[string]json.RawMessage{}
	if err := json.Unmarshal(body, &doc); err != nil {
		panic(err)
	}
	type row struct {
		Name  string `json:"name"`
		Value string `json:"value"`
	}
	rows := []row{}
	for _, r := range s.Rows {
		rows = append(rows, row(r))
	}
	said, err := json.Marshal(map[string]any{"lead": s.Lead, "is": s.Is, "rows": rows})
	if err != nil {
		panic(err)
	}
	doc["said"] = said
	return doc
}

// A Pencil is what a page needs to show one pencil.
type Pencil struct {
	Name     string   `json:"name"`
	Title    string   `json:"title"`
	Shelf    string   `json:"shelf"` // what it lies with
	Summary  string   `json:"summary"`
	Detail   string   `json:"detail,omitempty"`
	Flags    []Flag   `json:"flags"`
	Examples []string `json:"examples"`
}

// A Flag is a box of a pencil.
type Flag struct {
	Name    string   `json:"name"` // "--temp"; an argument has no dashes
	Label   string   `json:"label"`
	Help    string   `json:"help"`
	Accepts string   `json:"accepts,omitempty"`
	Example string   `json:"example,omitempty"`
	Default string   `json:"default,omitempty"`
	Needed  bool     `json:"needed"`
	List    bool     `json:"list"`
	Switch  bool     `json:"switch"` // takes no value
	File    bool     `json:"file"`   // takes the text of a file
	Choices []string `json:"choices"`
}

// Pencils lists the pencils with everything that a page shows of them.
func (d *Device) Pencils() string {
	return text(func() (any, error) {
		var t tree
		k, set := d.parser(&t, &pencil.Desk{})
		out := []Pencil{}
		for _, node := range k.Model.Children[0].Children {
			p := Pencil{Name: node.Name, Title: node.Tag.Get("title"), Shelf: node.Tag.Get("shelf"), Summary: node.Help, Flags: []Flag{}, Examples: []string{}}
			command := node.Target.Addr().Interface()
			if c, ok := command.(interface{ Explain() string }); ok {
				p.Detail = c.Explain()
			}
			if c, ok := command.(interface{ Examples() []string }); ok {
				p.Examples = c.Examples()
			}
			for _, v := range node.Positional {
				p.Flags = append(p.Flags, flagOf(v, set))
			}
			for _, f := range node.Flags {
				p.Flags = append(p.Flags, flagOf(f.Value, set))
			}
			out = append(out, p)
		}
		return out, nil
	})
}

func flagOf(v *kong.Value, set *flags.Set) Flag {
	note := flags.NoteOf(v, set.Notes)
	f := Flag{
		Name: v.Name, Label: words.Sentence(strings.ReplaceAll(v.Name, "-", " ")), Help: v.Help, Accepts: flags.Accepts(v, set.Notes), Example: v.Tag.PlaceHolder,
		Needed: v.Tag.Has("need"), List: v.IsCumulative(), Switch: v.IsBool(), Choices: note.Choices, File: flags.IsFile(v),
	}
	f.Label = strings.TrimSuffix(f.Label, ".")
	if v.Flag != nil {
		f.Name = "--" + v.Name
	}
	if f.Example == "" {
		f.Example = note.Example
	}
	if f.Choices == nil {
		f.Choices = []string{}
	}
	if v.HasDefault {
		f.Default = v.Default
	}
	return f
}

// Version returns the version of the program.
func (d *Device) Version() string {
	return text(func() (any, error) { return map[string]string{"version": d.version}, nil })
}
