package cli

import (
	"fmt"
	"io"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/scenario"
	"threshday/internal/core/settlement"
	"threshday/internal/pencil"
)

// Files turn the text of files into values of the core, and answers of the core into the form scripts read. file is the
// name to show in complaints.
type Files struct {
	Boundaries func(file string, data []byte) ([]Boundary, error)
	Schedule   func(file string, data []byte) (settlement.Schedule, error)
	// WriteSchedule returns the readable form of a schedule, Paste that of a table pasted from a buyer's sheet.
	WriteSchedule func(settlement.Schedule) []byte
	// ScheduleForm returns the form of a schedule that scripts and pages read.
	ScheduleForm func(settlement.Schedule) any
	Paste        func(file, text string, k crop.Kind) ([]byte, error)
	// Examples are the names of starting points, Example the text of one.
	Examples func() []string
	Example  func(name string) ([]byte, bool)
	Ticket   func(file string, data []byte) (settlement.Load, error)
	Sheet    func(file string, data []byte) (settlement.Sheet, error)
	// Tree reads a season as raw tables.
	Tree func(file string, data []byte) (*scenario.Tree, error)
	// Audit returns the JSON form of an audit.
	Audit func(settlement.AuditResult) any
	// Statement returns the JSON form of a statement; rejection is nil when the load was accepted, doubts are those on the
	// schedule.
	Statement func(terms *settlement.Terms, s settlement.Statement, rejection *settlement.Rejection, doubts []problem.Finding) any
}

// A Boundary is the outline of one field, in one part or several.
type Boundary = pencil.Boundary

// maxFile bounds what is read into memory.
const maxFile = 64 << 20

// read returns the text of a file, or of the standard input for "-".
func (s *session) read(name filename) ([]byte, error) {
	in := s.Stdin
	switch {
	case name == "-" && s.stdinRead:
		return nil, refuse("file.stdin-twice", "-", "The standard input, -, is named for two files and can be read once.", "Name a file for one of them.")
	case name == "-":
		s.stdinRead = true
	default:
		f, err := s.Open(string(name))
		if err != nil {
			return nil, err
		}
		defer func() { _ = f.Close() }() // nothing was written
		in = f
	}
	data, err := io.ReadAll(io.LimitReader(in, maxFile+1))
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	if len(data) > maxFile {
		return nil, &problem.InputError{Rule: "file.size", Label: "the file", Got: "more than 64 MB", Want: "at most 64 MB", Where: problem.Place{File: string(name)}}
	}
	return data, nil
}
