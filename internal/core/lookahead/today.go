package lookahead

import (
	"slices"

	"threshday/internal/core/linear"
)

// A shared column is today's cut of a field by a combine for a destination, one decision in all members: acres in a day of the
// most hours that any of them gives it. A member whose day is shorter cuts its share of them, in one that gives it no hour
// none; nobody who reads the morning's weather knows better.
type shared struct {
	combine, field, destination int
	share                       float64 // mean over the members of the part of it that is cut
	column                      int
}

// addToday adds the columns of today.
func (l *layout) addToday() {
	nd := len(l.t.Destinations)
	cells := make([][]*Cell, len(l.blocks)) // per member, by field and destination
	for i := range l.blocks {
		cells[i] = make([]*Cell, len(l.t.Fields)*nd)
		for j := range l.blocks[i].who.cells {
			if c := &l.blocks[i].who.cells[j]; c.Span == 0 {
				cells[i][c.Field*nd+c.Destination] = c
			}
		}
	}
	for f := range l.t.Fields {
		for d := range nd {
			for k := range l.t.Combines {
				if l.t.Combines[k].Rate[f] > 0 && l.t.Fields[f].Acres > 0 {
					l.addShared(cells, shared{combine: k, field: f, destination: d})
				}
			}
		}
	}
}

// addShared adds one shared column where any member can cut it.
func (l *layout) addShared(cells [][]*Cell, c shared) {
	at := c.field*len(l.t.Destinations) + c.destination
	longest, of := 0.0, 0.0
	for i := range l.blocks {
		if cell := cells[i][at]; cell != nil {
			who := l.blocks[i].who
			longest, of = max(longest, workable(who, c.combine, cell)), max(of, who.hours[c.combine][0])
		}
	}
	if longest == 0 {
		return
	}
	var entries []linear.Entry
	usd, shares := 0.0, 0.0
	for i := range l.blocks {
		cell, b := cells[i][at], &l.blocks[i]
		if cell == nil {
			continue
		}
		share := workable(b.who, c.combine, cell) / longest
		if share == 0 {
			continue
		}
		var ok bool
		if entries, ok = l.uses(entries, b, c.combine, cell, share); !ok {
			return
		}
		usd += share * cell.USD
		shares += share
	}
	n := float64(len(l.blocks))
	entries = append(entries, linear.Entry{Row: l.must[c.field], Coef: shares / n})
	c.share = shares / n
	c.column = l.lp.AddColumn(usd/n, 0, l.bound(c.combine, c.field, longest, of), entries...)
	l.today = append(l.today, c)
}

// carry returns a basis to start the program of all members from, made of the answers to programs of some of them each. The
// shared columns take the standing they have in the first.
func (l *layout) carry(parts []*part) *linear.Basis {
	b := linear.Basis{Columns: make([]linear.Standing, l.lp.Columns()), Rows: make([]linear.Standing, l.lp.Rows())}
	for i := range b.Rows {
		b.Rows[i] = linear.Basic
	}
	at := 0
	for _, p := range parts {
		for i := range p.blocks {
			from, to := &p.blocks[i], &l.blocks[at]
			copy(b.Rows[to.row:to.row+to.rows], p.best.Basis.Rows[from.row:])
			copy(b.Columns[to.column:to.column+to.columns], p.best.Basis.Columns[from.column:])
			at++
		}
	}
	for _, c := range parts[0].today {
		at := slices.IndexFunc(l.today, func(o shared) bool {
			return o.combine == c.combine && o.field == c.field && o.destination == c.destination
		})
		if at >= 0 {
			b.Columns[l.today[at].column] = parts[0].best.Basis.Columns[c.column]
		}
	}
	return &b
}
