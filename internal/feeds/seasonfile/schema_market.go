package seasonfile

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
)

var outletKeys = table[farm.Outlet]{
	keys: slices.Concat([]key[farm.Outlet]{
		owed("id", identity("outlet"), func(o *farm.Outlet) *string { return &o.ID }, "Used by bids, premiums, contracts and miles."),
		val("name", text(maxName), func(o *farm.Outlet) *string { return &o.Name }, "The name as the farm says it."),
		opt("miles", within(miles, "0mi", "2000mi"), func(o *farm.Outlet) **float64 { return &o.Miles }, "Road from the middle of the farm."),
		hoursKey(),
		many("closed", aDay(), func(o *farm.Outlet) *[]calendar.Day { return &o.Closed }, "Days on which it takes nothing in spite of its hours."),
		byName("schedule", cropNames(), filePath(), func(o *farm.Outlet) *map[crop.Kind]string { return &o.Schedules }, "File of the posted schedule of each crop."),
		opt("receive", within(hourly, "1bu/h", "1000000bu/h"), func(o *farm.Outlet) **float64 { return &o.BuPerHour }, "What its pits take in an hour."),
		opt("receive_day", within(room, "1bu", "10000000bu"), func(o *farm.Outlet) **float64 { return &o.BuPerDay }, "What it takes from this farm in a day."),
		opt("queue", within(minutes, "0min", "24h"), func(o *farm.Outlet) **float64 { return &o.QueueMin }, "Usual wait in line."),
		opt("scale", within(minutes, "0min", "3h"), func(o *farm.Outlet) **float64 { return &o.ScaleMin }, "Time on the scale, both times together."),
		opt("dump", within(minutes, "0min", "3h"), func(o *farm.Outlet) **float64 { return &o.DumpMin }, "Time at the pit."),
		opt("ticket", within(minutes, "0min", "3h"), func(o *farm.Outlet) **float64 { return &o.TicketMin }, "Time for sample and ticket."),
		val("note", text(maxNote), func(o *farm.Outlet) *string { return &o.Note }, "Told to the driver."),
		val("phone", text(maxName), func(o *farm.Outlet) *string { return &o.Phone }, "Told to the driver."),
	}, latLon(func(o *farm.Outlet) **farm.Point { return &o.At }, "the outlet")),
	check: func(r *reader, label string, n *node, _ *farm.Outlet) { r.latLon(n, label) },
}

// hoursKey is the week: {mon-fri = "07:00-19:00", sat = "07:00-13:00"}.
func hoursKey() key[farm.Outlet] {
	const want = `days and hours in braces, as {mon-fri = "07:00-19:00", sat = "07:00-13:00"}`
	return key[farm.Outlet]{
		name: "hours", about: "When it takes grain; a day left out is closed.", want: want, form: aText,
		read: func(r *reader, label, path string, n *node, o *farm.Outlet) {
			if n.form != aTable {
				r.wrongForm(n, label, want, aTable)
				return
			}
			r.repeated(n, label, path)
			for _, e := range n.entries {
				days, ok := daysOf(e.name)
				if !ok {
					r.refuseAt(e.node.key, refusal{"day.unknown", label + " key", e.name, "a day (" + strings.Join(dayWords(), ", ") + ") or a span in the order of the week, as mon-fri", ""})
					continue
				}
				open, ok := r.hours(e.node, join(label, e.name))
				for _, d := range days {
					if _, twice := o.Open[d]; twice && ok {
						r.refuseAt(e.node.key, refusal{"day.twice", label + " key", e.name, "each day once", "The hours of " + dayWord(d) + " are given already."})
						break
					}
					if ok {
						if o.Open == nil {
							o.Open = map[time.Weekday][2]calendar.Clock{}
						}
						o.Open[d] = open
					}
				}
			}
		},
		text: func(_ *writer, o *farm.Outlet) string {
			var pairs []string
			for i := 0; i < len(week); {
				hours, open := o.Open[week[i]]
				last := i
				for last+1 < len(week) && open {
					next, ok := o.Open[week[last+1]]
					if !ok || next != hours {
						break
					}
					last++
				}
				if open {
					name := dayWord(week[i])
					if last > i {
						name += "-" + dayWord(week[last])
					}
					pairs = append(pairs, name+" = "+hoursText(hours))
				}
				i = last + 1
			}
			if len(pairs) == 0 {
				return ""
			}
			return "{" + strings.Join(pairs, ", ") + "}"
		},
	}
}

