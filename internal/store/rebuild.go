package store

import (
	"context"
	"errors"

	"threshday/internal/core/journal"
	"threshday/internal/store/fault"
	"threshday/internal/store/proof"
)

// Rebuild drops the derived tables and makes them again from the entries, in one transaction. It returns the
// digests before and after, which are equal unless the tables had come apart from the book.
func (s *Store) Rebuild(ctx context.Context) (before, after string, err error) {
	err = s.exclusive(ctx, func(ctx context.Context) error {
		if before, err = proof.Digest(ctx, s.w); err != nil {
			return err
		}
		if err = s.rebuild(ctx); err != nil {
			return err
		}
		s.moves.forget()
		after, err = proof.Digest(ctx, s.w)
		return err
	})
	return before, after, err
}

// rebuild runs on the writer.
func (s *Store) rebuild(ctx context.Context) error {
	if err := s.begin(ctx); err != nil {
		return err
	}
	for _, table := range []string{"load_merges", "load_fields", "loads", "records"} {
		if err := s.w.exec(ctx, `DELETE FROM `+table); err != nil {
			return s.rollback(ctx, err)
		}
	}
	heads, err := proof.Heads(ctx, s.w)
	if err != nil {
		return s.rollback(ctx, err)
	}
	for _, h := range heads {
		if err := s.replay(ctx, h); err != nil {
			return s.rollback(ctx, err)
		}
	}
	fault.Reach("mid-rebuild")
	return s.end(ctx)
}

// replayPage is how many entries are held in memory at a time.
const replayPage = 1000

// replay plays the entries of one farm. A record is written with all that was ever said of it when its first
// entry comes, and again at each later one; the last writing is the same as the live one was.
func (s *Store) replay(ctx context.Context, h proof.Head) error {
	for from := int64(0); from < h.Seq; from += replayPage {
		rows, err := s.w.query(ctx, `SELECT `+proof.EntryColumns+` FROM events WHERE farm_id = $1 AND seq > $2 AND seq <= $3 ORDER BY seq`,
			h.Farm, from, from+replayPage)
		if err != nil {
			return err
		}
		var page []journal.Event
		for rows.Next() {
			e, err := proof.ScanEntry(rows)
			if err != nil {
				_ = rows.Close() //nolint:sqlclosecheck // in a loop; the scan error is the one to report
				return err
			}
			page = append(page, e.Event)
		}
		if err := errors.Join(rows.Err(), rows.Close()); err != nil {
			return err
		}
		for _, e := range page {
			if err := s.project(ctx, e); err != nil {
				return err
			}
		}
	}
	return nil
}
