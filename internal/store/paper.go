package store

import (
	"context"
	"fmt"
	"slices"

	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
)

// meetPaper returns what is wrong when the cheque or sheet in body, of record id, is in the book already as another record.
func (s *Store) meetPaper(ctx context.Context, farm string, subject journal.Subject, id journal.ID, body []byte) ([]problem.Finding, error) {
	key := journal.PaperKey(subject, body)
	if key == "" {
		return nil, nil // no paper, or Check refuses it
	}
	same, err := s.w.texts(ctx, `SELECT record_id FROM records WHERE farm_id = $1 AND subject = $2 AND about = $3 AND state = 'live' ORDER BY record_id`,
		farm, string(subject), key)
	same = slices.DeleteFunc(same, func(other string) bool { return other == string(id) })
	if err != nil || len(same) == 0 {
		return nil, err
	}
	label, got, say := "Cheque", "", ""
	if subject == journal.ChequeSubject {
		c, _ := journal.ReadCheque(body) // it has a key, so it was read
		got, say = c.Number, fmt.Sprintf("Cheque %s of %s to %s is in the book already, as %s.", c.Number, c.Outlet, c.Party, same[0])
	} else {
		p, _ := journal.ReadSheet(body) // as above
		label, got, say = "Sheet", p.Ticket, fmt.Sprintf("The sheet of ticket %s at %s is in the book already, as %s.", p.Ticket, p.Outlet, same[0])
	}
	return []problem.Finding{{
		Rule: string(subject) + ".double", Severity: problem.Error, Label: label, Got: got, Want: "one that is not in the book yet", Say: say,
		Next: "Correct that one with threshday correct " + same[0] + ", or void it first.",
	}}, nil
}