// daysOf returns the days that "sat" or "mon-fri" names.
func daysOf(s string) ([]time.Weekday, bool) {
	first, last, span := strings.Cut(s, "-")
	words := dayWords()
	from := slices.Index(words, first)
	to := from
	if span {
		to = slices.Index(words, last)
	}
	if from < 0 || to < from || span && to == from {
		return nil, false
	}
	return week[from : to+1], true
}

// A bushel of any crop lies well inside these. [judgement]
const leastPrice, mostPrice = "$0.05", "$100"

// mostBasis bounds basis and premium, both ways. [judgement]
const mostBasis = "$20"

var bidKeys = table[farm.Bid]{keys: []key[farm.Bid]{
	val("id", identity("bid"), func(b *farm.Bid) *string { return &b.ID }, "What tells it from others."),
	owed("outlet", ref("outlet"), func(b *farm.Bid) *string { return &b.Outlet }, "Who bids."),
	owed("crop", aCrop(), func(b *farm.Bid) *crop.Kind { return &b.Crop }, "For what."),
	opt("cash", money("bu", leastPrice, mostPrice), func(b *farm.Bid) **trade.Price { return &b.Cash }, "The cash price; or futures and basis."),
	opt("futures", money("bu", leastPrice, mostPrice), func(b *farm.Bid) **trade.Price { return &b.Futures }, "Futures price the bid refers to."),
	opt("basis", money("bu", "-"+mostBasis, mostBasis), func(b *farm.Bid) **trade.Price { return &b.Basis }, "Basis: cash price minus futures price."),
	val("month", text(maxName), func(b *farm.Bid) *string { return &b.Month }, "Futures month, as Nov 2031."),
	opt("from", aDay(), func(b *farm.Bid) **calendar.Day { return &b.From }, "First day of delivery."),
	opt("until", aDay(), func(b *farm.Bid) **calendar.Day { return &b.Until }, "Last day of delivery; left out, no end is known."),
	owed("taken", anInstantOf(), func(b *farm.Bid) *time.Time { return &b.Taken }, "When the bid was heard; a stale one is said loudly."),
}, check: func(r *reader, label string, n *node, b *farm.Bid) {
	if n.all("from", "until") {
		r.window(n, label, "from", "until", *b.From, *b.Until)
	}
	price := money("bu", leastPrice, mostPrice).want
	switch cash, futures, basis := n.child("cash"), n.child("futures"), n.child("basis"); {
	case cash == nil && futures == nil && basis == nil:
		r.missing(n, label, "cash", price, "Give cash, or futures and basis.")
	case cash == nil && futures == nil:
		r.missing(n, label, "futures", price, "Add the futures price that the basis refers to.")
	case cash == nil && basis == nil:
		r.missing(n, label, "basis", money("bu", "-"+mostBasis, mostBasis).want, "Add the basis, or give cash.")
	case n.all("cash", "futures", "basis") && *b.Cash != *b.Futures+*b.Basis:
		r.refuse(cash, refusal{"bid.cash", join(label, "cash"), cash.text, fmt.Sprintf("futures plus basis, $%s", *b.Futures+*b.Basis), "Give cash, or futures and basis."})
	}
}}

