package main

import (
	"bytes"
	"strings"

	"threshday/internal/cli"
	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/feeds/boundaryfile"
	"threshday/internal/feeds/schedulefile"
	"threshday/internal/feeds/scheduletoml"
	"threshday/internal/feeds/treefile"
)

// files joins the command line to the files it reads by itself.
func files() cli.Files {
	return cli.Files{
		Boundaries: func(file string, data []byte) ([]cli.Boundary, error) {
			read, err := boundaryfile.Read(file, data)
			out := make([]cli.Boundary, len(read))
			for i, b := range read {
				out[i] = cli.Boundary(b)
			}
			return out, err
		},
		Schedule:      parseSchedule,
		WriteSchedule: scheduletoml.Write,
		ScheduleForm:  func(s settlement.Schedule) any { return schedulefile.Write(s) },
		Paste: func(file, text string, k crop.Kind) ([]byte, error) {
			draft, err := scheduletoml.Paste(file, text, k)
			if err != nil {
				return nil, err
			}
			return draft.Text(), nil
		},
		Examples: scheduletoml.Families,
		Example:  scheduletoml.Family,
		Ticket:   schedulefile.ReadTicket,
		Sheet:    schedulefile.ReadSheet,
		Tree:     treefile.Read,
		Audit:    func(r settlement.AuditResult) any { return schedulefile.NewAuditAnswer(r) },
		Statement: func(terms *settlement.Terms, s settlement.Statement, rejection *settlement.Rejection, doubts []problem.Finding) any {
			a := schedulefile.NewAnswer(terms, s, rejection)
			a.Warnings = append(schedulefile.Warnings(doubts), a.Warnings...)
			return a
		},
	}
}

// parseSchedule reads a posted schedule in the form that its name or, of a name without one, its first character tells.
func parseSchedule(name string, data []byte) (settlement.Schedule, error) {
	if strings.HasSuffix(name, ".toml") || !strings.HasSuffix(name, ".json") && !bytes.HasPrefix(bytes.TrimSpace(data), []byte("{")) {
		return scheduletoml.Read(name, data)
	}
	return schedulefile.ReadSchedule(name, data)
}
