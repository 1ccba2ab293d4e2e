package ledger

import (
	"cmp"
	"slices"

	"threshday/internal/core/crop"
	"threshday/internal/core/trade"
)

// A ContractSum is what a contract's loads come to.
type ContractSum struct {
	ContractState
	Lines   int
	Settled trade.Pounds
	Claim   trade.Bushels // filled and not priced
	Value   trade.Amount  // of what is priced
	Net     trade.Amount
}

// ContractSums returns every contract with its sums, in the order of the season.
func (b *Book) ContractSums() []ContractSum {
	out := make([]ContractSum, len(b.Contracts))
	for i, c := range b.Contracts {
		out[i].ContractState = c
	}
	for _, l := range b.Sales {
		if l.Contract == none {
			continue
		}
		s := &out[l.Contract]
		s.Lines++
		s.Settled += l.Settled
		if !l.Priced {
			s.Claim += l.Qty
		}
		s.Value += l.Value
		s.Net += l.Net()
	}
	return out
}

// A Position is what a party has of one crop at one place. Its parts are different things and are not added up: money due,
// money paid, claims on a buyer for grain without a price, grain stored at a buyer, grain in an own bin.
type Position struct {
	Party, Place string
	Crop         crop.Kind
	Bin          bool // the place is an own bin
	Cwt          bool // quantities are hundredweight
	Sold         trade.Bushels
	Value        trade.Amount // of what is sold, after quality
	Checkoff     trade.Amount
	Charges      trade.Amount
	Net          trade.Amount
	Claim        trade.Bushels // delivered, the title passed, no price: the seller is a creditor without security
	Stored       trade.Bushels // delivered under storage: still the party's
	InBin        trade.Bushels // at the bin's base moisture
	Dry          int64         // the same in dry matter
}

// Positions returns what every party has, by party, place and crop.
func (b *Book) Positions() []Position {
	type key struct {
		party int32
		place string
		crop  crop.Kind
	}
	at := map[key]*Position{}
	get := func(party int32, place string, k crop.Kind) *Position {
		x := key{party, place, k}
		if at[x] == nil {
			at[x] = &Position{Party: b.Parties[party], Place: place, Crop: k}
		}
		return at[x]
	}
	for _, l := range b.Sales {
		load := &b.Loads[l.Ticket]
		p := get(l.Party, load.Ticket.Place, load.Ticket.Load.Crop)
		p.Cwt = load.Cwt
		switch {
		case l.Priced:
			p.Sold += l.Qty
			p.Value, p.Checkoff, p.Charges, p.Net = p.Value+l.Value, p.Checkoff+l.Checkoff, p.Charges+l.Charges, p.Net+l.Net()
		case l.Contract != none && !b.Contracts[l.Contract].Price.Kind().TitlePasses():
			p.Stored += l.Qty
		default:
			p.Claim += l.Qty
		}
	}
	for _, lines := range [][]StockLine{b.Opening, b.Stock} {
		for _, l := range lines {
			p := get(l.Party, b.Bins[l.Bin], b.index.bins[l.Bin].Crop)
			p.Bin = true
			p.Dry += l.Dry
		}
	}
	out := make([]Position, 0, len(at))
	for _, p := range at {
		if p.Bin {
			p.InBin, _ = bushelsAt(p.Crop, b.index.bins[b.index.bin[p.Place]].SaleBase, p.Dry)
		}
		out = append(out, *p)
	}
	slices.SortFunc(out, func(x, y Position) int {
		return cmp.Or(cmp.Compare(b.index.party[x.Party], b.index.party[y.Party]), cmp.Compare(x.Place, y.Place), cmp.Compare(x.Crop, y.Crop))
	})
	return out
}

// A BinBalance is what went into an own bin, what came out and what should be in it.
type BinBalance struct {
	Bin     string
	Crop    crop.Kind
	Base    trade.Percent // moisture that bushels are counted at; 0: not known
	Opening trade.Bushels
	In, Out trade.Bushels
	Now     trade.Bushels
	InLb    trade.Pounds // by the scale
	OutLb   trade.Pounds
	Dry     int64 // dry matter that should be in it, ten-thousandths of a pound
	Over    int64 // drawn beyond what was in it
}

// BinBalances returns every bin. Bushels in, less bushels out, are bushels there: dry matter is what is counted.
func (b *Book) BinBalances() []BinBalance {
	out := make([]BinBalance, len(b.Bins))
	type flow struct{ opening, in, out int64 }
	flows := make([]flow, len(b.Bins))
	for _, l := range b.Opening {
		flows[l.Bin].opening += l.Dry
	}
	for _, l := range b.Stock {
		if l.Dry >= 0 {
			flows[l.Bin].in += l.Dry
			out[l.Bin].InLb += l.Net
		} else {
			flows[l.Bin].out -= l.Dry
			out[l.Bin].OutLb -= l.Net
		}
	}
	for i, bin := range b.index.bins {
		o, f := &out[i], flows[i]
		o.Bin, o.Crop, o.Base = bin.ID, bin.Crop, bin.SaleBase
		o.Dry, o.Over = f.opening+f.in-f.out, b.over[i]
		o.Opening, _ = bushelsAt(bin.Crop, bin.SaleBase, f.opening)
		o.In, _ = bushelsAt(bin.Crop, bin.SaleBase, f.in)
		o.Out, _ = bushelsAt(bin.Crop, bin.SaleBase, f.out)
		o.Now = o.Opening + o.In - o.Out // a subtraction of what is printed, never rounded again
	}
	return out
}

// A Drift is how far an owner's pounds of a field lie from his share of the season's total: each load is split by itself, so up
// to a pound a load.
type Drift struct {
	Party string
	Off   int64 // pounds; positive: the owner has more
}

// ShareDrift returns the drift of every owner of field f.
func (b *Book) ShareDrift(f int32) []Drift { return b.drifts()[f].parties }

// fieldDrift is one field's drift and in how many lots its grain was split.
type fieldDrift struct {
	loads   int64
	parties []Drift
}

// drifts works out every field in one pass over the lines.
func (b *Book) drifts() []fieldDrift {
	type sum struct {
		all   int64
		of    map[int32]int64
		loads int64
	}
	sums := make([]sum, len(b.index.fields))
	last := make([]int32, len(sums))
	for i := range last {
		last[i] = none
	}
	for _, l := range b.Harvest {
		if l.Field == none {
			continue
		}
		s := &sums[l.Field]
		if s.of == nil {
			s.of = map[int32]int64{}
		}
		s.all += int64(l.Net)
		s.of[l.Party] += int64(l.Net)
		if last[l.Field] != l.Ticket {
			last[l.Field] = l.Ticket
			s.loads++
		}
	}
	out := make([]fieldDrift, len(sums))
	for f, s := range sums {
		out[f].loads = s.loads
		for _, o := range b.index.owners[f] {
			quota := trade.HalfUp.MulDiv(s.all, o.part.Num(), o.part.Den())
			out[f].parties = append(out[f].parties, Drift{b.index.parties[o.party], s.of[o.party] - quota})
		}
	}
	return out
}
