package cli

import (
	"threshday/internal/answer"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/feeds/quantity"
)

type bidFlags struct {
	Outlet  string        `placeholder:"ossing" help:"The outlet's id."`
	Crop    crop.Kind     `placeholder:"soybean" help:"The crop."`
	Cash    *trade.Price  `placeholder:"'$9.87'" help:"Cash price; or give futures and basis."`
	Futures *trade.Price  `placeholder:"'$10.4225'" help:"Futures price."`
	Basis   *trade.Price  `placeholder:"-55c" help:"Basis, cash less futures; write --basis=-55c."`
	Month   string        `placeholder:"Nov" help:"Futures month."`
	From    *calendar.Day `placeholder:"2031-09-15" help:"First day of delivery."`
	Until   *calendar.Day `placeholder:"2031-10-31" help:"Last day of delivery; left out: no end known."`
}

func (f *bidFlags) onto(b *farm.Bid) error {
	put(&b.Outlet, f.Outlet)
	put(&b.Month, f.Month)
	if f.Crop != crop.Unknown {
		b.Crop = f.Crop
	}
	if f.Cash != nil {
		b.Cash, b.Futures, b.Basis = f.Cash, nil, nil
	}
	if f.Futures != nil {
		b.Futures, b.Cash = f.Futures, nil
	}
	if f.Basis != nil {
		b.Basis, b.Cash = f.Basis, nil
	}
	if f.From != nil {
		b.From = f.From
	}
	if f.Until != nil {
		b.Until = f.Until
	}
	switch {
	case f.Cash != nil && (f.Futures != nil || f.Basis != nil):
		return refuse("bid.both", "--cash", "A cash price and futures or basis are given.", "Give the cash price, or futures and basis.")
	case b.Cash == nil && (b.Futures == nil || b.Basis == nil):
		return &problem.InputError{Rule: "flag.missing", Label: "--cash", Want: "a cash price like $9.87, or --futures and --basis both"}
	case b.From != nil && b.Until != nil && b.Until.Before(*b.From):
		return &problem.InputError{Rule: "bid.order", Label: "--until", Got: b.Until.String(), Want: "not before the first day, " + b.From.String()}
	}
	return nil
}

// typedBid keeps the prices of a bid as they were typed.
func (s *session) typedBid() journal.Typed {
	return s.typed("cash_usd_e5", "--cash", "futures_usd_e5", "--futures", "basis_usd_e5", "--basis")
}

type addBidCmd struct {
	bidFlags
	atFlags
	whoFlags
	bookFlags
}

// Answer returns the JSON form.
func (addBidCmd) Answer() any { return enteredJSON{} }

// Run enters the bid.
func (c addBidCmd) Run(s *session) error {
	sign, err := c.signed(c.At != "", "--at")
	if err := firstOf(need(c.Outlet != "", "--outlet", "the outlet's id"), need(c.Crop != crop.Unknown, "--crop", oneOf(cropNames())), err); err != nil {
		return err
	}
	clock, err := s.App.Clock(s.ctx, c.data())
	if err != nil {
		return err
	}
	var b farm.Bid
	if err := c.onto(&b); err != nil {
		return err
	}
	if b.Taken, err = c.when(clock); err != nil {
		return err
	}
	e, err := s.App.AddBid(s.ctx, c.data(), b, s.typedBid(), sign)
	if err != nil {
		return err
	}
	return s.tell(e, answer.BidSaid(b, clock.Zone))
}

type forecastFlags struct {
	On     *calendar.Day      `placeholder:"2031-09-15" help:"The day."`
	High   *units.Temperature `placeholder:"82F" help:"Highest temperature."`
	Low    *units.Temperature `placeholder:"61F" help:"Lowest temperature."`
	Rain   *percent           `placeholder:"40" help:"Chance of 0.01 inch or more." low:"0" high:"100"`
	Amount string             `placeholder:"light" help:"How much, if it rains: trace, light, medium or heavy."`
	When   string             `placeholder:"evening" help:"When, if it rains: night, morning, afternoon, evening or any."`
	Dew    string             `placeholder:"heavy" help:"Dew in the morning: none, light or heavy."`
	Wind   string             `placeholder:"light" help:"Wind: calm, light, breezy or windy."`
	Sky    string             `placeholder:"part" help:"Sky: clear, part or cloudy."`
}

func (f *forecastFlags) onto(d *farm.OutlookDay) error {
	if f.On != nil {
		d.On = *f.On
	}
	if f.High != nil {
		d.High = *f.High
	}
	if f.Low != nil {
		d.Low = *f.Low
	}
	put(&d.Amount, f.Amount)
	put(&d.When, f.When)
	put(&d.Dew, f.Dew)
	put(&d.Wind, f.Wind)
	put(&d.Sky, f.Sky)
	if f.Rain != nil {
		x := float64(*f.Rain)
		d.RainPct = &x
	}
	if d.Low.Celsius() > d.High.Celsius() {
		return &problem.InputError{Rule: "forecast.order", Label: "--low", Got: quantity.FormatTemperature(d.Low), Want: "at most the high, " + quantity.FormatTemperature(d.High)}
	}
	return firstOf(
		oneOfWords("--amount", d.Amount, "", "trace", "light", "medium", "heavy"),
		oneOfWords("--when", d.When, "", "night", "morning", "afternoon", "evening", "any"),
		oneOfWords("--dew", d.Dew, "", "none", "light", "heavy"),
		oneOfWords("--wind", d.Wind, "", "calm", "light", "breezy", "windy"),
		oneOfWords("--sky", d.Sky, "", "clear", "part", "cloudy"),
	)
}

// typedForecast keeps the numbers of a forecast as they were typed.
func (s *session) typedForecast() journal.Typed {
	return s.typed("high_thousandth_f", "--high", "low_thousandth_f", "--low", "rain_hundredth_pct", "--rain")
}

type addForecastCmd struct {
	forecastFlags
	atFlags
	whoFlags
	bookFlags
}

// Answer returns the JSON form.
func (addForecastCmd) Answer() any { return enteredJSON{} }

// Run enters the day.
func (c addForecastCmd) Run(s *session) error {
	sign, err := c.signed(c.At != "", "--at")
	if err := firstOf(
		need(c.On != nil, "--on", "the day, as 2031-09-15"), need(c.High != nil, "--high", "the highest temperature, as 82F"),
		need(c.Low != nil, "--low", "the lowest temperature, as 61F"), err,
	); err != nil {
		return err
	}
	clock, err := s.App.Clock(s.ctx, c.data())
	if err != nil {
		return err
	}
	made, err := c.when(clock)
	if err != nil {
		return err
	}
	d := farm.OutlookDay{Entered: &made}
	if err := c.onto(&d); err != nil {
		return err
	}
	e, err := s.App.AddForecast(s.ctx, c.data(), d, s.typedForecast(), sign)
	if err != nil {
		return err
	}
	return s.tell(e, answer.ForecastSaid(d))
}
