package lookahead

import (
	"threshday/internal/core/linear"
	"threshday/internal/core/worth"
)

// A layout is the linear program of some members.
type layout struct {
	lp      *linear.Problem
	t       *worth.Table
	spans   spans
	perAcre [][]float64 // per combine, then field: hours an acre takes
	blocks  []block
	today   []shared
	must    []int // per field: row of the acres cut today in the mean of the members
	short   []int // per field: column of acres that today cannot take, where they are demanded
}

// A block is the rows and columns of one member. Members with the same weather have the same block in any program.
type block struct {
	who *member
	// Rows; -1 where the limit cannot bind.
	hours  [][]int // per combine, then span
	trucks []int   // per span
	sites  [][]int // per site, then span
	dryers [][]int // per destination, then span
	rooms  []int   // per destination
	fields []int   // per field

	row, rows       int   // its rows
	column, columns int   // its own columns
	span, field     []int // per own column
}

// layOut writes the program. Every member weighs the same.
func layOut(t *worth.Table, s spans, members []*member, take Take) *layout {
	l := &layout{lp: linear.New(linear.Maximise), t: t, spans: s, perAcre: hoursPerAcre(t, take), blocks: make([]block, len(members))}
	for i, who := range members {
		l.addRows(&l.blocks[i], who)
	}
	l.must = make([]int, len(t.Fields))
	for f, row := range t.Fields {
		l.must[f] = l.lp.AddRow(-1, 1+2*max(0, row.Acres))
	}
	l.addToday()
	l.short = make([]int, len(t.Fields))
	for f := range t.Fields {
		l.short[f] = l.lp.AddColumn(-shortUSD, 0, 0, linear.Entry{Row: l.must[f], Coef: 1})
	}
	for i := range l.blocks {
		l.addLater(&l.blocks[i])
	}
	return l
}

// shortUSD is what an acre costs that is demanded today and cannot be cut: more than any acre brings, so that as many are cut
// as there is time and room for.
const shortUSD = 5000

// room adds a row that uses at most so much. Its lower bound can never bind, as nothing uses less than nothing;
// it is there because the dual simplex method starts easily from variables with two bounds.
func (l *layout) room(most float64) int { return l.lp.AddRow(-1-most, most) }

// addRows adds the rows of a member, leaving out those that cannot bind.
func (l *layout) addRows(b *block, who *member) {
	t, n := l.t, len(l.spans.days)
	b.who, b.row = who, l.lp.Rows()
	b.fields = make([]int, len(t.Fields))
	for f, row := range t.Fields {
		b.fields[f] = -1
		if row.Acres > 0 {
			b.fields[f] = l.room(row.Acres)
		}
	}
	none := func() []int {
		out := make([]int, n)
		for i := range out {
			out[i] = -1
		}
		return out
	}
	b.hours = make([][]int, len(t.Combines))
	for k := range b.hours {
		b.hours[k] = none()
		for s, hours := range who.hours[k] {
			if hours > 0 {
				b.hours[k][s] = l.room(hours)
			}
		}
	}
	needs := needsOf(t, who, n)
	b.trucks = none()
	for s := range n {
		if most := t.TruckHours * who.live[s]; needs.trucks[s] > most {
			b.trucks[s] = l.room(most)
		}
	}
	b.sites = make([][]int, len(t.Sites))
	for i := range b.sites {
		b.sites[i] = none()
		for s := range n {
			if most := siteTakes(&t.Sites[i], who, s); needs.sites[i*n+s] > most {
				b.sites[i][s] = l.room(most)
			}
		}
	}
	b.dryers, b.rooms = make([][]int, len(t.Destinations)), make([]int, len(t.Destinations))
	for d := range t.Destinations {
		row := &t.Destinations[d]
		b.dryers[d] = none()
		for s := range n {
			if most := row.PointDay * who.days[s]; row.Points != nil && needs.points[d*n+s] > most {
				b.dryers[d][s] = l.room(most)
			}
		}
		b.rooms[d] = -1
		if needs.rooms[d] > row.Room {
			b.rooms[d] = l.room(row.Room)
		}
	}
	b.rows = l.lp.Rows() - b.row
}

// siteTakes is what a place takes in a span.
func siteTakes(site *worth.SiteRow, who *member, s int) float64 {
	if who.days[s] == 0 {
		return 0
	}
	return min(site.PerDay*who.days[s], site.PerHour*who.live[s])
}

// needs are what a member could use at most of everything that is shared.
type needs struct {
	trucks []float64 // per span
	sites  []float64 // per site, then span
	points []float64 // per destination, then span
	rooms  []float64 // per destination
}

