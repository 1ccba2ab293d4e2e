package main

import (
	"threshday/internal/cli"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/feeds/boundaryfile"
	"threshday/internal/feeds/schedulefile"
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
		Schedule: schedulefile.ReadSchedule,
		Ticket:   schedulefile.ReadTicket,
		Sheet:    schedulefile.ReadSheet,
		Audit:    func(r settlement.AuditResult) any { return schedulefile.NewAuditAnswer(r) },
		Statement: func(terms *settlement.Terms, s settlement.Statement, rejection *settlement.Rejection, doubts []problem.Finding) any {
			a := schedulefile.NewAnswer(terms, s, rejection)
			a.Warnings = append(schedulefile.Warnings(doubts), a.Warnings...)
			return a
		},
	}
}
