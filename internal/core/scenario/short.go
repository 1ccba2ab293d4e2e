package scenario

import (
	"cmp"
	"context"
	"fmt"
	"slices"
)

// A Limit is a kind of thing that keeps acres from being cut.
type Limit string

// The kinds of limits.
const (
	HourLimit  Limit = "hours"
	TruckLimit Limit = "truck_hours"
	DayLimit   Limit = "day_room"       // what a destination takes on a day
	TotalLimit Limit = "total_room"     // what it takes in all
	OtherLimit Limit = "other_weathers" // pay more for the acres later
	NoDayLimit Limit = "no_day"         // on which the field nets anything
)

// A Shortfall is acres of a field that are left standing at the season's end, mean over the weathers, and for want of what. It is that
// of the program that [Shadow] is of.
type Shortfall struct {
	Field  int
	Acres  float64
	Lacks  []Lack  // dearest first
	Relief *Relief // the least of one limit alone that halves the acres; nil: none that was tried does, or none was tried
}

// A Lack is how much of a limit the acres left would have taken, and its price times that.
type Lack struct {
	Limit       Limit
	Destination int     // -1: of none
	Amount      float64 // combine hours of speed 1, truck hours, bushels; acres where the limit is none of these
	USD         float64
}

// A Relief is a share more of one limit, everywhere it holds, and what that changes.
type Relief struct {
	Limit       Limit
	Destination int     // -1: of none
	Share       float64 // more than there is
	Acres       float64 // of the field, still left
	GainUSD     float64 // of the season, not of the field alone
}

// leastLeft is the fewest acres, in the mean, that are called left; less is a headland. [judgement]
const leastLeft = 0.05

// shortfalls returns the fields that a program does not cut to the end, and for want of what: in every leaf the cell is looked at that comes
// nearest to being worth its price, the last of equals; its price is parted by the limits that it is made of.
func (s *season) shortfalls(q *question) []Shortfall {
	left := s.leftBy(q)
	parts, through := q.parts(), q.through()
	var out []Shortfall
	for f := range s.Fields {
		if left[f] >= leastLeft {
			out = append(out, Shortfall{Field: f, Acres: left[f], Lacks: s.lacks(q, f, parts, through)})
		}
	}
	return out
}

// leftBy returns the acres by field that a program leaves, mean over its leaves.
func (s *season) leftBy(q *question) []float64 {
	left := make([]float64, len(s.Fields))
	all := 0.0
	for w, end := range q.end {
		all += q.view[end].weight
		for f, row := range q.field[w] {
			left[f] += q.view[end].weight * max(0, s.Fields[f].Acres-q.base.Activity[row])
		}
	}
	for f := range left {
		left[f] /= all
	}
	return left
}

// A part is a limit at a destination, or of none.
type part struct {
	limit Limit
	dest  int
}

// parts returns what each row of a program limits; rows of other kinds have none.
func (q *question) parts() []part {
	out := make([]part, q.lp.Rows())
	name := func(rows []int, limit Limit, byDestination bool) {
		for k, row := range rows {
			if row >= 0 {
				out[row] = part{limit, -1}
				if byDestination {
					out[row].dest = k
				}
			}
		}
	}
	for k := range q.view {
		name(q.hours[k], HourLimit, false)
		name(q.trucks[k], TruckLimit, false)
		name(q.dump[k], DayLimit, true)
	}
	for w := range q.leaf {
		name(q.field[w], OtherLimit, false)
		name(q.total[w], TotalLimit, true)
	}
	return out
}

func (s *season) lacks(q *question, f int, parts []part, through []int) []Lack {
	found := map[part]*Lack{}
	add := func(p part, amount, usd float64) {
		if found[p] == nil {
			found[p] = &Lack{Limit: p.limit, Destination: p.dest}
		}
		found[p].Amount += amount
		found[p].USD += usd
	}
	all := 0.0
	for _, end := range q.end {
		all += q.view[end].weight
	}
	for w, end := range q.end {
		weight := q.view[end].weight / all
		acres := weight * max(0, s.Fields[f].Acres-q.base.Activity[q.field[w][f]])
		if acres <= 0 {
			continue
		}
		j, stage := q.nearest(f, end)
		if j < 0 {
			add(part{NoDayLimit, -1}, acres, 0)
			continue
		}
		q.lp.EachEntry(j, func(row int, coef float64) {
			if price := q.base.RowDual[row] / q.view[stage].weight; price > 0 && parts[row].limit != "" {
				share := 1.0
				if future := through[row]; future >= 0 { // of what leaf by leaf is one amount only this leaf's part
					share = q.view[q.end[future]].weight / q.view[stage].weight
				}
				add(parts[row], acres*coef*share, acres*coef*price)
			}
		})
	}
	var out []Lack
	for _, l := range found {
		if l.USD >= leastLack || l.Limit == NoDayLimit {
			out = append(out, *l)
		}
	}
	slices.SortFunc(out, func(a, b Lack) int {
		return cmp.Or(cmp.Compare(b.USD, a.USD), cmp.Compare(a.Limit, b.Limit), cmp.Compare(a.Destination, b.Destination))
	})
	return out
}