func needsOf(t *worth.Table, who *member, n int) needs {
	out := needs{
		make([]float64, n), make([]float64, len(t.Sites)*n), make([]float64, len(t.Destinations)*n), make([]float64, len(t.Destinations)),
	}
	// What a combine uses in an hour at most, by span; and the most bushels of every field that a destination may get.
	field := make([]float64, len(t.Fields)*len(t.Destinations))
	peak := func(at *float64, v float64) { *at = max(*at, v) }
	truck, site := make([]float64, len(t.Combines)*n), make([]float64, len(t.Combines)*len(t.Sites)*n)
	point := make([]float64, len(t.Combines)*len(t.Destinations)*n)
	for i := range who.cells {
		c := &who.cells[i]
		d := &t.Destinations[c.Destination]
		peak(&field[c.Field*len(t.Destinations)+c.Destination], c.Bushels*t.Fields[c.Field].Acres)
		for k := range t.Combines {
			rate := t.Combines[k].Rate[c.Field]
			peak(&truck[k*n+c.Span], rate*c.Bushels*t.Fields[c.Field].TruckBu[c.Destination])
			peak(&site[(k*len(t.Sites)+d.Site)*n+c.Span], rate*c.Bushels)
			peak(&point[(k*len(t.Destinations)+c.Destination)*n+c.Span], rate*c.Points)
		}
	}
	for k := range t.Combines {
		for s, hours := range who.hours[k] {
			out.trucks[s] += hours * truck[k*n+s]
			for i := range t.Sites {
				out.sites[i*n+s] += hours * site[(k*len(t.Sites)+i)*n+s]
			}
			for d := range t.Destinations {
				out.points[d*n+s] += hours * point[(k*len(t.Destinations)+d)*n+s]
			}
		}
	}
	for f := range t.Fields {
		for d := range t.Destinations {
			out.rooms[d] += field[f*len(t.Destinations)+d]
		}
	}
	return out
}

// uses appends to what an acre of a cell takes of a block's rows, times share; ok is false where one of them has nothing to give.
func (l *layout) uses(to []linear.Entry, b *block, k int, c *Cell, share float64) (out []linear.Entry, ok bool) {
	d := &l.t.Destinations[c.Destination]
	for _, r := range [...]linear.Entry{
		{Row: b.fields[c.Field], Coef: 1},
		{Row: b.hours[k][c.Span], Coef: l.perAcre[k][c.Field]},
		{Row: b.trucks[c.Span], Coef: c.Bushels * l.t.Fields[c.Field].TruckBu[c.Destination]},
		{Row: b.sites[d.Site][c.Span], Coef: c.Bushels},
		{Row: b.rooms[c.Destination], Coef: c.Bushels},
		{Row: b.dryers[c.Destination][c.Span], Coef: c.Points},
	} {
		if r.Row < 0 || r.Coef <= 0 {
			continue
		}
		if _, most := l.lp.Row(r.Row); most <= 0 {
			return to, false
		}
		to = append(to, linear.Entry{Row: r.Row, Coef: r.Coef * share})
	}
	return to, true
}

// workable returns the hours in which combine k can cut a cell.
func workable(who *member, k int, c *Cell) float64 { return min(c.Hours, who.hours[k][c.Span]) }

// looseBox times the most that fits is the upper bound of a column that rows hold too: far enough that only rows bind and carry
// prices, near enough that the dual simplex method can start from it.
const looseBox = 2

// bound returns the upper bound of a column that has so many hours of those the combine runs.
func (l *layout) bound(k, f int, hours, of float64) float64 {
	acres := l.t.Combines[k].Rate[f] * hours
	switch {
	case acres >= l.t.Fields[f].Acres:
		return looseBox * l.t.Fields[f].Acres
	case hours >= of:
		return looseBox * acres
	}
	return acres
}

// addLater adds the columns of a member's own days.
func (l *layout) addLater(b *block) {
	b.column = l.lp.Columns()
	weight := 1 / float64(len(l.blocks))
	var entries []linear.Entry
	for i := range b.who.cells {
		c := &b.who.cells[i]
		if c.Span == 0 {
			continue
		}
		for k := range l.t.Combines {
			hours := workable(b.who, k, c)
			if l.t.Combines[k].Rate[c.Field] <= 0 || hours <= 0 {
				continue
			}
			var ok bool
			if entries, ok = l.uses(entries[:0], b, k, c, 1); ok {
				l.lp.AddColumn(weight*c.USD, 0, l.bound(k, c.Field, hours, b.who.hours[k][c.Span]), entries...)
				b.span, b.field = append(b.span, c.Span), append(b.field, c.Field)
			}
		}
	}
	b.columns = l.lp.Columns() - b.column
}
