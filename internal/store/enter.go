package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/store/fault"
	"threshday/internal/store/proof"
)

// A head is where one farm's chain stands inside the transaction that is open.
type head struct {
	seq  int64
	hash journal.Hash
}

// enter puts e in the book and brings the derived tables along, all in the open transaction.
func (s *Store) enter(ctx context.Context, e journal.Event) (journal.Answer, error) {
	if body, err := journal.Canonical(e.Body); err == nil {
		e.Body = body
	} // else Check says what is wrong with it
	if fault.Planted("new-id-each-time") {
		e.ID = s.newID()
	}
	if first, ok, err := s.entryOf(ctx, e.Farm, e.ID); err != nil {
		return journal.Answer{}, err
	} else if ok && !fault.Planted("upsert") {
		return journal.Again(e, first), nil
	}
	now := s.now()
	found, err := journal.Check(e, now)
	if err != nil {
		return journal.Unreadable(e.ID, err), nil
	}
	names, err := s.namesOf(ctx, e.Farm)
	if err != nil {
		return journal.Answer{}, err
	}
	found = append(found, journal.CheckNames(e, names)...)
	met, err := s.meet(ctx, e)
	if err != nil {
		return journal.Answer{}, err
	}
	answer := journal.Decide(e, append(found, met...))
	if answer.Status == journal.Refused {
		return answer, nil
	}
	entry := journal.Entry{Event: e, Received: now, Status: answer.Status, Rules: answer.Waits()}
	if err := s.insert(ctx, &entry); err != nil {
		return answer, err
	}
	answer.Seq = entry.Seq
	s.moved = nil
	err = s.project(ctx, entry.Event)
	s.moves.note(e.Farm, entry.Seq, s.moved)
	return answer, err
}

// entryOf returns the entry of an ID.
func (s *Store) entryOf(ctx context.Context, farm string, id journal.ID) (e journal.Entry, ok bool, err error) {
	rows, err := s.w.query(ctx, `SELECT `+proof.EntryColumns+` FROM events WHERE farm_id = $1 AND event_id = $2`, farm, string(id))
	if err != nil {
		return e, false, err
	}
	defer func() { _ = rows.Close() }()
	if !rows.Next() {
		return e, false, rows.Err()
	}
	if e, err = proof.ScanEntry(rows); err != nil {
		return e, false, err
	}
	return e, true, rows.Close()
}

// namesOf returns the names that the newest season of a farm defines.
func (s *Store) namesOf(ctx context.Context, farm string) ([]journal.Name, error) {
	if names, ok := s.names[farm]; ok {
		return names, nil
	}
	var body []byte
	ok, err := s.w.row(ctx, `SELECT body FROM events WHERE farm_id = $1 AND kind = 'season.set' ORDER BY seq DESC LIMIT 1`,
		[]any{farm}, []any{&body})
	if err != nil || !ok {
		return nil, err
	}
	season, err := journal.ReadSeason(body)
	if err != nil {
		return nil, err
	}
	s.names[farm] = season.Names
	return season.Names, nil
}

// insert gives entry its place in the chain and writes it.
func (s *Store) insert(ctx context.Context, entry *journal.Entry) error {
	h, ok := s.heads[entry.Farm]
	if !ok {
		newest, err := proof.HeadOf(ctx, s.w, entry.Farm)
		if err != nil {
			return err
		}
		h = head{newest.Seq, newest.Hash}
	}
	record, err := entry.Record()
	if err != nil {
		return err
	}
	entry.Seq = h.seq + 1
	entry.Hash = journal.Chain(h.hash, *entry)
	var skew *int64
	if entry.Skew != nil {
		ms := entry.Skew.Milliseconds()
		skew = &ms
	}
	day := ""
	if !entry.Day.IsZero() {
		day = entry.Day.String()
	}
	err = s.w.exec(ctx, `INSERT INTO events (`+proof.EntryColumns+`, record_id)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18)`,
		entry.Farm, entry.Seq, string(entry.ID), string(entry.Kind), string(entry.Body), string(entry.Origin), entry.Device, entry.Counter,
		journal.FormatInstant(entry.At), entry.Offset, skew, day, entry.By, journal.FormatInstant(entry.Received), string(entry.Status),
		strings.Join(entry.Rules, " "), entry.Hash[:], string(record))
	if err == nil {
		s.heads[entry.Farm] = head{entry.Seq, entry.Hash}
	}
	return err
}