var premiumKeys = table[farm.Premium]{keys: []key[farm.Premium]{
	val("id", identity("premium"), func(p *farm.Premium) *string { return &p.ID }, "What tells it from others."),
	owed("outlet", ref("outlet"), func(p *farm.Premium) *string { return &p.Outlet }, "Who pays it."),
	owed("crop", aCrop(), func(p *farm.Premium) *crop.Kind { return &p.Crop }, "For what."),
	owed("amount", money("bu", "-"+mostBasis, mostBasis), func(p *farm.Premium) *trade.Price { return &p.Amount }, "On top of the bid."),
	opt("from", aDay(), func(p *farm.Premium) **calendar.Day { return &p.From }, "First day."),
	owed("until", aDay(), func(p *farm.Premium) *calendar.Day { return &p.Until }, "Last day."),
	opt("cap", within(room, "1bu", "10000000bu"), func(p *farm.Premium) **float64 { return &p.CapBu }, "Bushels it is paid on at most."),
	opt("max_moisture", within(printed, "1%", "60%"), func(p *farm.Premium) **trade.Percent { return &p.MaxMoisture }, "Wettest load that earns it."),
	val("counts", choice("arrival", "gross", "tare"), func(p *farm.Premium) *string { return &p.Counts }, "What must fall inside the window: arrival, the loaded weighing or the empty one; left out, the loaded one."),
}, check: func(r *reader, label string, n *node, p *farm.Premium) {
	if n.all("from", "until") {
		r.window(n, label, "from", "until", *p.From, p.Until)
	}
}}

// contractKinds says which parts of the price each kind of contract has fixed.
var contractKinds = []struct {
	name  string
	fixed []string
}{
	{"cash", []string{"price"}},
	{"basis", []string{"basis"}},
	{"hta", []string{"futures"}},
	{"minimum", []string{"price"}},
	{"deferred", nil},
	{"storage", nil},
	{"pool", nil},
}

func contractWords() []string {
	var words []string
	for _, k := range contractKinds {
		words = append(words, k.name)
	}
	return words
}