// leastLack is the smallest price of what is lacked that is told, $; less is rounding.
const leastLack = 0.005

// through returns by row the future that it is of; -1 where it is of a stage.
func (q *question) through() []int {
	out := slices.Repeat([]int{-1}, q.lp.Rows())
	for w := range q.leaf {
		for _, rows := range [][]int{q.field[w], q.total[w]} {
			for _, row := range rows {
				if row >= 0 {
					out[row] = w
				}
			}
		}
	}
	return out
}

// nearest returns, of the cells of a field on the way to a stage, the column that is nearest to being worth its price by acre, and the
// stage it stands in; the last of those that are equally near. -1: none.
func (q *question) nearest(f, end int) (column, stage int) {
	column = -1
	best := 0.0
	for k := end; k >= 0; k = q.view[k].parent {
		for j := q.first[k]; j < q.first[k+1]; j++ {
			if q.columns[j].cut.Field != f {
				continue
			}
			margin := q.base.ReducedCost[j] / q.view[k].weight
			if column < 0 || margin > best+nearEnough {
				column, stage, best = j, k, margin
			}
		}
	}
	return column, stage
}

// nearEnough is dollars an acre by which margins have to differ to be called different.
const nearEnough = 1e-6

// reliefShares are how much more of a limit is tried, least first. [judgement]
var reliefShares = [...]float64{0.1, 0.25, 0.5, 1}

// mostReliefs is how many limits are tried, those that the acres left lack most of in dollars. [judgement]
const mostReliefs = 3

// relieve finds for each shortfall of an answer the least share more of one limit alone that halves it, the season planned anew with
// that. So many limits are tried as the size of their programs in all allows; where that is none, relief is left out.
func (s *season) relieve(ctx context.Context, o Options, q *question, out *Answer) error {
	short := out.Short
	columns := len(reliefShares) * len(q.columns)
	tries := s.worthTrying(short)
	if len(tries) > 0 && columns > o.Limits.ReliefColumns {
		out.LeftOut = append(out.LeftOut, LeftOut{
			What:    ReliefPart,
			Because: fmt.Sprintf("the programs with more of one limit would have %d columns; up to %d are solved", columns, o.Limits.ReliefColumns),
		})
		return nil
	}
	tries = tries[:min(len(tries), o.Limits.ReliefColumns/max(1, columns))]
	type trial struct {
		left []float64
		gain float64
	}
	trials := make([]trial, len(tries)*len(reliefShares))
	err := each(ctx, o.Workers, len(tries), func(k int) error {
		last := q.answer // more of the same asks for little that is new
		for i, share := range reliefShares {
			with := s.with(tries[k], share)
			found, err := with.ask(ctx, q.view, plain, []*answer{last})
			if err != nil {
				return err
			}
			last = found.answer
			t := trial{left: with.leftBy(found), gain: found.base.Objective - q.base.Objective}
			trials[k*len(reliefShares)+i] = t
			s.watch.step("relief", 1, len(trials))
			if !slices.ContainsFunc(short, func(one Shortfall) bool { return t.left[one.Field] > one.Acres/2 }) {
				s.watch.step("relief", len(reliefShares)-1-i, len(trials))
				break // all are relieved; no larger share is the least
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for i := range short {
		for k, t := range trials {
			if t.left == nil {
				continue
			}
			to, left := tries[k/len(reliefShares)], t.left[short[i].Field]
			r := Relief{Limit: to.limit, Destination: to.dest, Share: reliefShares[k%len(reliefShares)], Acres: left, GainUSD: t.gain}
			if had := short[i].Relief; left <= short[i].Acres/2 && (had == nil || r.Share < had.Share || r.Share == had.Share && left < had.Acres) {
				short[i].Relief = &r
			}
		}
	}
	return nil
}

// worthTrying returns the limits that are lacked most, in dollars over all shortfalls.
func (s *season) worthTrying(short []Shortfall) []part {
	var out []part
	usd := map[part]float64{}
	for _, one := range short {
		for _, l := range one.Lacks {
			p := part{l.Limit, l.Destination}
			if l.Limit == OtherLimit || l.Limit == NoDayLimit {
				continue
			}
			if usd[p] == 0 {
				out = append(out, p)
			}
			usd[p] += l.USD
		}
	}
	slices.SortStableFunc(out, func(a, b part) int { return cmp.Compare(usd[b], usd[a]) })
	return out[:min(mostReliefs, len(out))]
}

// with returns the season with a share more of one limit.
func (s *season) with(p part, more float64) *season {
	tree, other := *s.Tree, *s
	other.Tree = &tree
	tree.Destinations = slices.Clone(tree.Destinations)
	switch p.limit {
	case HourLimit:
		tree.BlockHours *= 1 + more
	case TruckLimit:
		tree.TruckHours *= 1 + more
	case DayLimit:
		days := slices.Clone(tree.Destinations[p.dest].DayBushels)
		for h := range days {
			days[h] *= 1 + more
		}
		tree.Destinations[p.dest].DayBushels = days
	case TotalLimit:
		tree.Destinations[p.dest].TotalBushels *= 1 + more
	default:
		panic("scenario: a limit that there cannot be more of")
	}
	return &other
}
