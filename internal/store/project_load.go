package store

import (
	"context"
	"slices"
	"strings"
	"time"

	"threshday/internal/core/journal"
)

// projectLoad writes the rows of a load, and of the loads whose counting may change with it.
//
// A load counts when it is live, its weight is known, it is not the same truckload as another live one by a
// merge, and it does not look like one of a smaller ID that is neither voided nor merged, unless somebody kept
// it. None of this depends on the order of arrival.
func (s *Store) projectLoad(ctx context.Context, farm string, r journal.Record, entries []journal.Entry) error {
	l, err := journal.ReadLoad(r.Body)
	if err != nil {
		return err
	}
	old, known, err := s.rowOf(ctx, farm, r.ID)
	if err != nil {
		return err
	}
	touched := map[journal.ID]bool{r.ID: true}
	if known {
		if err := s.touchAlike(ctx, farm, r.ID, old.like, touched); err != nil {
			return err
		}
		if err := s.clearLoad(ctx, farm, r.ID); err != nil {
			return err
		}
	}
	if err := s.writeLoad(ctx, farm, r, l, waits(r, entries)); err != nil {
		return err
	}
	if err := s.touchAlike(ctx, farm, r.ID, journal.LikenessOf(l), touched); err != nil {
		return err
	}
	joined, err := s.joined(ctx, farm, r.ID)
	if err != nil {
		return err
	}
	if known && len(joined) == 0 {
		joined = []journal.ID{r.ID} // a merge of it may have been set aside
	}
	for _, id := range joined {
		row, ok, err := s.rowOf(ctx, farm, id)
		if err != nil {
			return err
		}
		if touched[id] = true; ok {
			if err := s.touchAlike(ctx, farm, id, row.like, touched); err != nil {
				return err
			}
		}
	}
	for _, id := range joined {
		if err := s.settleMerge(ctx, farm, id); err != nil {
			return err
		}
	}
	ids := make([]journal.ID, 0, len(touched))
	for id := range touched {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	s.moved = ids
	for _, id := range ids {
		if err := s.settleDouble(ctx, farm, id); err != nil {
			return err
		}
	}
	return nil
}

// clearLoad takes away the rows beside a load's own, which are written anew.
func (s *Store) clearLoad(ctx context.Context, farm string, id journal.ID) error {
	if err := s.w.exec(ctx, `DELETE FROM load_merges WHERE farm_id = $1 AND load_id = $2`, farm, string(id)); err != nil {
		return err
	}
	return s.w.exec(ctx, `DELETE FROM load_fields WHERE farm_id = $1 AND load_id = $2`, farm, string(id))
}

// writeLoad writes a load's row, its merges and its parts. Whether it counts is settled afterwards.
func (s *Store) writeLoad(ctx context.Context, farm string, r journal.Record, l journal.Load, waits []string) error {
	var net, kg, gross, grossKg *int64
	if n, ok := l.Weights.Carried(); ok {
		net = &n
	} else if r.State == journal.Live && !slices.Contains(waits, "load.weight-order") {
		waits = append(waits, waitsWeight)
	}
	gross = l.Weights.Gross
	if l.Weights.Unit == journal.Kilograms {
		net, kg, gross, grossKg = nil, net, nil, gross
	}
	var scaleAt *string
	if at := journal.LikenessOf(l).At; at != nil {
		text := journal.FormatInstant(*at)
		scaleAt = &text
	}
	if err := s.w.exec(ctx, `INSERT INTO loads (farm_id, load_id, state, version_id, day, crop_year, crop, outlet, contract, ticket, truck,
			scale_at, gross_lb, gross_kg, net_lb, net_kg, moist_hundredth_pct, test_weight_hundredth_lb_bu, kept, merged, double_of, counted, review)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, 0, '', 0, $20)
		ON CONFLICT (farm_id, load_id) DO UPDATE SET state = excluded.state, version_id = excluded.version_id, day = excluded.day,
			crop_year = excluded.crop_year, crop = excluded.crop, outlet = excluded.outlet, contract = excluded.contract,
			ticket = excluded.ticket, truck = excluded.truck, scale_at = excluded.scale_at, gross_lb = excluded.gross_lb,
			gross_kg = excluded.gross_kg, net_lb = excluded.net_lb, net_kg = excluded.net_kg,
			moist_hundredth_pct = excluded.moist_hundredth_pct, test_weight_hundredth_lb_bu = excluded.test_weight_hundredth_lb_bu,
			kept = excluded.kept, review = excluded.review`,
		farm, string(r.ID), string(r.State), string(r.Version), l.Day.String(), l.CropYear, l.Crop.String(), l.Outlet, l.Contract, l.Ticket, l.Truck,
		scaleAt, gross, grossKg, net, kg, int64p(l.Moisture), int64p(l.Quality.TestWeight), bit(r.Kept), strings.Join(waits, " ")); err != nil {
		return err
	}
	for _, into := range r.Into {
		if err := s.w.exec(ctx, `INSERT INTO load_merges (farm_id, load_id, into_id) VALUES ($1, $2, $3)`, farm, string(r.ID), string(into)); err != nil {
			return err
		}
	}
	return s.writeParts(ctx, farm, r.ID, l)
}

func (s *Store) writeParts(ctx context.Context, farm string, id journal.ID, l journal.Load) error {
	var parts []int64
	net, known := l.Weights.Carried()
	if known {
		parts = journal.Apportion(net, l.From)
	}
	for i, p := range l.From {
		var lb, kg *int64
		if known && l.Weights.Unit == journal.Kilograms {
			kg = &parts[i]
		} else if known {
			lb = &parts[i]
		}
		if err := s.w.exec(ctx, `INSERT INTO load_fields (farm_id, load_id, field, crop_year, day, net_lb, net_kg) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
			farm, string(id), p.Field, l.CropYear, l.Day.String(), lb, kg); err != nil {
			return err
		}
	}
	return nil
}

// alike returns the live, unmerged loads other than id that look like k, by ID.
func (s *Store) alike(ctx context.Context, farm string, id journal.ID, k journal.Likeness) ([]journal.ID, error) {
	var out []journal.ID
	add := func(query string, args ...any) error {
		found, err := s.w.texts(ctx, query, args...)
		for _, f := range found {
			if journal.ID(f) != id {
				out = append(out, journal.ID(f))
			}
		}
		return err
	}
	if k.Ticket != "" {
		if err := add(`SELECT load_id FROM loads WHERE farm_id = $1 AND crop_year = $2 AND outlet = $3 AND ticket = $4
			AND state = 'live' AND merged = 0`, farm, k.CropYear, k.Outlet, k.Ticket); err != nil {
			return nil, err
		}
	}
	if k.Truck != "" && k.Gross != nil && k.At != nil {
		rows, err := s.w.query(ctx, `SELECT load_id, coalesce(gross_lb, gross_kg), scale_at FROM loads WHERE farm_id = $1 AND truck = $2 AND outlet = $3
			AND scale_at BETWEEN $4 AND $5 AND state = 'live' AND merged = 0 AND truck <> ''`,
			farm, k.Truck, k.Outlet, journal.FormatInstant(k.At.Add(-time.Hour)), journal.FormatInstant(k.At.Add(time.Hour)))
		if err != nil {
			return nil, err
		}
		defer func() { _ = rows.Close() }()
		for rows.Next() {
			var other journal.ID
			var gross *int64
			var at string
			if err := rows.Scan(&other, &gross, &at); err != nil {
				return nil, err
			}
			t, err := journal.ParseInstant(at)
			if err != nil {
				return nil, err
			}
			// The window above is only for the index; the rule is journal's.
			like := journal.Likeness{Outlet: k.Outlet, Truck: k.Truck, Gross: gross, At: &t}
			if other != id && k.Same(like) {
				out = append(out, other)
			}
		}
		if err := rows.Err(); err != nil {
			return nil, err
		}
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}

// A loadRow is what a load's row says of how it counts.
type loadRow struct {
	like               journal.Likeness
	live, kept, merged bool
	weighed, counted   bool
	double, review     string
}

// rowOf returns the row of a load; ok is false when it has none.
func (s *Store) rowOf(ctx context.Context, farm string, id journal.ID) (r loadRow, ok bool, err error) {
	var state string
	var at *string
	var lb, kg *int64
	ok, err = s.w.row(ctx, `SELECT outlet, crop_year, ticket, truck, coalesce(gross_lb, gross_kg), scale_at, state, kept, merged, counted,
			double_of, review, net_lb, net_kg FROM loads WHERE farm_id = $1 AND load_id = $2`, []any{farm, string(id)},
		[]any{
			&r.like.Outlet, &r.like.CropYear, &r.like.Ticket, &r.like.Truck, &r.like.Gross, &at, &state, &r.kept, &r.merged, &r.counted,
			&r.double, &r.review, &lb, &kg,
		})
	if err == nil && at != nil {
		var t time.Time
		t, err = journal.ParseInstant(*at)
		r.like.At = &t
	}
	r.live, r.weighed = state == string(journal.Live), lb != nil || kg != nil
	return r, ok, err
}

// touchAlike adds to touched the loads that look like k, the likeness of id, and whose counting may hang on id: those of a
// greater ID, for a load is only ever the double of one of a smaller. So a thousand tickets that all say "n/a" cost a thousand looks,
// and not a thousand each.
func (s *Store) touchAlike(ctx context.Context, farm string, id journal.ID, k journal.Likeness, touched map[journal.ID]bool) error {
	like, err := s.alike(ctx, farm, id, k)
	for _, other := range like {
		if other > id {
			touched[other] = true
		}
	}
	return err
}

// joined returns the loads that merges join with id, in either direction and through any number of others, and id
// itself; none when no merge names it.
func (s *Store) joined(ctx context.Context, farm string, id journal.ID) ([]journal.ID, error) {
	found := []journal.ID{id}
	for i := 0; i < len(found); i++ {
		near, err := s.w.texts(ctx, `SELECT into_id FROM load_merges WHERE farm_id = $1 AND load_id = $2
			UNION SELECT load_id FROM load_merges WHERE farm_id = $1 AND into_id = $2`, farm, string(found[i]))
		if err != nil {
			return nil, err
		}
		for _, n := range near {
			if !slices.Contains(found, journal.ID(n)) {
				found = append(found, journal.ID(n))
			}
		}
	}
	if len(found) == 1 {
		return nil, nil
	}
	return found, nil
}

// settleMerge says of a load whether another live load stands for it by a merge. Of loads merged in a circle the
// smallest ID stands for all.
func (s *Store) settleMerge(ctx context.Context, farm string, id journal.ID) error {
	reached, err := s.mergeReach(ctx, farm, id)
	if err != nil {
		return err
	}
	merged := false
	for _, other := range reached {
		if other == id {
			continue
		}
		back, err := s.mergeReach(ctx, farm, other)
		if err != nil {
			return err
		}
		if !slices.Contains(back, id) || other < id {
			merged = true
			break
		}
	}
	return s.w.exec(ctx, `UPDATE loads SET merged = $1 WHERE farm_id = $2 AND load_id = $3 AND merged <> $1`, bit(merged), farm, string(id))
}

// mergeReach returns the live loads that merges lead to from id, going on only through live ones.
func (s *Store) mergeReach(ctx context.Context, farm string, id journal.ID) ([]journal.ID, error) {
	var reached []journal.ID
	for queue := []journal.ID{id}; len(queue) > 0; queue = queue[1:] {
		next, err := s.w.texts(ctx, `SELECT m.into_id FROM load_merges m JOIN loads l ON l.farm_id = m.farm_id AND l.load_id = m.into_id
			WHERE m.farm_id = $1 AND m.load_id = $2 AND l.state = 'live' ORDER BY m.into_id`, farm, string(queue[0]))
		if err != nil {
			return nil, err
		}
		for _, n := range next {
			if !slices.Contains(reached, journal.ID(n)) {
				reached = append(reached, journal.ID(n))
				queue = append(queue, journal.ID(n))
			}
		}
	}
	return reached, nil
}

// settleDouble says of a load which one it looks like and whether it counts, and completes its reasons to wait.
func (s *Store) settleDouble(ctx context.Context, farm string, id journal.ID) error {
	r, ok, err := s.rowOf(ctx, farm, id)
	if err != nil || !ok {
		return err
	}
	double := ""
	if r.live && !r.merged && !r.kept {
		like, err := s.alike(ctx, farm, id, r.like)
		if err != nil {
			return err
		}
		if len(like) > 0 && like[0] < id {
			double = string(like[0])
		}
	}
	reasons := slices.DeleteFunc(strings.Fields(r.review), func(r string) bool { return r == waitsDouble || r == waitsMerge })
	if double != "" {
		reasons = append(reasons, waitsDouble)
	}
	if r.live && !r.merged {
		lost, err := s.mergedIntoNothing(ctx, farm, id)
		if err != nil {
			return err
		}
		if lost {
			reasons = append(reasons, waitsMerge)
		}
	}
	slices.Sort(reasons)
	review := strings.Join(reasons, " ")
	counted := r.live && !r.merged && double == "" && r.weighed
	if double == r.double && counted == r.counted && review == r.review {
		return nil
	}
	return s.w.exec(ctx, `UPDATE loads SET double_of = $1, counted = $2, review = $3 WHERE farm_id = $4 AND load_id = $5`,
		double, bit(counted), review, farm, string(id))
}

// mergedIntoNothing reports whether a load was declared the same as others, none of which is live.
func (s *Store) mergedIntoNothing(ctx context.Context, farm string, id journal.ID) (bool, error) {
	into, err := s.w.texts(ctx, `SELECT into_id FROM load_merges WHERE farm_id = $1 AND load_id = $2`, farm, string(id))
	if err != nil || len(into) == 0 {
		return false, err
	}
	reached, err := s.mergeReach(ctx, farm, id)
	return len(reached) == 0, err
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}

func int64p[N ~int64](n *N) *int64 {
	if n == nil {
		return nil
	}
	v := int64(*n)
	return &v
}
