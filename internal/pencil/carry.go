package pencil

import (
	"fmt"

	"threshday/internal/core/market"
	"threshday/internal/core/storage"
	"threshday/internal/core/trade"
	"threshday/internal/flags"
	"threshday/internal/words"
)

type carryCmd struct {
	Price    trade.Price    `per:"bu" need:"" above:"$0" placeholder:"'$9.87'" help:"What it sells at today."`
	Months   flags.Number   `need:"" above:"0" high:"60" placeholder:"5" help:"How long it is kept."`
	Interest flags.Percent  `need:"" low:"0" high:"40" placeholder:"7.5" help:"Interest a year on the money it would bring today, percent."`
	Storage  *trade.Price   `name:"storage-per-month" per:"bu" low:"$0" placeholder:"1.5c" help:"Storage a month: a warehouse's charge, or at home only what varies with the grain."`
	Shrink   *flags.Percent `low:"0" high:"20" placeholder:"0.5" help:"Weight lost meanwhile, percent."`
	Handling *trade.Price   `per:"bu" low:"$0" placeholder:"3c" help:"Putting it in and taking it out."`
	Later    *trade.Price   `per:"bu" above:"$0" placeholder:"'$10.31'" help:"The price expected then; left out, only the break-even is worked out."`
}

type carryAnswer struct {
	Interest  string  `json:"interest_usd_per_bu"`
	Storage   string  `json:"storage_usd_per_bu"`
	Shrink    string  `json:"shrink_usd_per_bu"`
	Handling  string  `json:"handling_usd_per_bu"`
	Carry     string  `json:"carry_usd_per_bu"`
	BreakEven string  `json:"breakeven_usd_per_bu"`
	Gain      *string `json:"gain_usd_per_bu"`
	Why
}

// Answer returns the JSON form.
func (carryCmd) Answer() any { return carryAnswer{} }

// Examples returns command lines to try.
func (carryCmd) Examples() []string {
	return []string{"pencil carry --price '$9.87' --months 5 --interest 7.5 --storage-per-month 1.5c --shrink 0.5 --later '$10.31'"}
}

// Run answers.
func (c *carryCmd) Run(s *Desk) error {
	months := float64(c.Months)
	hold := storage.Hold{PriceUSD: c.Price.Float(), Days: months, YearDays: 12, InterestPct: float64(c.Interest)}
	var a carryAnswer
	counted := func(given bool, what string) bool {
		if !given {
			a.Assumed = append(a.Assumed, what+" is not given and not counted; the break-even is the lower for it.")
		}
		return given
	}
	if counted(c.Storage != nil, "Storage") {
		hold.StorageUSD = c.Storage.Float() * months
	}
	if counted(c.Shrink != nil, "Shrink") {
		hold.ShrinkPct = float64(*c.Shrink)
	}
	if counted(c.Handling != nil, "Handling in and out") {
		hold.HandlingUSD = c.Handling.Float()
	}
	expected := trade.Price(0)
	if c.Later != nil {
		expected = *c.Later
	}
	l := market.Keep(hold, expected)
	a.Interest, a.Storage, a.Shrink, a.Handling = l.Interest.Fixed(), l.Storage.Fixed(), l.Shrink.Fixed(), l.Other.Fixed()
	a.Carry, a.BreakEven = l.Carry.Fixed(), l.BreakEven.Fixed()
	a.Formula = []string{
		fmt.Sprintf("interest $%s × %s %% × %s ÷ 12 = $%s", c.Price, words.Short(float64(c.Interest), 2), words.Short(months, 2), l.Interest.Fixed()),
		fmt.Sprintf("storage $%s, shrink $%s, handling $%s: carry $%s", l.Storage.Fixed(), l.Shrink.Fixed(), l.Other.Fixed(), l.Carry.Fixed()),
		fmt.Sprintf("break-even $%s + $%s = $%s", c.Price, l.Carry.Fixed(), l.BreakEven.Fixed()),
	}
	a.Sources = s.sources("isu-a2-33") // [isu-a2-33]
	a.Cautions = []string{
		"A later price is your view of the market and nobody's promise; grain that goes out of condition loses more than the carry.",
		"A bin's own cost is sunk for this year's choice: count only what varies with the grain.",
	}
	rows := []Row{{"carry", "$" + l.Carry.Fixed() + " a bushel"}}
	if c.Later != nil {
		gain := l.Gain.Fixed()
		a.Gain = &gain
		rows = append(rows, Row{"expected", fmt.Sprintf("$%s: %s", c.Later.Fixed(), keepOrSell(l.Gain))})
	}
	return s.answer(a, "$"+l.BreakEven.Fixed(), "the later price that pays for keeping it", rows...)
}

// keepOrSell says what a gain over the break-even means.
func keepOrSell(gain trade.Price) string {
	switch {
	case gain > 0:
		return "keeping gains $" + gain.Fixed() + " a bushel"
	case gain < 0:
		return "keeping loses $" + (-gain).Fixed() + " a bushel; sell"
	}
	return "keeping gains nothing"
}
