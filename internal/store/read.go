package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/store/proof"
)

// ErrNotFound says that the book holds no such thing.
var ErrNotFound = errors.New("not in the book")

// Farms returns the farms that have entries, in order.
func (s *Store) Farms(ctx context.Context) ([]string, error) {
	heads, err := proof.Heads(ctx, s.reads)
	if err != nil {
		return nil, s.explain("list farms", err)
	}
	farms := make([]string, len(heads))
	for i, h := range heads {
		farms[i] = h.Farm
	}
	return farms, nil
}

// Head returns the newest entry of a farm's book: its hash is printed on statements.
func (s *Store) Head(ctx context.Context, farm string) (seq int64, hash journal.Hash, err error) {
	h, err := proof.HeadOf(ctx, s.reads, farm)
	return h.Seq, h.Hash, s.explain("read the newest entry", err)
}

// Entries calls visit for every entry of a farm after seq, in the order of the book, until visit returns an error.
func (s *Store) Entries(ctx context.Context, farm string, after int64, visit func(journal.Entry) error) error {
	return s.entries(ctx, visit, `farm_id = $1 AND seq > $2 ORDER BY seq`, farm, after)
}

func (s *Store) entries(ctx context.Context, visit func(journal.Entry) error, where string, args ...any) error {
	rows, err := s.reads.QueryContext(ctx, `SELECT `+proof.EntryColumns+` FROM events WHERE `+where, args...) //nolint:gosec // only constants of ours are put together
	if err != nil {
		return s.explain("read entries", err)
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		e, err := proof.ScanEntry(rows)
		if err != nil {
			return s.explain("read an entry", err)
		}
		if err := visit(e); err != nil {
			return err
		}
	}
	return s.explain("read entries", rows.Err())
}

