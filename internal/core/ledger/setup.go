package ledger

import (
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/market"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// A TermsKey names the posted terms of one outlet for one crop.
type TermsKey struct {
	Outlet string
	Crop   crop.Kind
}

// A Setup is what tickets are held against.
type Setup struct {
	Season    *farm.Season
	Owner     string // the party that grain without shares belongs to
	Terms     map[TermsKey][]*settlement.Terms
	Besides   map[TermsKey][]settlement.Schedule // others that a buyer may have settled under by mistake; for audits
	Bids      []farm.Bid                         // every one that was heard, also those replaced since
	Contracts []Contract
	Mixed     map[string]bool // bins whose grain is mixed; the others give first what came first
	Measured  []Measure
	Cheques   []Cheque
	Zone      *time.Location // of the farm and its buyers
	Now       time.Time
}

// A Contract is grain promised to one outlet by one party.
type Contract struct {
	ID, Outlet, Party string
	Crop              crop.Kind
	Class             string // of wheat; empty: any
	Promised          trade.Bushels
	Applied           trade.Bushels // by loads that are not in this book
	Written           calendar.Day  // zero: not known
	From              *calendar.Day
	Until             calendar.Day
	Price             market.Contract
	Tolerance         trade.Bushels // over or under which it still closes as delivered
	ShortFee          *trade.Price  // on each bushel not delivered
	ShortNets         bool          // a market under the contract pays the seller on what is short
	BoughtOut         bool
}

// ContractOf returns a contract of the season file; one that names no party is the owner's.
func ContractOf(c farm.Contract, owner string) Contract {
	out := Contract{
		ID: c.ID, Outlet: c.Outlet, Party: c.Party, Crop: c.Crop, Promised: c.Bu, Applied: c.AppliedBu, From: c.From, Until: c.Until,
		ShortFee: c.ShortUSD, ShortNets: c.ShortNets, Price: market.StateOf(c), Class: c.Class, BoughtOut: c.BoughtOut != nil,
	}
	switch {
	case c.ToleranceBu != nil:
		out.Tolerance = *c.ToleranceBu
	case c.TolerancePct != nil:
		out.Tolerance = trade.Bushels(trade.HalfUp.MulDiv(int64(c.Bu), int64(*c.TolerancePct), 100_00))
	}
	if c.Written != nil {
		out.Written = *c.Written
	}
	if out.Party == "" {
		out.Party = owner
	}
	return out
}

// A Measure is what somebody found in a bin. It is compared with the book and never put in its place.
type Measure struct {
	Bin     string
	Bushels trade.Bushels // by weight, at the bin's base moisture
	On      calendar.Day
	How     string
}

// owner is a party's part of a field's crop.
type owner struct {
	party int32
	part  trade.Fraction
}

// index holds the season by number, so that lines stay small.
type index struct {
	parties   []string
	fields    []*farm.Field
	bins      []*farm.Bin
	party     map[string]int32
	field     map[string]int32
	bin       map[string]int32
	outlet    map[string]*farm.Outlet
	truck     map[string]*farm.Truck
	contract  map[string]int32
	contracts map[TermsKey][]int32 // in the order in which they are filled
	owners    [][]owner            // of each field
	shares    [][]trade.Fraction   // the same, bare
	bids      map[TermsKey][]farm.Bid
	terms     map[TermsKey][]posted
}

// none is the number of what is not known.
const none = int32(-1)

func newIndex(s *Setup) *index {
	x := &index{
		party: map[string]int32{}, field: map[string]int32{}, bin: map[string]int32{}, outlet: map[string]*farm.Outlet{},
		truck: map[string]*farm.Truck{}, contract: map[string]int32{}, contracts: map[TermsKey][]int32{}, bids: map[TermsKey][]farm.Bid{},
		terms: map[TermsKey][]posted{},
	}
	x.partyOf(s.Owner)
	for i := range s.Season.Parties {
		x.partyOf(s.Season.Parties[i].ID)
	}
	for i := range s.Season.Fields {
		f := &s.Season.Fields[i]
		x.field[f.ID] = int32(len(x.fields)) //nolint:gosec // a season has fewer fields than that
		x.fields = append(x.fields, f)
		x.own(s, f)
	}
	for i := range s.Season.Bins {
		x.bin[s.Season.Bins[i].ID] = int32(i) //nolint:gosec // as for fields
		x.bins = append(x.bins, &s.Season.Bins[i])
	}
	for i := range s.Season.Outlets {
		x.outlet[s.Season.Outlets[i].ID] = &s.Season.Outlets[i]
	}
	for i := range s.Season.Trucks {
		x.truck[s.Season.Trucks[i].ID] = &s.Season.Trucks[i]
	}
	for i := range s.Contracts {
		c := &s.Contracts[i]
		x.contract[c.ID] = int32(i) //nolint:gosec // as for fields
		x.partyOf(c.Party)
	}
	x.orderContracts(s.Contracts)
	x.orderBids(s.Bids)
	x.orderTerms(s.Terms)
	return x
}

// partyOf returns the number of a party, which it gets when it is met first.
func (x *index) partyOf(id string) int32 {
	n, ok := x.party[id]
	if !ok {
		n = int32(len(x.parties)) //nolint:gosec // as for fields
		x.party[id] = n
		x.parties = append(x.parties, id)
	}
	return n
}

// own notes who owns the crop of f; without shares it is the owner's alone.
func (x *index) own(s *Setup, f *farm.Field) {
	var owners []owner
	var shares []trade.Fraction
	for _, share := range f.Shares {
		part := trade.NewFraction(share.Num, share.Den)
		owners, shares = append(owners, owner{x.partyOf(share.Party), part}), append(shares, part)
	}
	if len(owners) == 0 {
		owners, shares = []owner{{x.partyOf(s.Owner), whole}}, []trade.Fraction{whole}
	}
	x.owners, x.shares = append(x.owners, owners), append(x.shares, shares)
}

var whole = trade.NewFraction(1, 1)
