package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"threshday/internal/core/journal"
)

// AllLoads returns every load of a season in the order of [Store.Loads], as one consistent state of the book. It walks the entries
// once in their order, where a page looks each of its own up.
func (s *Store) AllLoads(ctx context.Context, farm string, cropYear int) ([]LoadRow, error) {
	tx, err := s.reads.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return nil, s.explain("list loads", err)
	}
	defer func() { _ = tx.Rollback() }() // it only read
	var all []LoadRow
	at := map[journal.ID]int{} // by the entry that stands
	//nolint:gosec // only constants of ours are put together
	query := `SELECT load_id, version_id, state, counted, double_of, merged, review FROM loads
		WHERE farm_id = $1 AND crop_year = $2 ORDER BY ` + bySeason("loads")
	rows, err := tx.QueryContext(ctx, query, farm, cropYear)
	err = each(rows, err, func() error {
		var r LoadRow
		var review string
		err := rows.Scan(&r.ID, &r.Version, &r.State, &r.Counted, &r.DoubleOf, &r.Merged, &review)
		r.Waits = strings.Fields(review)
		at[r.Version] = len(all)
		all = append(all, r)
		return err
	})
	if err != nil {
		return nil, s.explain("list loads", err)
	}
	found := 0
	rows, err = tx.QueryContext(ctx, `SELECT event_id, seq, kind, body FROM events WHERE farm_id = $1 AND kind IN ('load.recorded', 'load.corrected') ORDER BY seq`, farm)
	err = each(rows, err, func() error {
		var e journal.Event
		var seq int64
		if err := rows.Scan(&e.ID, &seq, &e.Kind, &e.Body); err != nil {
			return err
		}
		i, stands := at[e.ID]
		if !stands {
			return nil
		}
		body, err := standing(e)
		if err != nil {
			return err
		}
		found++
		all[i].Seq = seq
		all[i].Load, err = journal.ReadLoad(body)
		return err
	})
	if err == nil && found != len(all) {
		err = fmt.Errorf("%d loads name %d entries that stand: %w", len(all), found, errApart)
	}
	return all, s.explain("list loads", err)
}

// errApart says that the tables derived from the book have come apart from it.
var errApart = errors.New("the tables have come apart from the book; threshday doctor --rebuild makes them anew")
