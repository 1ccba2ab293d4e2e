package ledger

import (
	"fmt"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/storage"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// A BinLife is how much of its storage life the grain in a bin has used up, by the days since each load went in, its moisture and the
// grain temperatures that the owner read: the figure of the load that is worst off. It is a guide for sound grain.
type BinLife struct {
	Bin     string
	Why     string        // it is not known; empty: it is
	Spent   storage.Spent // of the worst load
	Ticket  string        // the worst load
	Moist   trade.Percent // that load lies at
	Temp    units.Temperature
	Read    calendar.Day // when that temperature was read
	Left    float64      // days that are left for it at that temperature
	Long    bool         // the table says only that it keeps over 300 days
	Outside bool         // wetter or warmer than the table goes: it keeps for less
	Assumed []string     // what had to be taken as given
}

// BinLives returns the storage life of the grain in every bin that holds any.
func (b *Book) BinLives() []BinLife {
	today := calendar.DayOf(b.setup.Now, b.setup.Zone)
	var out []BinLife
	for i, bin := range b.index.bins {
		if layers := full(b.layers[i]); len(layers) > 0 {
			out = append(out, b.lifeOf(bin, layers, today))
		}
	}
	return out
}

// full returns the layers of which something is left.
func full(all []layer) []layer {
	var out []layer
	for _, l := range all {
		if l.left() > 0 {
			out = append(out, l)
		}
	}
	return out
}

// lifeOf returns the storage life of the grain that lies in a bin.
func (b *Book) lifeOf(bin *farm.Bin, layers []layer, today calendar.Day) BinLife {
	out := BinLife{Bin: bin.ID}
	spells := spellsOf(bin, today)
	if len(spells) == 0 {
		out.Why = "nobody has read the grain's temperature; give it with [[bin.reading]], its day and temp"
		return out
	}
	last := spells[len(spells)-1]
	out.Temp, out.Read = last.temp, last.read
	if _, ok := storage.Allowable(bin.Crop, 15, last.temp); !ok {
		out.Why = fmt.Sprintf("no published table says how long %s keeps", bin.Crop)
		return out
	}
	target, dried := b.driedTo(bin)
	early, driedAny := false, false
	found := false
	for _, l := range layers {
		if l.ticket == none {
			out.Assumed = append(out.Assumed, "what lay in it before is not reckoned: when it went in is not known")
			continue
		}
		t := b.Loads[l.ticket].Ticket
		m, _ := t.moisture() // a load without one is in no layer
		if dried && m > target {
			m, driedAny = target, true
		}
		early = early || t.Day.Before(spells[0].read)
		spent, at, life := spentIn(bin, spells, t.Day, m)
		if !found || spent > out.Spent {
			out.Spent, out.Ticket, out.Moist, out.Left, out.Long, out.Outside = spent, t.name(), at, spent.DaysLeft(life), life.Over300, life.Outside
			found = true
		}
	}
	if !found {
		out.Why = "when the grain in it went in is not known"
	}
	if early {
		out.Assumed = append(out.Assumed, fmt.Sprintf("before its first reading, on %s, the grain was as warm as then", spells[0].read))
	}
	if driedAny {
		out.Assumed = append(out.Assumed, fmt.Sprintf("wetter loads were dried to %s %% by %s the day they came", target, bin.Dryer))
	}
	return out
}

// driedTo returns the moisture to which the bin's dryer brings what goes in; false: no dryer feeds it.
func (b *Book) driedTo(bin *farm.Bin) (trade.Percent, bool) {
	for i := range b.setup.Season.Dryers {
		if d := &b.setup.Season.Dryers[i]; d.ID == bin.Dryer && bin.Dryer != "" {
			target, ok := d.Target[bin.Crop]
			return target, ok
		}
	}
	return 0, false
}

// A spell is a stretch of days in which grain lay at one temperature and, where it was read, one moisture.
type spell struct {
	read  calendar.Day // when it was read
	until calendar.Day // first day after it
	temp  units.Temperature
	moist *trade.Percent // of all grain in the bin from then on
}

// spellsOf returns the spells between a bin's readings up to today, the earliest first. A reading holds until the next.
func spellsOf(bin *farm.Bin, today calendar.Day) []spell {
	var out []spell
	for _, r := range bin.Readings { // in the order of days; the season file sees to it
		if r.On.After(today) {
			break
		}
		s := spell{read: r.On, until: today, temp: r.Temp, moist: r.Moisture}
		if n := len(out); n > 0 {
			out[n-1].until = r.On
			if s.moist == nil {
				s.moist = out[n-1].moist
			}
		}
		out = append(out, s)
	}
	return out
}

// spentIn returns what grain that went in on a day at a moisture has spent since, with its moisture now and the life that goes with it. What
// is spent adds up over every temperature it has been at. [ndsu-hellevang-2020]
func spentIn(bin *farm.Bin, spells []spell, in calendar.Day, m trade.Percent) (spent storage.Spent, at trade.Percent, life storage.Life) {
	for i, s := range spells {
		from := s.read
		if i == 0 || in.After(from) {
			from = in
		}
		if at = m; s.moist != nil && !in.After(s.read) {
			at = *s.moist
		}
		life, _ = storage.Allowable(bin.Crop, at.Float(), s.temp)
		if days := s.until.DaysSince(from); days > 0 {
			spent = spent.After(float64(days), life)
		}
	}
	return spent, at, life
}

// lifeHalf is the part of its life from which grain in a bin is spoken of. [judgement]
const lifeHalf = storage.Spent(0.5)

// Doubt returns the warning that grain has used up more than half of its storage life; false where it has not, or where nobody knows.
func (l BinLife) Doubt() (problem.Finding, bool) {
	if l.Why != "" || l.Spent <= lifeHalf {
		return problem.Finding{}, false
	}
	f := problem.Finding{
		Rule: "bin.life", Severity: problem.Warning, Label: "Bin " + l.Bin, Got: fmt.Sprintf("%.0f %% of its storage life used", 100*float64(l.Spent)), Want: "less than half",
		Say:  fmt.Sprintf("Bin %s: %s, at %s %%, has used %.0f %% of its storage life; at %.0f F the rest is gone in %.0f days.", l.Bin, l.Ticket, l.Moist, 100*float64(l.Spent), l.Temp.Fahrenheit(), l.Left),
		Next: "Cool it, dry it or haul it out. Never go in to look.",
	}
	if l.Spent.Spoiled() {
		f.Severity = problem.Error
		f.Say = fmt.Sprintf("Bin %s: %s, at %s %%, has used up its storage life: %.0f %%.", l.Bin, l.Ticket, l.Moist, 100*float64(l.Spent))
		f.Next = "Smell the air from the fan and haul it out from outside; never go into a bin whose grain may be out of condition."
	}
	return f, true
}
