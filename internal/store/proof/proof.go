// Package proof counts and checks a book: that its chain of entries is unbroken, that the file is whole, and
// what it adds up to. A live database, a backup and a copy of a copy are proved by the same functions.
//
// It changes nothing. What it cannot see is a book rewritten from the first entry on, chain and all; for that
// the newest hash stands in backup manifests and on statements.
package proof

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/journal"
)

// A Querier is a pool, a connection or a transaction.
type Querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// EntryColumns are the columns of events that [ScanEntry] reads, in its order.
const EntryColumns = "farm_id, seq, event_id, kind, body, origin, device, counter, entered_at, offset_min, skew_ms, day, entered_by, received_at, status, rules, hash"

// ScanEntry reads the entry at which rows stands.
func ScanEntry(rows interface{ Scan(...any) error }) (journal.Entry, error) {
	var e journal.Entry
	var at, received, day, rules string
	var skew *int64
	var body, hash []byte
	err := rows.Scan(&e.Farm, &e.Seq, &e.ID, &e.Kind, &body, &e.Origin, &e.Device, &e.Counter, &at, &e.Offset, &skew, &day, &e.By,
		&received, &e.Status, &rules, &hash)
	if err != nil {
		return e, err
	}
	if e.At, err = journal.ParseInstant(at); err != nil {
		return e, err
	}
	if e.Received, err = journal.ParseInstant(received); err != nil {
		return e, err
	}
	if day != "" {
		if e.Day, err = calendar.ParseDay(day); err != nil {
			return e, err
		}
	}
	if skew != nil {
		d := time.Duration(*skew) * time.Millisecond
		e.Skew = &d
	}
	if rules != "" {
		e.Rules = strings.Fields(rules)
	}
	if len(hash) != len(e.Hash) {
		return e, fmt.Errorf("entry %d has a hash of %d bytes", e.Seq, len(hash))
	}
	e.Body, e.Hash = body, journal.Hash(hash)
	return e, nil
}

// A Head is the newest entry of one farm's book.
type Head struct {
	Farm string
	Seq  int64
	Hash journal.Hash
}

// Heads returns the newest entry of every farm, by farm.
func Heads(ctx context.Context, q Querier) ([]Head, error) {
	// One step down the key per farm: the number of entries does not matter.
	var heads []Head
	farm := ""
	for {
		var next sql.NullString
		if err := q.QueryRowContext(ctx, `SELECT min(farm_id) FROM events WHERE farm_id > $1`, farm).Scan(&next); err != nil {
			return nil, err
		}
		if !next.Valid {
			return heads, nil
		}
		h, err := HeadOf(ctx, q, next.String)
		if err != nil {
			return nil, err
		}
		heads = append(heads, h)
		farm = next.String
	}
}

// HeadOf returns the newest entry of a farm; the zero Seq and Hash when it has none.
func HeadOf(ctx context.Context, q Querier, farm string) (Head, error) {
	h := Head{Farm: farm}
	var hash []byte
	err := q.QueryRowContext(ctx, `SELECT seq, hash FROM events WHERE farm_id = $1 ORDER BY seq DESC LIMIT 1`, farm).Scan(&h.Seq, &hash)
	if errors.Is(err, sql.ErrNoRows) {
		return h, nil
	}
	if err == nil && len(hash) != len(h.Hash) {
		err = fmt.Errorf("entry %d has a hash of %d bytes", h.Seq, len(hash))
	}
	if err != nil {
		return h, err
	}
	h.Hash = journal.Hash(hash)
	return h, nil
}

// HashAt returns the hash of one entry; ok is false when there is none.
func HashAt(ctx context.Context, q Querier, farm string, seq int64) (h journal.Hash, ok bool, err error) {
	var hash []byte
	err = q.QueryRowContext(ctx, `SELECT hash FROM events WHERE farm_id = $1 AND seq = $2`, farm, seq).Scan(&hash)
	if errors.Is(err, sql.ErrNoRows) || err == nil && len(hash) != len(h) {
		return h, false, nil
	}
	if err != nil {
		return h, false, err
	}
	return journal.Hash(hash), true, nil
}

// Totals are the control totals of a book: what two copies of it must agree on.
type Totals struct {
	Entries int64 `json:"entries"`
	Records int64 `json:"records"`
	Loads   int64 `json:"loads"`
	Counted int64 `json:"loads_counted"`
	NetLb   int64 `json:"net_lb"`
	NetKg   int64 `json:"net_kg"`
}

// Count returns the control totals over all farms.
func Count(ctx context.Context, q Querier) (Totals, error) {
	var t Totals
	for _, c := range []struct {
		query string
		to    []any
	}{
		{`SELECT count(*) FROM events`, []any{&t.Entries}},
		{`SELECT count(*) FROM records`, []any{&t.Records}},
		{`SELECT count(*), coalesce(sum(counted), 0), coalesce(sum(CASE WHEN counted = 1 THEN net_lb END), 0),
			coalesce(sum(CASE WHEN counted = 1 THEN net_kg END), 0) FROM loads`, []any{&t.Loads, &t.Counted, &t.NetLb, &t.NetKg}},
	} {
		if err := q.QueryRowContext(ctx, c.query).Scan(c.to...); err != nil {
			return t, err
		}
	}
	return t, nil
}

