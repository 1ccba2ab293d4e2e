package store

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"strconv"
	"strings"
	"sync"

	"threshday/internal/core/journal"
)

// A Tally keeps in memory what every load of a farm counts for, so that a process that holds the file answers sums of a
// season of fifty thousand loads in a millisecond. It adds up as [Store.LoadTotals] does, and follows the book entry by entry.
type Tally struct {
	store *Store
	farm  string

	mu    sync.Mutex
	seq   int64 // up to which it follows the book; 0: it holds nothing
	rows  []tallied
	at    map[journal.ID]int // into rows
	names map[string]string  // one copy of each text
}

// A tallied load is what its row says of how it counts.
type tallied struct {
	outlet, crop, contract, day string
	year                        int
	counted, waits              bool
	lb, kg                      int64
	parts                       []tallyPart
}

type tallyPart struct {
	field  string
	lb, kg int64
}

// Tally returns a tally of a farm, which reads the book when it is first asked.
func (s *Store) Tally(farm string) *Tally { return &Tally{store: s, farm: farm} }

// Totals returns what [Store.LoadTotals] does.
func (t *Tally) Totals(ctx context.Context, by string, q LoadQuery) ([]Sum, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if err := t.follow(ctx); err != nil {
		return nil, t.store.explain("add up loads", err)
	}
	sums := map[string]*Sum{}
	add := func(key string, lb, kg int64) {
		one := sums[key]
		if one == nil {
			one = &Sum{Key: key}
			sums[key] = one
		}
		one.Loads, one.NetLb, one.NetKg = one.Loads+1, one.NetLb+lb, one.NetKg+kg
	}
	from, until := dayText(q.From.IsZero(), q.From.String()), dayText(q.Until.IsZero(), q.Until.String())
	for i := range t.rows {
		r := &t.rows[i]
		if !r.counted || q.CropYear != 0 && r.year != q.CropYear || q.Outlet != "" && r.outlet != q.Outlet || q.Contract != "" && r.contract != q.Contract ||
			q.Crop != "" && r.crop != q.Crop || q.Waiting && !r.waits || from != "" && r.day < from || until != "" && r.day > until {
			continue
		}
		if q.Field == "" && by != "field" {
			add(r.key(by), r.lb, r.kg)
			continue
		}
		for _, p := range r.parts {
			switch {
			case q.Field != "" && p.field != q.Field:
			case by == "field":
				add(p.field, p.lb, p.kg)
			default:
				add(r.key(by), p.lb, p.kg)
			}
		}
	}
	var out []Sum
	for _, one := range sums {
		out = append(out, *one)
	}
	slices.SortFunc(out, func(a, b Sum) int { return strings.Compare(a.Key, b.Key) })
	return out, nil
}

func dayText(none bool, day string) string {
	if none {
		return ""
	}
	return day
}

// key returns the group of a load.
func (r *tallied) key(by string) string {
	switch by {
	case "":
		return ""
	case "outlet":
		return r.outlet
	case "crop":
		return r.crop
	case "contract":
		return r.contract
	case "day":
		return r.day
	case "crop_year":
		return strconv.Itoa(r.year)
	}
	panic("store: no totals by " + by)
}

// follow brings the tally to the newest entry of the book.
func (t *Tally) follow(ctx context.Context) error {
	head, _, err := t.store.Head(ctx, t.farm)
	if err != nil || head == t.seq {
		return err
	}
	moved, known := t.store.moves.between(t.farm, t.seq, head)
	if t.seq == 0 || !known || len(moved) > mostMoved {
		t.rows, t.at, t.names = nil, map[journal.ID]int{}, map[string]string{}
		moved = []journal.ID{""}
	}
	for _, id := range moved {
		if err := t.read(ctx, id); err != nil {
			t.seq = 0
			return err
		}
	}
	t.seq = head
	return nil
}

// mostMoved is how many loads are read one by one; from more on all are read.
const mostMoved = 500

// read reads one load, or all of them where id is empty.
func (t *Tally) read(ctx context.Context, id journal.ID) error {
	only, args := "", []any{t.farm}
	if id != "" {
		only, args = " AND load_id = $2", append(args, string(id))
	}
	//nolint:gosec // only constants of ours are put together
	loads := `SELECT load_id, outlet, crop, contract, day, crop_year, counted, review <> '', coalesce(net_lb, 0), coalesce(net_kg, 0)
		FROM loads WHERE farm_id = $1` + only
	rows, err := t.store.reads.QueryContext(ctx, loads, args...)
	if err := each(rows, err, func() error {
		var load journal.ID
		var r tallied
		if err := rows.Scan(&load, &r.outlet, &r.crop, &r.contract, &r.day, &r.year, &r.counted, &r.waits, &r.lb, &r.kg); err != nil {
			return err
		}
		r.outlet, r.crop, r.contract, r.day = t.one(r.outlet), t.one(r.crop), t.one(r.contract), t.one(r.day)
		if i, ok := t.at[load]; ok {
			t.rows[i] = r
			return nil
		}
		t.at[load] = len(t.rows)
		t.rows = append(t.rows, r)
		return nil
	}); err != nil {
		return err
	}
	parts := `SELECT load_id, field, coalesce(net_lb, 0), coalesce(net_kg, 0) FROM load_fields WHERE farm_id = $1` + only //nolint:gosec // as above
	rows, err = t.store.reads.QueryContext(ctx, parts, args...)
	return each(rows, err, func() error {
		var load journal.ID
		var p tallyPart
		if err := rows.Scan(&load, &p.field, &p.lb, &p.kg); err != nil {
			return err
		}
		p.field = t.one(p.field)
		if i, ok := t.at[load]; ok {
			t.rows[i].parts = append(t.rows[i].parts, p)
		}
		return nil
	})
}

// one returns the copy of a text that is kept.
func (t *Tally) one(text string) string {
	if kept, ok := t.names[text]; ok {
		return kept
	}
	t.names[text] = text
	return text
}

// each calls visit for every row and closes rows; err is that of the query.
func each(rows *sql.Rows, err error, visit func() error) error {
	if err != nil {
		return err
	}
	for rows.Next() {
		if err := visit(); err != nil {
			return errors.Join(err, rows.Close())
		}
	}
	return errors.Join(rows.Err(), rows.Close())
}
