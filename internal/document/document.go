// Package document holds what the JSON documents of answers are made of, wherever they are made: figures, and what is wrong
// with a question. It knows no use case and no file, so that the program on the device has the same ones.
package document

import (
	"math"
	"strconv"

	"threshday/internal/core/problem"
)

// A Figure is a modelled number in JSON: six places, so that the last bits of a sum are nobody's promise.
type Figure float64

// MarshalJSON implements json.Marshaler.
func (f Figure) MarshalJSON() ([]byte, error) {
	return strconv.AppendFloat(nil, math.Round(float64(f)*1e6)/1e6, 'f', -1, 64), nil
}

// A Complaint is what is wrong, in one form for everything that can be.
type Complaint struct {
	Rule     string `json:"rule"`
	Severity string `json:"severity"`
	Label    string `json:"label,omitempty"`
	Got      string `json:"got,omitempty"`
	Want     string `json:"want,omitempty"`
	Where    string `json:"where,omitempty"`
	Say      string `json:"say"`
	Next     string `json:"next,omitempty"`
}

// A Failure is the document of a question that was not answered: the first complaint, and where there are several all
// of them.
type Failure struct {
	Error    Complaint   `json:"error"`
	Findings []Complaint `json:"findings,omitempty"`
}

// OfFailure returns the document of what; at least one complaint.
func OfFailure(what []Complaint) Failure {
	f := Failure{Error: what[0]}
	if len(what) > 1 {
		f.Findings = what
	}
	return f
}

// OfInput returns the complaint about an entry that cannot be used.
func OfInput(e *problem.InputError) Complaint {
	return Complaint{e.Rule, string(problem.Error), e.Label, e.Got, e.Want, e.Where.String(), e.Error(), e.Next}
}

// OfFinding returns the complaint of a finding.
func OfFinding(f problem.Finding) Complaint {
	return Complaint{f.Rule, string(f.Severity), f.Label, f.Got, f.Want, f.Where.String(), f.Say, f.Next}
}

// Stop returns the complaint that stops a question for a reason other than one box.
func Stop(rule, say, next string) Complaint {
	return Complaint{Rule: rule, Severity: string(problem.Error), Say: say, Next: next}
}
