package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"threshday/internal/app"
	"threshday/internal/core/problem"
)

// A complaint is the JSON form of what is wrong.
type complaint struct {
	Rule     string `json:"rule"`
	Severity string `json:"severity"`
	Label    string `json:"label,omitempty"`
	Got      string `json:"got,omitempty"`
	Want     string `json:"want,omitempty"`
	Where    string `json:"where,omitempty"`
	Say      string `json:"say"`
	Next     string `json:"next,omitempty"`
}

func ofInput(e *problem.InputError) complaint {
	return complaint{e.Rule, string(problem.Error), e.Label, e.Got, e.Want, e.Where.String(), e.Error(), e.Next}
}

func ofFinding(f problem.Finding) complaint {
	return complaint{f.Rule, string(f.Severity), f.Label, f.Got, f.Want, f.Where.String(), f.Say, f.Next}
}

// A refusal is a command line whose parts do not go together.
type refusal struct{ complaint }

func (r *refusal) Error() string { return r.Say + " " + r.Next }

// refuse returns a refusal of the flag or flags at label.
func refuse(rule, label, say, next string) error {
	return &refusal{complaint{Rule: rule, Severity: string(problem.Error), Label: label, Say: say, Next: next}}
}

// fail prints err to standard error, one sentence first, and returns the exit code of its kind.
func (s *session) fail(err error) int {
	code, what := classify(err)
	s.complain(what)
	return code
}

// classify returns the exit code of err and what to say of it. Complaints of the input go before everything else: a
// wrapped one is the cause.
func classify(err error) (code int, what []complaint) {
	var many problem.InputErrors
	var one *problem.InputError
	var refused *refusal
	var none *app.NoAnswer
	var usage *commandError
	var trouble *app.Trouble
	say := func(rule, say, next string) []complaint {
		return []complaint{{Rule: rule, Severity: string(problem.Error), Say: say, Next: next}}
	}
	switch {
	case errors.As(err, &many) && len(many) > 0:
		for _, e := range many {
			what = append(what, ofInput(e))
		}
		return exitInput, what
	case errors.As(err, &one):
		return exitInput, []complaint{ofInput(one)}
	case errors.As(err, &refused):
		return exitInput, []complaint{refused.complaint}
	case errors.As(err, &usage):
		return exitInput, say("command.usage", sentence(usage.say), usage.next)
	case errors.As(err, &none):
		return exitNoAnswer, say(none.Rule, none.Say, none.Next)
	case errors.As(err, &trouble):
		return exitWorld, say(trouble.Rule, trouble.Say, trouble.Next)
	case errors.Is(err, context.Canceled):
		return exitWorld, say("stopped", "Stopped before it was done.", "")
	case errors.Is(err, fs.ErrNotExist):
		return exitWorld, say("file.missing", missingFile(err), "Check the name and the folder.")
	case errors.Is(err, fs.ErrPermission):
		return exitWorld, say("file.closed", sentence(err.Error()), "Check who may read it.")
	default:
		return exitWorld, say("world", sentence(err.Error()), "")
	}
}

// missingFile says which file is not there, where the error knows.
func missingFile(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		return "There is no file " + path.Path + "."
	}
	return sentence(err.Error())
}

// complain prints complaints to standard error: sentences, or one JSON document.
func (s *session) complain(what []complaint) {
	if s.json {
		doc := struct {
			Error    complaint   `json:"error"`
			Findings []complaint `json:"findings,omitempty"`
		}{Error: what[0]}
		if len(what) > 1 {
			doc.Findings = what
		}
		enc := json.NewEncoder(s.Stderr)
		enc.SetEscapeHTML(false)
		_ = enc.Encode(doc) // plain strings always encode, and there is nowhere left to say that standard error is closed
		return
	}
	for _, c := range what {
		say := c.Say
		if c.Next != "" && !strings.HasSuffix(say, c.Next) {
			say += " " + c.Next
		}
		_, _ = fmt.Fprintln(s.Stderr, say) // nowhere left to say that standard error is closed
	}
}

// print writes v as one JSON document.
func (s *session) print(v any) error {
	enc := json.NewEncoder(s.Stdout)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
