package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"threshday/internal/answer"
	"threshday/internal/core/problem"
)

// A complaint is the JSON form of what is wrong.
type complaint = answer.Complaint

func ofFinding(f problem.Finding) complaint { return answer.OfFinding(f) }

// refuse returns a refusal of the flag or flags at label.
func refuse(rule, label, say, next string) error {
	return &problem.Refusal{Rule: rule, Label: label, Say: say, Next: next}
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
	kind, what := answer.OfError(err)
	var refused *problem.Refusal
	var usage *commandError
	switch {
	case kind == answer.Input:
		return exitInput, what
	case errors.As(err, &refused):
		return exitInput, []complaint{{Rule: refused.Rule, Severity: string(problem.Error), Label: refused.Label, Say: refused.Say, Next: refused.Next}}
	case errors.As(err, &usage):
		return exitInput, []complaint{answer.Stop("command.usage", sentence(usage.say), usage.next)}
	case kind == answer.NoAnswer:
		return exitNoAnswer, what
	default:
		return exitWorld, what
	}
}

// complain prints complaints to standard error: sentences, or one JSON document.
func (s *session) complain(what []complaint) {
	if s.json {
		enc := json.NewEncoder(s.Stderr)
		enc.SetEscapeHTML(false)
		_ = enc.Encode(answer.OfFailure(what)) // plain strings always encode, and there is nowhere left to say that standard error is closed
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