// keepRefused keeps what a phone sent and the book could not take.
func (s *Store) keepRefused(ctx context.Context, e journal.Event, a journal.Answer) error {
	digest := sha256.Sum256(e.Body)
	f := a.Problems[0]
	return s.w.exec(ctx, `INSERT INTO refused (farm_id, event_id, digest, received_at, rule, say, raw)
		VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT (farm_id, event_id, digest) DO NOTHING`,
		e.Farm, string(e.ID), hex.EncodeToString(digest[:]), journal.FormatInstant(s.now()), f.Rule, f.Say, e.Body)
}

// meet returns what is doubtful about e because of what the book holds already.
func (s *Store) meet(ctx context.Context, e journal.Event) ([]problem.Finding, error) {
	subject, act, _ := e.Kind.Split()
	switch act {
	case journal.Recorded:
		if subject == journal.LoadSubject {
			return s.meetDouble(ctx, e)
		}
		return s.meetPaper(ctx, e.Farm, subject, e.ID, e.Body)
	case journal.Set, journal.Restored:
		return nil, nil
	default: // nothing for the others
	}
	said, err := journal.ReadSaying(e)
	if err != nil {
		return nil, nil // Check refuses it
	}
	doubt := func(rule, got, say, next string) []problem.Finding {
		return []problem.Finding{{Rule: rule, Severity: problem.Error, Label: "Record", Got: got, Say: say, Next: next}}
	}
	entries, err := s.entriesOf(ctx, e.Farm, said.Of)
	if err != nil {
		return nil, err
	}
	r := fold(said.Of, entries)
	switch {
	case r.State == journal.Waiting:
		return doubt("record.unknown", string(said.Of), "The entry that this one speaks of is not in the book yet.",
			"It takes effect when that entry arrives."), nil
	case r.Subject != subject:
		return doubt("record.subject", string(r.Subject), fmt.Sprintf("This speaks of a %s, and the entry it names is a %s.", subject, r.Subject),
			"Choose the record anew."), nil
	case act == journal.SetAside:
		for _, id := range said.Events {
			if !slices.ContainsFunc(entries, func(e journal.Entry) bool { return e.ID == id && id != said.Of }) {
				return doubt("record.unknown", string(id), "This sets an entry aside that says nothing of the record.",
					"Choose the entry anew from the record's history."), nil
			}
		}
		return nil, nil
	case act == journal.Kept:
		return nil, nil
	case r.State == journal.Void:
		return doubt("record.void", string(said.Of), fmt.Sprintf("This %s was voided before; the entry is kept and changes no total.", subject),
			"Set the void aside if it was wrong, or leave it."), nil
	case (act == journal.Correct || act == journal.Voided) && said.Saw != r.Version:
		return doubt("record.stale", string(said.Saw), fmt.Sprintf("This %s was changed by somebody else after it was opened here.", subject),
			"Look at the newest version and say which one holds."), nil
	case act == journal.Correct:
		return s.meetPaper(ctx, e.Farm, subject, said.Of, said.To)
	}
	return nil, nil
}

// meetDouble returns a warning when the load in e looks like one that counts already.
func (s *Store) meetDouble(ctx context.Context, e journal.Event) ([]problem.Finding, error) {
	l, err := journal.ReadLoad(e.Body)
	if err != nil {
		return nil, nil // Check refuses it
	}
	like, err := s.alike(ctx, e.Farm, e.ID, journal.LikenessOf(l))
	if err != nil || len(like) == 0 {
		return nil, err
	}
	ticket := "A load of this truck and weight"
	if l.Ticket != "" {
		ticket = "Ticket " + l.Ticket
	}
	return []problem.Finding{{
		Rule: "load.double", Severity: problem.Warning, Label: "Ticket", Got: l.Ticket,
		Say:  fmt.Sprintf("%s at %s is already there. It is stored, and counted once.", ticket, l.Outlet),
		Next: "Same load? Keep both, or merge them.",
	}}, nil
}
