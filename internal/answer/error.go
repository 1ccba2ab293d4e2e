package answer

import (
	"context"
	"errors"
	"io/fs"

	"threshday/internal/app"
	"threshday/internal/core/problem"
	"threshday/internal/document"
	"threshday/internal/words"
)

// The parts that documents are made of.
type (
	Complaint = document.Complaint
	Failure   = document.Failure
)

// OfFailure returns the document of what; at least one complaint.
func OfFailure(what []Complaint) Failure { return document.OfFailure(what) }

// OfInput returns the complaint about an entry that cannot be used.
func OfInput(e *problem.InputError) Complaint { return document.OfInput(e) }

// OfFinding returns the complaint of a finding.
func OfFinding(f problem.Finding) Complaint { return document.OfFinding(f) }

// Stop returns the complaint that stops a question for a reason other than one box.
func Stop(rule, say, next string) Complaint { return document.Stop(rule, say, next) }

// A Kind of failure.
type Kind uint8

// The kinds of failures, by who can do something about them.
const (
	NoAnswer Kind = iota // the question has no answer
	Input                // the input cannot be used
	World                // file, disk, network, lock
	Unknown              // nobody foresaw it
)

// OfError returns the kind of err and what to say of it. Complaints of the input go before everything else: a wrapped one
// is the cause.
func OfError(err error) (Kind, []Complaint) {
	var many problem.InputErrors
	var one *problem.InputError
	var none *app.NoAnswer
	var trouble *app.Trouble
	var refused *app.Refused
	switch {
	case errors.As(err, &refused) && len(refused.Findings) > 0:
		what := make([]Complaint, 0, len(refused.Findings))
		for _, f := range refused.Findings {
			if f.Severity == problem.Error {
				what = append(what, OfFinding(f))
			}
		}
		return Input, what
	case errors.As(err, &many) && len(many) > 0:
		what := make([]Complaint, len(many))
		for i, e := range many {
			what[i] = OfInput(e)
		}
		return Input, what
	case errors.As(err, &one):
		return Input, []Complaint{OfInput(one)}
	case errors.As(err, &none):
		return NoAnswer, []Complaint{Stop(none.Rule, none.Say, none.Next)}
	case errors.As(err, &trouble):
		return World, []Complaint{Stop(trouble.Rule, trouble.Say, trouble.Next)}
	case errors.Is(err, context.Canceled):
		return World, []Complaint{Stop("stopped", "Stopped before it was done.", "")}
	case errors.Is(err, fs.ErrNotExist):
		return World, []Complaint{Stop("file.missing", missingFile(err), "Check the name and the folder.")}
	case errors.Is(err, fs.ErrPermission):
		return World, []Complaint{Stop("file.closed", words.Sentence(err.Error()), "Check who may read it.")}
	default:
		return Unknown, []Complaint{Stop("world", words.Sentence(err.Error()), "")}
	}
}

// missingFile says which file is not there, where the error knows.
func missingFile(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		return "There is no file " + path.Path + "."
	}
	return words.Sentence(err.Error())
}
