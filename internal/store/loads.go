package store

import (
	"context"
	"fmt"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/journal"
)

// A LoadQuery chooses loads; empty parts choose all.
type LoadQuery struct {
	Farm        string // required
	Outlet      string
	Field       string
	Contract    string
	Crop        string
	CropYear    int
	From, Until calendar.Day // harvest days, both included
	Waiting     bool         // only those that wait for a person
	After       Cursor       // of Loads: the page after this one
	Limit       int          // of Loads: rows on a page; 0: 50
}

// A Cursor is the last row of a page; the zero Cursor stands before the first.
type Cursor struct {
	CropYear int
	Day      calendar.Day
	ID       journal.ID
}

// A LoadRow is a load as lists show it.
type LoadRow struct {
	ID       journal.ID
	Version  journal.ID // the entry that stands
	State    journal.State
	Counted  bool
	DoubleOf journal.ID // the load it looks like; empty: none
	Merged   bool
	Waits    []string
	Seq      int64 // of the entry that stands
	Load     journal.Load
}

// Loads returns a page of loads, the newest season first and in it the newest harvest day, and the cursor of the
// page after it; ok is false when this page is the last.
func (s *Store) Loads(ctx context.Context, q LoadQuery) (page []LoadRow, next Cursor, ok bool, err error) {
	if q.Limit <= 0 {
		q.Limit = 50
	}
	query, args := q.page()
	rows, err := s.reads.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, next, false, s.explain("list loads", err)
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		var r LoadRow
		var e journal.Event
		var review string
		if err := rows.Scan(&r.ID, &r.Version, &r.State, &r.Counted, &r.DoubleOf, &r.Merged, &review, &r.Seq, &e.Kind, &e.Body); err != nil {
			return nil, next, false, s.explain("read a load", err)
		}
		body, err := standing(e)
		if err != nil {
			return nil, next, false, err
		}
		if r.Load, err = journal.ReadLoad(body); err != nil {
			return nil, next, false, err
		}
		r.Waits = strings.Fields(review)
		page = append(page, r)
	}
	if err := rows.Err(); err != nil {
		return nil, next, false, s.explain("list loads", err)
	}
	if len(page) > q.Limit {
		page = page[:q.Limit]
		last := page[q.Limit-1]
		return page, Cursor{last.Load.CropYear, last.Load.Day, last.ID}, true, nil
	}
	return page, next, false, nil
}

// A Sum is what the loads of one group add up to, by the unit of the scale that weighed them.
type Sum struct {
	Key   string // outlet, field, crop, contract, day or crop year
	Loads int64
	NetLb int64
	NetKg int64
}

// page returns the query of a page. The rows of the page are found first, so that only theirs are joined with the
// book.
func (q LoadQuery) page() (query string, args []any) {
	query, args = q.find()
	return `SELECT p.load_id, p.version_id, p.state, p.counted, p.double_of, p.merged, p.review, v.seq, v.kind, v.body FROM (` + query + `) p
		JOIN events v ON v.farm_id = p.farm_id AND v.event_id = p.version_id ORDER BY ` + bySeason("p"), args
}

// find returns the query that finds the rows of a page. By field the index of load_fields leads, otherwise one of
// loads.
func (q LoadQuery) find() (query string, args []any) {
	w := q.where()
	lead := "l"
	if q.Field != "" {
		lead = "f"
	}
	if a := q.After; a.ID != "" {
		// The comparison of rows walks the index from the place where the last page ended.
		w.add(`(`+lead+`.crop_year, `+lead+`.day, `+lead+`.load_id) < (?, ?, ?)`, a.CropYear, a.Day.String(), string(a.ID))
	}
	if q.CropYear != 0 && lead == "f" {
		w.add(`f.crop_year = ?`, q.CropYear)
	}
	return `SELECT l.farm_id, l.load_id, l.crop_year, l.day, l.state, l.counted, l.double_of, l.merged, l.review, l.version_id
		FROM ` + w.tables() + ` ORDER BY ` + bySeason(lead) + ` LIMIT ` + w.arg(q.Limit+1), w.args
}

func bySeason(table string) string {
	return table + `.crop_year DESC, ` + table + `.day DESC, ` + table + `.load_id DESC`
}

