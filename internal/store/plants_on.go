//go:build fault

package store

import (
	"context"
	"errors"
	"io/fs"
	"os"

	"threshday/internal/core/journal"
)

// held is what a bug remembers. A process with a planted bug has one store, and only its writer comes here.
var held struct {
	apart    []journal.Event // kept back for a second transaction
	apartNow bool            // that transaction runs
}

// later keeps e back for a second transaction; while that one runs it keeps nothing.
func (s *Store) later(e journal.Event) bool {
	if held.apartNow {
		return false
	}
	held.apart = append(held.apart, e)
	return true
}

// projectLater brings the derived tables along in a transaction of their own.
func (s *Store) projectLater(ctx context.Context) error {
	if held.apartNow || len(held.apart) == 0 {
		return nil
	}
	held.apartNow = true
	defer func() { held.apartNow, held.apart = false, nil }()
	if err := s.begin(ctx); err != nil {
		return err
	}
	for _, e := range held.apart {
		if err := s.project(ctx, e); err != nil {
			return s.rollback(ctx, err)
		}
	}
	return s.end(ctx)
}

// overwrite corrects a record by changing its first entry.
func (s *Store) overwrite(ctx context.Context, e journal.Event) error {
	said, err := journal.ReadSaying(e)
	if err != nil {
		return err
	}
	if err := s.w.exec(ctx, `DROP TRIGGER IF EXISTS events_stay_as_they_are`); err != nil {
		return err
	}
	return s.w.exec(ctx, `UPDATE events SET body = $1 WHERE farm_id = $2 AND event_id = $3`, string(said.To), e.Farm, string(said.Of))
}

// unlinkLog deletes the log beside the file, as a tidy person might.
func (s *Store) unlinkLog() error {
	if err := os.Remove(s.path + "-wal"); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}