// A Break is the first entry of a farm at which the chain does not hold.
type Break struct {
	Farm string
	Seq  int64
	Why  string
}

// Chain checks the newest tail entries of every farm, all of them when tail is 0, and returns the breaks it finds,
// at most one a farm.
func Chain(ctx context.Context, q Querier, tail int64) ([]Break, error) {
	heads, err := Heads(ctx, q)
	if err != nil {
		return nil, err
	}
	var breaks []Break
	for _, h := range heads {
		from := int64(0)
		if tail > 0 && h.Seq > tail {
			from = h.Seq - tail
		}
		b, err := chainOf(ctx, q, h, from)
		if err != nil {
			return nil, err
		}
		if b != nil {
			breaks = append(breaks, *b)
		}
	}
	return breaks, nil
}

// chainOf checks the entries of a farm after from.
func chainOf(ctx context.Context, q Querier, head Head, from int64) (*Break, error) {
	var prev journal.Hash
	if from > 0 {
		h, ok, err := HashAt(ctx, q, head.Farm, from)
		if err != nil {
			return nil, err
		}
		if !ok {
			return &Break{head.Farm, from, "the entry is missing"}, nil
		}
		prev = h
	}
	rows, err := q.QueryContext(ctx, `SELECT `+EntryColumns+` FROM events WHERE farm_id = $1 AND seq > $2 ORDER BY seq`, head.Farm, from)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	for seq := from + 1; rows.Next(); seq++ {
		e, err := ScanEntry(rows)
		switch {
		case err != nil:
			return &Break{head.Farm, seq, err.Error()}, nil
		case e.Seq != seq:
			return &Break{head.Farm, seq, "the entry is missing"}, nil
		case journal.Chain(prev, e) != e.Hash:
			return &Break{head.Farm, seq, "the entry, or the one before it, is not what was written"}, nil
		}
		prev = e.Hash
	}
	return nil, rows.Err()
}

// Structure returns what SQLite finds wrong with the file itself: every page, index and reference when full is
// true; all but the agreement of indexes with their tables otherwise. [sqlite-pragma]
func Structure(ctx context.Context, q Querier, full bool) ([]string, error) {
	check := `PRAGMA quick_check(20)`
	if full {
		check = `PRAGMA integrity_check(20)`
	}
	var wrong []string
	rows, err := q.QueryContext(ctx, check)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			return nil, err
		}
		if line != "ok" {
			wrong = append(wrong, line)
		}
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	refs, err := q.QueryContext(ctx, `PRAGMA foreign_key_check`)
	if err != nil {
		return nil, err
	}
	defer func() { _ = refs.Close() }()
	for refs.Next() {
		var table, parent string
		var row, key sql.NullInt64
		if err := refs.Scan(&table, &row, &parent, &key); err != nil {
			return nil, err
		}
		wrong = append(wrong, fmt.Sprintf("row %d of %s refers to nothing in %s", row.Int64, table, parent))
	}
	return wrong, refs.Err()
}

// derived are the tables that can be made again from the entries, with their keys.
var derived = []struct{ table, columns, key string }{
	{"records", "farm_id, record_id, subject, about, at, state, version_id, review", "farm_id, record_id"},
	{
		"loads", "farm_id, load_id, state, version_id, day, crop_year, crop, outlet, contract, ticket, truck, scale_at, gross_lb, gross_kg, " +
			"net_lb, net_kg, moist_hundredth_pct, test_weight_hundredth_lb_bu, kept, merged, double_of, counted, review", "farm_id, load_id",
	},
	{"load_fields", "farm_id, load_id, field, crop_year, day, net_lb, net_kg", "farm_id, load_id, field"},
	{"load_merges", "farm_id, load_id, into_id", "farm_id, load_id, into_id"},
}

// Digest returns a hash over every row of the derived tables in the order of their keys. Two books of the same
// entries have the same digest.
func Digest(ctx context.Context, q Querier) (string, error) {
	sum := sha256.New()
	for _, t := range derived {
		if err := digestTable(ctx, q, sum, t.table, t.columns, t.key); err != nil {
			return "", err
		}
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

func digestTable(ctx context.Context, q Querier, sum interface{ Write([]byte) (int, error) }, table, columns, key string) error {
	rows, err := q.QueryContext(ctx, `SELECT `+columns+` FROM `+table+` ORDER BY `+key)
	if err != nil {
		return err
	}
	defer func() { _ = rows.Close() }()
	n := strings.Count(columns, ",") + 1
	cells := make([]sql.NullString, n)
	to := make([]any, n)
	for i := range cells {
		to[i] = &cells[i]
	}
	var line []byte
	for rows.Next() {
		if err := rows.Scan(to...); err != nil {
			return err
		}
		line = append(line[:0], table...)
		for _, c := range cells {
			// A length before each cell, so that no two rows make one text.
			line = fmt.Appendf(line, " %t %d %s", c.Valid, len(c.String), c.String)
		}
		if _, err := sum.Write(append(line, '\n')); err != nil {
			return err
		}
	}
	return rows.Err()
}