// OthersSince reports whether anything was entered after seq that speaks of something else than one subject.
func (s *Store) OthersSince(ctx context.Context, farm string, seq int64, subject journal.Subject) (bool, error) {
	var others bool
	err := s.reads.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM events WHERE farm_id = $1 AND seq > $2 AND kind NOT LIKE $3)`, farm, seq, string(subject)+".%").Scan(&others)
	return others, s.explain("look for new entries", err)
}

// Dump writes every entry of every farm, one a line: its hash, a space, and the text that the hash is made of
// together with the hash before it. Any tool that knows SHA-256 can check it, and a later version of the file
// can be read this way.
func (s *Store) Dump(ctx context.Context, w io.Writer) error {
	farms, err := s.Farms(ctx)
	if err != nil {
		return err
	}
	for _, f := range farms {
		if err := s.Entries(ctx, f, 0, func(e journal.Entry) error {
			_, err := fmt.Fprintf(w, "%s %s\n", e.Hash, journal.Line(e))
			return err
		}); err != nil {
			return err
		}
	}
	return nil
}

// Season returns the season file as it was last set, and the entry that set it; ErrNotFound when none was.
func (s *Store) Season(ctx context.Context, farm string) (journal.Season, journal.Entry, error) {
	var found *journal.Entry
	err := s.entries(ctx, func(e journal.Entry) error { found = &e; return nil },
		`farm_id = $1 AND kind = 'season.set' ORDER BY seq DESC LIMIT 1`, farm)
	if err != nil {
		return journal.Season{}, journal.Entry{}, err
	}
	if found == nil {
		return journal.Season{}, journal.Entry{}, ErrNotFound
	}
	season, err := journal.ReadSeason(found.Body)
	return season, *found, err
}

// An Item is a record as it stands.
type Item[T any] struct {
	ID      journal.ID
	Version journal.ID // the entry that stands
	Value   T
	Typed   journal.Typed // numbers as they were entered
	Waits   []string      // why a person should look; empty: nothing is doubtful
	Seq     int64         // of the entry that stands
}

// Readings returns the readings of a field that are not voided, of every field when field is empty, by time.
func (s *Store) Readings(ctx context.Context, farmID, field string) ([]Item[farm.Reading], error) {
	return items(ctx, s, farmID, journal.ReadingSubject, field, func(id journal.ID, body []byte) (farm.Reading, journal.Typed, error) {
		r, t, err := journal.ReadReading(body)
		r.ID = string(id)
		return r, t, err
	})
}

// Stages returns the sightings of a field that are not voided, of every field when field is empty, by day.
func (s *Store) Stages(ctx context.Context, farmID, field string) ([]Item[farm.Sighting], error) {
	return items(ctx, s, farmID, journal.StageSubject, field, func(id journal.ID, body []byte) (farm.Sighting, journal.Typed, error) {
		v, t, err := journal.ReadStage(body)
		v.ID = string(id)
		return v, t, err
	})
}

// Bids returns the bids of an outlet that are not voided, of every outlet when it is empty, by when they were heard.
func (s *Store) Bids(ctx context.Context, farmID, outlet string) ([]Item[farm.Bid], error) {
	return items(ctx, s, farmID, journal.BidSubject, outlet, func(id journal.ID, body []byte) (farm.Bid, journal.Typed, error) {
		v, t, err := journal.ReadBid(body)
		v.ID = string(id)
		return v, t, err
	})
}

// Cheques returns the cheques that are not voided, by their day.
func (s *Store) Cheques(ctx context.Context, farmID string) ([]Item[journal.Cheque], error) {
	return items(ctx, s, farmID, journal.ChequeSubject, "", func(_ journal.ID, body []byte) (journal.Cheque, journal.Typed, error) {
		c, err := journal.ReadCheque(body)
		return c, c.Typed, err
	})
}

// Sheets returns the settlement sheets that are not voided, by their ticket.
func (s *Store) Sheets(ctx context.Context, farmID string) ([]Item[journal.Sheet], error) {
	return items(ctx, s, farmID, journal.SheetSubject, "", func(_ journal.ID, body []byte) (journal.Sheet, journal.Typed, error) {
		p, err := journal.ReadSheet(body)
		return p, p.Typed, err
	})
}

// Outlook returns the farm's own forecast, the newest entry of each day, by day.
func (s *Store) Outlook(ctx context.Context, farmID string) ([]Item[farm.OutlookDay], error) {
	all, err := items(ctx, s, farmID, journal.OutlookSubject, "", func(_ journal.ID, body []byte) (farm.OutlookDay, journal.Typed, error) {
		return journal.ReadOutlook(body)
	})
	if err != nil {
		return nil, err
	}
	var days []Item[farm.OutlookDay]
	for _, d := range all {
		if n := len(days); n > 0 && days[n-1].Value.On == d.Value.On {
			days[n-1] = d
			continue
		}
		days = append(days, d)
	}
	return days, nil
}

func items[T any](ctx context.Context, s *Store, farmID string, subject journal.Subject, about string,
	read func(journal.ID, []byte) (T, journal.Typed, error),
) ([]Item[T], error) {
	query := `SELECT r.record_id, r.version_id, r.review, v.seq, v.kind, v.body FROM records r JOIN events v ON v.farm_id = r.farm_id AND v.event_id = r.version_id
		WHERE r.farm_id = $1 AND r.subject = $2 AND r.state = 'live'`
	args := []any{farmID, string(subject)}
	if about != "" {
		query += ` AND r.about = $3`
		args = append(args, about)
	}
	rows, err := s.reads.QueryContext(ctx, query+` ORDER BY r.at, v.seq`, args...)
	if err != nil {
		return nil, s.explain("read records", err)
	}
	defer func() { _ = rows.Close() }()
	var out []Item[T]
	for rows.Next() {
		var it Item[T]
		var review string
		e := journal.Event{}
		if err := rows.Scan(&it.ID, &it.Version, &review, &it.Seq, &e.Kind, &e.Body); err != nil {
			return nil, s.explain("read a record", err)
		}
		body, err := standing(e)
		if err != nil {
			return nil, err
		}
		if it.Value, it.Typed, err = read(it.ID, body); err != nil {
			return nil, err
		}
		it.Waits = strings.Fields(review)
		out = append(out, it)
	}
	return out, s.explain("read records", rows.Err())
}

// standing returns the body of a record of which e is the version that stands.
func standing(e journal.Event) ([]byte, error) {
	if _, act, _ := e.Kind.Split(); act != journal.Correct {
		return e.Body, nil
	}
	said, err := journal.ReadSaying(e)
	return said.To, err
}

// A Step is one entry in the life of a record.
type Step struct {
	Entry   journal.Entry
	Changes []journal.Change // what a correction changed, against the version it saw
	Reason  string
}

// History returns everything said of a record, in the order of the book, and how it stands; ErrNotFound when
// nothing was.
func (s *Store) History(ctx context.Context, farmID string, id journal.ID) ([]Step, journal.Record, error) {
	var steps []Step
	var events []journal.Event
	bodies := map[journal.ID][]byte{}
	err := s.entries(ctx, func(e journal.Entry) error {
		step := Step{Entry: e}
		bodies[e.ID] = e.Body
		if e.ID != id {
			said, err := journal.ReadSaying(e.Event)
			if err != nil {
				return err
			}
			step.Reason = said.Reason
			if said.To != nil {
				step.Changes, bodies[e.ID] = journal.Diff(bodies[said.Saw], said.To), said.To
			}
		}
		steps, events = append(steps, step), append(events, e.Event)
		return nil
	}, `farm_id = $1 AND seq IN (SELECT seq FROM events WHERE farm_id = $1 AND event_id = $2
		UNION ALL SELECT seq FROM events WHERE farm_id = $1 AND record_id = $2 AND record_id <> event_id) ORDER BY seq`, farmID, string(id))
	if err != nil {
		return nil, journal.Record{}, err
	}
	if len(events) == 0 {
		return nil, journal.Record{}, ErrNotFound
	}
	return steps, journal.Fold(id, events), nil
}