// LoadTotals returns what the loads that count add up to, by "outlet", "field", "crop", "contract", "day",
// "crop_year" or "" for one sum of all. By field, a load of several fields counts in each with its own part.
func (s *Store) LoadTotals(ctx context.Context, by string, q LoadQuery) ([]Sum, error) {
	key, net := "l."+by, "l."
	switch by {
	case "":
		key = "''"
	case "outlet", "crop", "contract", "day":
	case "crop_year":
		key = "CAST(l.crop_year AS TEXT)"
	case "field":
		key, net = "f.field", "f."
	default:
		panic("store: no totals by " + by)
	}
	w := q.where()
	w.byField = w.byField || by == "field"
	if q.Field != "" {
		net = "f."
	}
	w.add(`l.counted = 1`)
	//nolint:gosec // only constants of ours are put together
	query := fmt.Sprintf(`SELECT %s, count(*), CAST(coalesce(sum(%snet_lb), 0) AS BIGINT), CAST(coalesce(sum(%snet_kg), 0) AS BIGINT)
		FROM %s GROUP BY 1 ORDER BY 1`, key, net, net, w.tables())
	rows, err := s.reads.QueryContext(ctx, query, w.args...)
	if err != nil {
		return nil, s.explain("add up loads", err)
	}
	defer func() { _ = rows.Close() }()
	var sums []Sum
	for rows.Next() {
		var one Sum
		if err := rows.Scan(&one.Key, &one.Loads, &one.NetLb, &one.NetKg); err != nil {
			return nil, s.explain("add up loads", err)
		}
		sums = append(sums, one)
	}
	return sums, s.explain("add up loads", rows.Err())
}

// conditions gather a WHERE with numbered placeholders.
type conditions struct {
	all     []string
	args    []any
	byField bool
}

func (q LoadQuery) where() *conditions {
	w := &conditions{}
	w.add(`l.farm_id = ?`, q.Farm)
	for _, c := range []struct{ condition, value string }{
		{`l.outlet = ?`, q.Outlet}, {`l.contract = ?`, q.Contract}, {`l.crop = ?`, q.Crop}, {`f.field = ?`, q.Field},
	} {
		if c.value != "" {
			w.add(c.condition, c.value)
		}
	}
	if q.Field != "" {
		w.byField = true
		w.add(`f.farm_id = ?`, q.Farm)
	}
	if q.Contract != "" {
		w.add(`l.contract <> ''`) // what the index of contracts asks for
	}
	if q.CropYear != 0 {
		w.add(`l.crop_year = ?`, q.CropYear)
	}
	if !q.From.IsZero() {
		w.add(`l.day >= ?`, q.From.String())
	}
	if !q.Until.IsZero() {
		w.add(`l.day <= ?`, q.Until.String())
	}
	if q.Waiting {
		w.add(`l.review <> ''`)
	}
	return w
}

func (w *conditions) arg(v any) string {
	w.args = append(w.args, v)
	return fmt.Sprintf("$%d", len(w.args))
}

func (w *conditions) add(condition string, args ...any) {
	for _, a := range args {
		condition = strings.Replace(condition, "?", w.arg(a), 1)
	}
	w.all = append(w.all, condition)
}

func (w *conditions) tables() string {
	from := "loads l"
	if w.byField {
		from += " JOIN load_fields f ON f.farm_id = l.farm_id AND f.load_id = l.load_id"
	}
	return from + " WHERE " + strings.Join(w.all, " AND ")
}

// A Waiting record is one that a person should look at.
type Waiting struct {
	ID      journal.ID
	Subject journal.Subject
	Why     []string // stable names: "load.double", "record.rivals", "moisture.range"
	Like    journal.ID
}

// Waiting returns the records that wait for a person, by ID.
func (s *Store) Waiting(ctx context.Context, farmID string) ([]Waiting, error) {
	rows, err := s.reads.QueryContext(ctx, `SELECT load_id, 'load', review, double_of FROM loads WHERE farm_id = $1 AND review <> ''
		UNION ALL SELECT record_id, subject, review, '' FROM records WHERE farm_id = $1 AND review <> '' ORDER BY 1`, farmID)
	if err != nil {
		return nil, s.explain("read what waits", err)
	}
	defer func() { _ = rows.Close() }()
	var out []Waiting
	for rows.Next() {
		var w Waiting
		var why string
		if err := rows.Scan(&w.ID, &w.Subject, &why, &w.Like); err != nil {
			return nil, s.explain("read what waits", err)
		}
		w.Why = strings.Fields(why)
		out = append(out, w)
	}
	return out, s.explain("read what waits", rows.Err())
}

// A Gap is a run of a device's own numbers that never came.
type Gap struct {
	Device      string
	First, Last int64
}

// Gaps returns the numbers that devices gave to entries which are not in the book, by device.
func (s *Store) Gaps(ctx context.Context, farmID string) ([]Gap, error) {
	rows, err := s.reads.QueryContext(ctx, `SELECT device, before + 1, counter - 1 FROM (
			SELECT device, counter, lag(counter, 1, 0) OVER (PARTITION BY device ORDER BY counter) AS before FROM events
			WHERE farm_id = $1 AND counter > 0) AS numbered WHERE counter > before + 1 ORDER BY 1, 2`, farmID)
	if err != nil {
		return nil, s.explain("look for gaps", err)
	}
	defer func() { _ = rows.Close() }()
	var gaps []Gap
	for rows.Next() {
		var g Gap
		if err := rows.Scan(&g.Device, &g.First, &g.Last); err != nil {
			return nil, s.explain("look for gaps", err)
		}
		gaps = append(gaps, g)
	}
	return gaps, s.explain("look for gaps", rows.Err())
}
