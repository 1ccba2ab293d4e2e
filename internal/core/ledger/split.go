package ledger

import (
	"fmt"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// A piece is what came into a load from one field, or from one layer of a bin.
type piece struct {
	field  int32
	part   int64 // in proportion to those of the load's other pieces
	owners []owner
	shares []trade.Fraction
	binned bool // it came out of a bin, and was harvested when it went in
}

// finer multiplies the parts of a load that came out of a bin, so that they can be divided by layers.
const finer = 1_000_000

// pieces parts a load by where it came from. What a load takes out of bins is taken out of their layers here.
func (b *builder) pieces(n int32, t *Ticket) []piece {
	b.piece = b.piece[:0]
	scale := int64(1)
	for _, s := range t.From {
		if s.Bin != "" {
			scale = finer
		}
	}
	for _, s := range t.From {
		part := max(1, s.Part) * scale
		if s.Bin != "" {
			b.drawn(n, t, s, part)
			continue
		}
		field, ok := b.field[s.Field]
		if !ok {
			b.find(problem.Finding{
				Rule: "load.field", Severity: problem.Error, Where: t.Where, Label: "Field", Got: s.Field, Want: "a field of the season",
				Say:  fmt.Sprintf("%s names the field %q, which the season does not have; its grain counts for nobody's field.", t.name(), s.Field),
				Next: "A load that cannot be tied to a field counts as commingled on an insurance claim.", // [records-insurer]
			})
			b.piece = append(b.piece, piece{field: none, part: part, owners: b.home, shares: b.homeShares})
			continue
		}
		b.piece = append(b.piece, piece{field: field, part: part, owners: b.owners[field], shares: b.shares[field]})
	}
	if len(b.piece) == 0 {
		b.find(problem.Finding{
			Rule: "load.field", Severity: problem.Warning, Where: t.Where, Label: "Field", Want: "the field or bin it came from",
			Say: t.name() + " does not say where its grain came from.", Next: "A load that cannot be tied to a field counts as commingled on an insurance claim.",
		})
		b.piece = append(b.piece, piece{field: none, part: 1, owners: b.home, shares: b.homeShares})
	}
	return b.piece
}

// byPiece splits pounds over pieces.
func byPiece(w trade.Pounds, pieces []piece) []trade.Pounds {
	if len(pieces) == 1 {
		return []trade.Pounds{w}
	}
	parts := make([]int64, len(pieces))
	for i := range pieces {
		parts[i] = pieces[i].part
	}
	return mustSplit(w.Split(trade.Proportions(parts...)))
}

// byOwner splits pounds over the owners of a piece.
func byOwner(w trade.Pounds, p *piece) []trade.Pounds {
	if len(p.shares) == 1 {
		return []trade.Pounds{w}
	}
	return mustSplit(w.Split(p.shares))
}

// byWeight splits an amount over weights, of which one at least is not zero.
func byWeight(a trade.Amount, weights []int64) []trade.Amount {
	if len(weights) == 1 {
		return []trade.Amount{a}
	}
	return mustSplit(a.Split(trade.Proportions(weights...)))
}

// mustSplit is for shares that are known to add up.
func mustSplit[T any](parts []T, err error) []T {
	if err != nil {
		panic("ledger: " + err.Error())
	}
	return parts
}

// spread divides n over weights by largest remainder; the parts add up to n.
func spread(n int64, weights []int64) []int64 {
	parts := byWeight(trade.Amount(n), weights)
	out := make([]int64, len(parts))
	for i, p := range parts {
		out[i] = int64(p)
	}
	return out
}
