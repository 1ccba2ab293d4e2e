package ledger

import (
	"fmt"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// A Book is a season added up.
type Book struct {
	Parties   []string // by the number that lines carry
	Fields    []string
	Bins      []string
	Contracts []ContractState
	Loads     []Posted // in the order they were posted
	TakenBack []TakenBack
	Harvest   []HarvestLine
	Sales     []SaleLine
	Stock     []StockLine
	Opening   []StockLine // what lay in the bins before
	Findings  []problem.Finding

	setup *Setup
	index *index
	over  []int64 // dry matter drawn from each bin beyond what was in it

	layers [][]layer // of each bin, those used up among them
}

// A Posted load is a ticket with what became of it.
type Posted struct {
	Ticket   *Ticket
	Terms    *settlement.Terms // nil: own bin, or no schedule in force
	Readings settlement.Readings
	Averaged bool // Readings are the mean of several loads
	Totals   settlement.Totals
	Cwt      bool  // quantities are hundredweight
	Settled  bool  // Totals hold the buyer's weights and quantities
	Why      error // why it is not settled
	Harvest  Range
	Sales    Range
}

// A Range is where a load's lines stand.
type Range struct{ First, End int32 }

// builder is a book while it is made.
type builder struct {
	*index
	setup      *Setup
	book       *Book
	stock      []stocked
	home       []owner // the owner alone
	homeShares []trade.Fraction
	states     []ContractState
	premium    []trade.Bushels // earned so far, by the season's premiums
	insured    map[insuredKey]settlement.Adjustment
	averages   map[*Ticket]settlement.Readings

	piece []piece // of the load being posted
	part  []ownerPart
	fill  []fill
}

type insuredKey struct {
	crop     crop.Kind
	moisture trade.Percent
}

// Build adds the entries up. Whatever is doubtful stands in the findings of the book; one bad ticket hides no other.
func Build(s *Setup, entries []Entry) *Book {
	x := newIndex(s)
	count, back, found := settleEntries(entries)
	b := &builder{
		index: x, setup: s, book: &Book{TakenBack: back, Findings: found, setup: s, index: x}, premium: make([]trade.Bushels, len(s.Season.Premiums)),
		insured: map[insuredKey]settlement.Adjustment{}, home: []owner{{x.partyOf(s.Owner), whole}}, homeShares: []trade.Fraction{whole},
	}
	b.openContracts()
	b.openBins()
	b.checkTickets(count)
	b.average(count)
	b.book.Loads = make([]Posted, 0, len(count))
	b.book.Harvest, b.book.Sales = make([]HarvestLine, 0, 2*len(count)), make([]SaleLine, 0, 2*len(count))
	for _, t := range count {
		b.post(t)
	}
	b.close()
	return b.book
}

// close takes over what the builder counted and looks over the whole.
func (b *builder) close() {
	out := b.book
	out.Parties, out.Contracts = b.parties, b.states
	for _, f := range b.fields {
		out.Fields = append(out.Fields, f.ID)
	}
	for i, bin := range b.bins {
		out.Bins = append(out.Bins, bin.ID)
		out.over, out.layers = append(out.over, b.stock[i].over), append(out.layers, b.stock[i].layers)
	}
	b.checkShares()
	b.checkContracts()
	b.checkBins()
	b.checkCheques()
}

func (b *builder) find(f problem.Finding) { b.book.Findings = append(b.book.Findings, f) }

// post adds one load.
func (b *builder) post(t *Ticket) {
	n := int32(len(b.book.Loads)) //nolint:gosec // a season has fewer loads than that
	p := Posted{Ticket: t, Readings: t.Load.Readings}
	p.Harvest.First, p.Sales.First = int32(len(b.book.Harvest)), int32(len(b.book.Sales)) //nolint:gosec // as above
	if err := settlement.CheckLoad(t.Load); err != nil {
		p.Why = err
		b.refused(t, err)
	} else {
		b.weigh(n, t, &p)
	}
	p.Harvest.End, p.Sales.End = int32(len(b.book.Harvest)), int32(len(b.book.Sales)) //nolint:gosec // as above
	b.book.Loads = append(b.book.Loads, p)
}

// weigh posts a load that has weights: parts of fields and owners, then the bin or the buyer.
func (b *builder) weigh(n int32, t *Ticket, p *Posted) {
	bin, isBin := b.bin[t.Place]
	p.Totals.NetLb, p.Totals.SettledLb = t.Load.Net(), t.Load.Net()
	var under *posted
	if !isBin {
		under = b.termsFor(t)
		b.settle(t, p, under)
	}
	pieces := b.pieces(n, t)
	net, settled := byPiece(p.Totals.NetLb, pieces), byPiece(p.Totals.SettledLb, pieces)
	b.part = b.part[:0]
	m, read := t.moisture()
	dryPart := int64(100_00 - m)
	if !read {
		dryPart = 0
	}
	if isBin && !read {
		b.find(problem.Finding{
			Rule: "T06", Severity: problem.Error, Where: t.Where, Label: "moisture", Want: "a reading, because it went into a bin",
			Say: t.name() + " went into a bin and has no moisture; it is not in the bin's balance.", Next: "Look on the ticket; a missing reading is never taken as dry.",
		})
	}
	for i := range pieces {
		b.postPiece(n, t, &pieces[i], net[i], settled[i], dryPart, isBin, bin)
	}
	if p.Settled {
		b.sell(n, t, p, under)
	}
}

// postPiece splits one piece over its owners.
func (b *builder) postPiece(n int32, t *Ticket, pc *piece, net, settled trade.Pounds, dryPart int64, isBin bool, bin int32) {
	nets, settles := byOwner(net, pc), byOwner(settled, pc)
	var insured []trade.Bushels
	if !pc.binned && pc.field >= 0 {
		insured = b.insuredParts(t, pc, net)
	}
	dry := make([]int64, 0, 4)
	for i, o := range pc.owners {
		d := int64(nets[i]) * dryPart
		dry = append(dry, d)
		b.addOwner(o.party, settles[i])
		if !pc.binned {
			line := HarvestLine{Ticket: n, Field: pc.field, Party: o.party, Net: nets[i], Settled: settles[i], Dry: d}
			if insured != nil {
				line.Insured = insured[i]
			}
			b.book.Harvest = append(b.book.Harvest, line)
		}
	}
	if isBin && dryPart > 0 {
		b.binned(n, bin, pc.field, pc.owners, nets, dry)
	}
}

// insuredParts returns production to count of one piece, to a tenth of a bushel, over its owners; nil where the crop's rule or
// the moisture is not known.
func (b *builder) insuredParts(t *Ticket, pc *piece, net trade.Pounds) []trade.Bushels {
	m, read := t.moisture()
	pounds, ok := crop.BushelPounds(t.Load.Crop)
	if !read || !ok {
		return nil
	}
	key := insuredKey{t.Load.Crop, settlement.Moisture.Recorded(m)}
	adjust, known := b.insured[key]
	if !known {
		var err error
		if adjust, err = settlement.Insured(key.crop, key.moisture); err != nil {
			return nil
		}
		b.insured[key] = adjust
	}
	gross := trade.Bushels(trade.HalfUp.MulDiv(int64(net), 1000, int64(pounds)))
	all := adjust.Of(gross)
	if len(pc.shares) == 1 {
		return []trade.Bushels{all}
	}
	return mustSplit(all.Split(pc.shares, 1))
}

// settle asks the terms for weights and quantities, which hang on no price.
func (b *builder) settle(t *Ticket, p *Posted, under *posted) {
	if b.outlet[t.Place] == nil {
		p.Why = &problem.InputError{Rule: "load.outlet", Label: "Outlet", Got: t.Place, Want: "an outlet or bin of the season", Next: "Correct the ticket, or enter the outlet with its schedule."}
		b.refused(t, p.Why)
		return
	}
	if under == nil {
		p.Why = &problem.InputError{
			Rule: "T04", Label: "Schedule", Got: fmt.Sprintf("none for %s at %s on %s", t.Load.Crop, t.Place, t.Load.Day),
			Want: "a schedule in force on that day", Next: "Name the file of the posted schedule at the outlet.",
		}
		b.refused(t, p.Why)
		return
	}
	p.Terms = under.terms
	if mean, ok := b.averages[t]; ok {
		p.Readings, p.Averaged = mean, true
	}
	load := t.Load
	load.Readings = p.Readings
	anyPrice := trade.Price(1_00000)
	sum, err := under.terms.Totals(load, settlement.Prices{Cash: anyPrice, Futures: &anyPrice})
	if err != nil {
		p.Why = err
		if _, detailed := under.terms.Settle(load, settlement.Prices{Cash: anyPrice, Futures: &anyPrice}); detailed != nil {
			p.Why = detailed // the same refusal with its reading
		}
		b.refused(t, p.Why)
		return
	}
	p.Totals = settlement.Totals{NetLb: sum.NetLb, SettledLb: sum.SettledLb, GrossQty: sum.GrossQty, NetQty: sum.NetQty}
	p.Settled, p.Cwt = true, under.schedule.PriceUnit == settlement.PerCwt
}
