package ledger

import (
	"fmt"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// A layer is what one load left in a bin, by dry matter: drying takes water and no dry matter.
type layer struct {
	ticket int32 // none: it lay there before this book
	field  int32
	owners []int32
	dry    []int64 // left, of each owner
}

func (l *layer) left() int64 {
	var sum int64
	for _, d := range l.dry {
		sum += d
	}
	return sum
}

// stocked is a bin while loads are posted.
type stocked struct {
	layers []layer
	first  int   // of the layers that are not empty
	over   int64 // drawn beyond what was in it
	now    int64 // dry matter in it
	most   int64 // that was ever in it
}

// add counts dry matter in, or out where negative.
func (s *stocked) add(dry int64) {
	s.now += dry
	s.most = max(s.most, s.now)
}

// openBins lays what the season says was in each bin under everything else, as the owner's, at the bin's base moisture.
func (b *builder) openBins() {
	b.stock = make([]stocked, len(b.bins))
	for i, bin := range b.bins {
		pounds, ok := crop.BushelPounds(bin.Crop)
		if bin.InBu <= 0 || !ok {
			continue
		}
		if bin.SaleBase <= 0 {
			b.find(problem.Finding{
				Rule: "B01", Severity: problem.Warning, Label: "Bin " + bin.ID, Want: "its base moisture, sale_base",
				Say: fmt.Sprintf("Bin %s held %.2f bu before this book, at a moisture nobody states; it is left out.", bin.ID, bin.InBu), Next: "Give sale_base in the season file.",
			})
			continue
		}
		bushels := trade.Bushels(bin.InBu*1000 + 0.5)
		dry := trade.HalfUp.MulDiv(int64(bushels)*int64(pounds), int64(100_00-bin.SaleBase), 1000)
		b.stock[i].layers = append(b.stock[i].layers, layer{none, none, []int32{b.home[0].party}, []int64{dry}})
		b.stock[i].add(dry)
		b.book.Opening = append(b.book.Opening, StockLine{Ticket: none, Bin: int32(i), Field: none, Party: b.home[0].party, Dry: dry}) //nolint:gosec // few bins
	}
}

// binned puts a load into a bin, a layer for each field, and returns the layers.
func (b *builder) binned(n, bin int32, field int32, owners []owner, net []trade.Pounds, dry []int64) {
	l := layer{ticket: n, field: field}
	for i, o := range owners {
		l.owners, l.dry = append(l.owners, o.party), append(l.dry, dry[i])
		b.stock[bin].add(dry[i])
		b.book.Stock = append(b.book.Stock, StockLine{Ticket: n, Bin: bin, Field: field, Party: o.party, Net: net[i], Dry: dry[i]})
	}
	b.stock[bin].layers = append(b.stock[bin].layers, l)
}

// drawn takes a load's part out of the layers of a bin and adds a piece for each layer it came from.
func (b *builder) drawn(n int32, t *Ticket, s Source, part int64) {
	bin, ok := b.bin[s.Bin]
	m, read := t.moisture()
	if !ok || !read {
		say := fmt.Sprintf("%s came out of the bin %q, which the season does not have.", t.name(), s.Bin)
		if ok {
			say = t.name() + " came out of a bin and has no moisture; what it takes from the bin cannot be told."
		}
		b.find(problem.Finding{Rule: "B01", Severity: problem.Error, Where: t.Where, Label: "Bin", Got: s.Bin, Want: "a bin of the season, and a moisture on the ticket", Say: say, Next: "Correct the ticket."})
		b.piece = append(b.piece, piece{field: none, part: part, owners: b.home, shares: b.homeShares, binned: true})
		return
	}
	var all int64
	for _, other := range t.From {
		all += max(1, other.Part)
	}
	net := trade.Pounds(trade.HalfUp.MulDiv(int64(t.Load.Net()), max(1, s.Part), all))
	need := int64(net) * int64(100_00-m)
	taken := b.take(bin, need, b.setup.Mixed[s.Bin])
	weights := make([]int64, len(taken))
	for i := range taken {
		weights[i] = taken[i].left()
	}
	parts, nets := spread(part, weights), spread(int64(net), weights)
	for i, l := range taken {
		if parts[i] == 0 {
			continue
		}
		p := piece{field: l.field, part: parts[i], binned: true}
		p.shares = trade.Proportions(l.dry...)
		byParty := spread(nets[i], l.dry)
		for k, party := range l.owners {
			p.owners = append(p.owners, owner{party, p.shares[k]})
			b.book.Stock = append(b.book.Stock, StockLine{Ticket: n, Bin: bin, Field: l.field, Party: party, Net: -trade.Pounds(byParty[k]), Dry: -l.dry[k]})
		}
		b.piece = append(b.piece, p)
	}
}

// take removes dry matter from a bin and returns it in the layers it came from. What is not there is taken from the owner, and
// the bin goes negative: the book says so and goes on.
func (b *builder) take(bin int32, need int64, mixed bool) []layer {
	s := &b.stock[bin]
	s.add(-need)
	var out []layer
	if mixed {
		out, need = s.fromAll(need)
	}
	for ; !mixed && need > 0 && s.first < len(s.layers); s.first++ {
		l := &s.layers[s.first]
		if left := l.left(); left > need {
			out = append(out, l.give(need))
			need = 0
			break
		} else if left > 0 {
			out = append(out, l.give(left))
			need -= left
		}
	}
	if need > 0 {
		s.over += need
		out = append(out, layer{none, none, []int32{b.home[0].party}, []int64{need}})
	}
	return out
}

// give takes dry matter, at most what is left, out of a layer, from its owners in proportion to what they have left.
func (l *layer) give(need int64) layer {
	out := layer{l.ticket, l.field, l.owners, spread(need, l.dry)}
	for i := range l.dry {
		l.dry[i] -= out.dry[i]
	}
	return out
}

// fromAll takes dry matter out of every layer in proportion to what is left in it, and returns what was not there.
func (s *stocked) fromAll(need int64) (out []layer, missing int64) {
	var left []int64
	var sum int64
	var full []*layer
	for i := range s.layers {
		if d := s.layers[i].left(); d > 0 {
			left, full = append(left, d), append(full, &s.layers[i])
			sum += d
		}
	}
	if sum == 0 {
		return nil, need
	}
	take := min(need, sum)
	for i, part := range spread(take, left) {
		if part > 0 {
			out = append(out, full[i].give(min(part, left[i])))
		}
	}
	return out, need - take
}