var contractKeys = table[farm.Contract]{keys: []key[farm.Contract]{
	owed("id", identity("contract"), func(c *farm.Contract) *string { return &c.ID }, "Its number, used in orders and books."),
	owed("outlet", ref("outlet"), func(c *farm.Contract) *string { return &c.Outlet }, "The buyer."),
	owed("crop", aCrop(), func(c *farm.Contract) *crop.Kind { return &c.Crop }, "The crop."),
	val("party", ref("party"), func(c *farm.Contract) *string { return &c.Party }, "Who sold; left out, the owner."),
	owed("kind", choice(contractWords()...), func(c *farm.Contract) *string { return &c.Kind }, "What is fixed: cash all of the price, basis the basis, hta the futures (hedged to arrive), minimum a floor, deferred and storage nothing yet, pool an average."),
	owed("bushels", within(bushels, "0.001bu", "10000000bu"), func(c *farm.Contract) *trade.Bushels { return &c.Bu }, "Bushels promised."),
	val("applied", within(bushels, "0bu", "10000000bu"), func(c *farm.Contract) *trade.Bushels { return &c.AppliedBu }, "Bushels already applied."),
	opt("price", money("bu", leastPrice, mostPrice), func(c *farm.Contract) **trade.Price { return &c.Price }, "The whole price, where it is fixed; the floor of a minimum price."),
	opt("futures", money("bu", leastPrice, mostPrice), func(c *farm.Contract) **trade.Price { return &c.Futures }, "Futures price, where it is fixed."),
	opt("basis", money("bu", "-"+mostBasis, mostBasis), func(c *farm.Contract) **trade.Price { return &c.Basis }, "Basis, where it is fixed."),
	opt("from", aDay(), func(c *farm.Contract) **calendar.Day { return &c.From }, "First day of delivery."),
	owed("until", aDay(), func(c *farm.Contract) *calendar.Day { return &c.Until }, "Last day of delivery."),
	opt("short", money("bu", "$0", mostBasis), func(c *farm.Contract) **trade.Price { return &c.ShortUSD }, "Owed for each bushel not delivered."),
	val("short_nets", truth(), func(c *farm.Contract) *bool { return &c.ShortNets }, "Whether a market under the contract's price pays you on what is short; left out, it does not."),
	val("class", wheatClass(), func(c *farm.Contract) *string { return &c.Class }, "The class of wheat it is for; left out, any."),
	opt("written", aDay(), func(c *farm.Contract) **calendar.Day { return &c.Written }, "When it was made; of two with the same last day the older one is filled first."),
	opt("price_by", aDay(), func(c *farm.Contract) **calendar.Day { return &c.PriceBy }, "Last day on which what is open in its price can be fixed."),
	val("month", text(maxName), func(c *farm.Contract) *string { return &c.Month }, "Futures month as it was written, as Dec 2031; rolls lead on from it."),
	opt("fee", money("bu", "$0", mostBasis), func(c *farm.Contract) **trade.Price { return &c.FeeUSD }, "Taken off the price, as for writing it; rolls have fees of their own."),
	opt("tolerance", within(printed, "0%", "25%"), func(c *farm.Contract) **trade.Percent { return &c.TolerancePct }, "Over or under by so much of its bushels it closes as delivered; or tolerance_bu."),
	opt("tolerance_bu", within(bushels, "0bu", "10000bu"), func(c *farm.Contract) **trade.Bushels { return &c.ToleranceBu }, "Over or under by so many bushels it closes as delivered."),
	opt("bought_out", aDay(), func(c *farm.Contract) **calendar.Day { return &c.BoughtOut }, "When what was short was bought out; nothing more is delivered on it."),
	records("roll", &rollKeys, func(c *farm.Contract) *[]farm.Roll { return &c.Rolls }, "A move to a later futures month, the earliest first."),
}, check: func(r *reader, label string, n *node, c *farm.Contract) {
	if n.all("from", "until") {
		r.window(n, label, "from", "until", *c.From, c.Until)
	}
	if n.all("written", "until") {
		r.window(n, label, "written", "until", *c.Written, c.Until)
	}
	if extra := n.child("tolerance_bu"); n.all("tolerance", "tolerance_bu") {
		r.refuse(extra, refusal{"contract.tolerance", join(label, "tolerance_bu"), extra.text, "tolerance or tolerance_bu, not both", "Take one out."})
	}
	if class := n.child("class"); n.all("class", "crop") && c.Crop != crop.Wheat {
		r.refuse(class, refusal{"class.crop", join(label, "class"), class.text, "no class, since the crop is " + c.Crop.String(), "Take it out, or correct the crop."})
	}
	if roll := n.child("roll"); roll != nil && n.all("kind") && (c.Kind != "hta" && c.Kind != "basis" || n.child("price") != nil) {
		r.refuse(roll, refusal{"contract.roll", join(label, "roll"), c.Kind, "rolls only in a contract of kind hta or basis, without a price of its own", "The price that follows from futures, basis and rolls is worked out."})
	}
	for _, k := range contractKinds {
		for _, part := range k.fixed {
			sum := part == "price" && n.child("futures") != nil && n.child("basis") != nil
			if c.Kind == k.name && n.child(part) == nil && !sum {
				r.missing(n, label, part, money("bu", leastPrice, mostPrice).want, fmt.Sprintf("In a contract of kind %s it is fixed.", c.Kind))
			}
		}
	}
}}

var rollKeys = table[farm.Roll]{keys: []key[farm.Roll]{
	owed("on", aDay(), func(r *farm.Roll) *calendar.Day { return &r.On }, "When it was rolled."),
	owed("to", text(maxName), func(r *farm.Roll) *string { return &r.To }, "The new futures month, as Mar 2032."),
	owed("spread", money("bu", "-"+mostBasis, mostBasis), func(r *farm.Roll) *trade.Price { return &r.SpreadUSD }, "The new month's futures less the old one's."),
	opt("fee", money("bu", "$0", mostBasis), func(r *farm.Roll) **trade.Price { return &r.FeeUSD }, "What the roll costs."),
}}
