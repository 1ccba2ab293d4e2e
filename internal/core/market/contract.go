package market

import (
	"threshday/internal/core/calendar"
	"threshday/internal/core/trade"
)

// Kind is a kind of contract, by the word in season files.
type Kind string

// The kinds [isu-a2-73].
const (
	Cash     Kind = "cash"     // spot, or forward: the whole price is fixed
	Basis    Kind = "basis"    // the basis is fixed, the futures open
	HTA      Kind = "hta"      // hedged to arrive: the futures are fixed, the basis open
	Minimum  Kind = "minimum"  // a floor, and the gain of futures over the strike
	Deferred Kind = "deferred" // delayed price: all is open, and the title passes with the grain
	Storage  Kind = "storage"  // all is open, and the title stays with the owner
	Pool     Kind = "pool"     // the mean of the days of a calendar
)

// Known reports whether the kind is one of ours.
func (k Kind) Known() bool {
	switch k {
	case Cash, Basis, HTA, Minimum, Deferred, Storage, Pool:
		return true
	}
	return false
}

// TitlePasses reports whether grain delivered under k is the buyer's from then on. Until it is priced and paid the seller
// is a creditor without security, except in open storage, where the grain is still the owner's.
func (k Kind) TitlePasses() bool { return k != Storage }

// A Part of a price is open until somebody fixes it. The zero Part is open.
type Part struct {
	Fixed bool
	Price trade.Price
	On    calendar.Day // the day it was fixed; zero: not known
}

// FixedAt returns a part fixed at p on that day.
func FixedAt(p trade.Price, on calendar.Day) Part { return Part{true, p, on} }

// A Roll moves a contract from one futures month to a later one.
type Roll struct {
	To     string      // the new month
	Spread trade.Price // new month less old
	Fee    trade.Price
	On     calendar.Day
}

// A Contract is the state of a contract's price. It changes only through its methods, each of which returns the contract as it
// is afterwards or says why that cannot be; see [NewCash] and its sisters.
type Contract struct {
	kind    Kind
	month   string
	futures Part
	basis   Part
	cash    Part        // the whole price at once
	fee     trade.Price // taken off the price: for writing, premium of an option; fees of rolling
	floor   trade.Price
	strike  trade.Price
	service Service
	priceBy *calendar.Day
	samples []trade.Price
	rolls   []Roll
	payOn   *calendar.Day
}

// Kind returns what kind of contract it is.
func (c Contract) Kind() Kind { return c.kind }

// Month returns the futures month that it hangs on; empty: none is stated.
func (c Contract) Month() string { return c.month }

// Futures returns the futures part, after rolls.
func (c Contract) Futures() Part { return c.futures }

// BasisPart returns the basis part, after rolls.
func (c Contract) BasisPart() Part { return c.basis }

// PriceBy returns the last day on which what is open can be fixed; nil: none is stated.
func (c Contract) PriceBy() *calendar.Day { return c.priceBy }

// PayOn returns the day payment was put off to; nil: it was not.
func (c Contract) PayOn() *calendar.Day { return c.payOn }

// Rolls returns the months it was moved through.
func (c Contract) Rolls() []Roll { return append([]Roll(nil), c.rolls...) }

// Floor returns the least that a minimum-price contract pays.
func (c Contract) Floor() (trade.Price, bool) { return c.floor, c.kind == Minimum }

// NewCash returns a contract whose whole price is fixed.
func NewCash(price trade.Price, on calendar.Day) Contract {
	return Contract{kind: Cash, cash: FixedAt(price, on)}
}

// NewBasis returns a contract with fixed basis against a futures month, and a fee taken off the price.
func NewBasis(basis trade.Price, month string, fee trade.Price, on calendar.Day) Contract {
	return Contract{kind: Basis, month: month, basis: FixedAt(basis, on), fee: fee}
}

// NewHTA returns a contract with fixed futures and a fee for writing it.
func NewHTA(futures trade.Price, month string, fee trade.Price, on calendar.Day) Contract {
	return Contract{kind: HTA, month: month, futures: FixedAt(futures, on), fee: fee}
}

// NewMinimum returns a minimum-price contract: the floor is futures plus basis less the option's premium and the fee, and
// what futures later stand above the futures it was written at is added.
func NewMinimum(futures, basis, premium, fee trade.Price, month string, on calendar.Day) Contract {
	return Contract{kind: Minimum, month: month, basis: FixedAt(basis, on), fee: premium + fee, floor: futures + basis - premium - fee, strike: futures}
}

// NewFloor returns a minimum-price contract of which the floor and the strike are known and not how they came about. Without
// a strike nothing can be added to the floor.
func NewFloor(floor trade.Price, strike *trade.Price, month string, on calendar.Day) Contract {
	c := Contract{kind: Minimum, month: month, floor: floor}
	if strike == nil {
		c.cash = FixedAt(floor, on)
		return c
	}
	c.strike = *strike
	return c
}

// NewDeferred returns a delayed-price contract: the cash bid of a later day less the service charge.
func NewDeferred(s Service) Contract { return Contract{kind: Deferred, service: s} }

// NewStorage returns open storage: the cash bid of the day of sale less storage.
func NewStorage(s Service) Contract { return Contract{kind: Storage, service: s} }

// NewPool returns a pool: the mean of the futures of its days plus a basis, or of cash bids where basis is 0.
func NewPool(basis trade.Price, fee trade.Price, on calendar.Day) Contract {
	return Contract{kind: Pool, basis: FixedAt(basis, on), fee: fee}
}

// By returns c with a last day for fixing what is open.
func (c Contract) By(day calendar.Day) Contract { c.priceBy = &day; return c }

// PaidOn returns c with payment put off to day; its price is what it was. Putting off income is a matter for the adviser.
func (c Contract) PaidOn(day calendar.Day) Contract { c.payOn = &day; return c }

// Open returns what is still open, in words of contracts: "futures", "basis", "price".
func (c Contract) Open() []string {
	var out []string
	switch {
	case c.cash.Fixed:
	case c.kind == Cash, c.kind == Deferred, c.kind == Storage, c.kind == Pool:
		out = append(out, "price")
	default:
		if !c.futures.Fixed {
			out = append(out, "futures")
		}
		if !c.basis.Fixed && (c.kind != Minimum || c.floor == 0) {
			out = append(out, "basis")
		}
	}
	return out
}

// Priced reports whether nothing is open.
func (c Contract) Priced() bool { return len(c.Open()) == 0 }

// Price returns what a unit delivered on that day is paid before quality, and whether it is complete. A service charge runs
// from delivery to the day the price was fixed.
func (c Contract) Price(delivered calendar.Day) (trade.Price, bool) {
	if !c.Priced() {
		return 0, false
	}
	switch {
	case c.kind == Minimum && !c.cash.Fixed:
		return max(c.floor, c.floor+c.futures.Price-c.strike), true
	case c.cash.Fixed:
		held := 0
		if !delivered.IsZero() && !c.cash.On.IsZero() {
			held = max(0, c.cash.On.DaysSince(delivered))
		}
		return c.cash.Price - c.fee - c.service.Charge(held), true
	}
	return c.futures.Price + c.basis.Price - c.fee, true
}
