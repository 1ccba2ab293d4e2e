package ledger

import (
	"threshday/internal/core/crop"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// A Yield is what has come off a field, at the moisture its crop is marketed at.
type Yield struct {
	Field   string
	Crop    crop.Kind
	Base    trade.Percent
	Loads   int
	Net     trade.Pounds // by the scale
	Dry     int64        // dry matter of the loads whose moisture is known
	Unread  int          // loads without a moisture: weighed and not in the bushels
	Bushels trade.Bushels
	Acres   float64 // cut; all of the field's where nobody says how many are cut. 0: not known
	Whole   bool    // Acres are all of the field's
	PerAcre trade.Bushels
}

// Yields returns every field that has loads. Bushels are dry matter at the field's base moisture, or at the crop's usual one; a
// truckload from several fields is divided by its parts. The sums of fields that still stand are yields so far.
func (b *Book) Yields() []Yield {
	all := make([]Yield, len(b.Fields))
	last := make([]int32, len(all))
	for i := range last {
		last[i] = none
	}
	for _, l := range b.Harvest {
		if l.Field == none {
			continue
		}
		y := &all[l.Field]
		y.Net += l.Net
		y.Dry += l.Dry
		if last[l.Field] != l.Ticket {
			last[l.Field] = l.Ticket
			y.Loads++
			if _, read := b.Loads[l.Ticket].Ticket.moisture(); !read {
				y.Unread++
			}
		}
	}
	var out []Yield
	for i, f := range b.index.fields {
		y := all[i]
		if y.Loads == 0 {
			continue
		}
		y.Field, y.Crop, y.Base = f.ID, f.Crop, baseOf(f.Yield.Base, f.Crop)
		y.Bushels, _ = bushelsAt(f.Crop, y.Base, y.Dry)
		if y.Acres = f.CutAcres; y.Acres <= 0 {
			y.Acres, y.Whole = f.Acres, true
		}
		if y.Acres > 0 {
			y.PerAcre = trade.Bushels(y.Bushels.Float()/y.Acres*100+0.5) * 10
		}
		out = append(out, y)
	}
	return out
}

func baseOf(given trade.Percent, k crop.Kind) trade.Percent {
	if given > 0 {
		return given
	}
	if usual := crop.UsualBases(k); len(usual) > 0 {
		return usual[0].Moisture
	}
	return 0
}

// Quantities are the three measures of one load, which are never taken for one another.
type Quantities struct {
	Settled trade.Bushels // net, the buyer's; 0 where it is not settled
	Insured trade.Bushels // production to count after moisture; before quality, which the adjuster works out
	Dry     trade.Bushels // dry matter at the crop's usual market moisture
}

// Quantities returns the measures of load i.
func (b *Book) Quantities(i int) Quantities {
	p := &b.Loads[i]
	q := Quantities{Settled: p.Totals.NetQty}
	var dry int64
	for _, l := range b.Harvest[p.Harvest.First:p.Harvest.End] {
		q.Insured += l.Insured
		dry += l.Dry
	}
	q.Dry, _ = bushelsAt(p.Ticket.Load.Crop, baseOf(0, p.Ticket.Load.Crop), dry)
	return q
}

// A Record is production of one field and one party, as an adjuster asks for it: by unit and share, never commingled.
type Record struct {
	Field, Party string
	Share        trade.Fraction
	Crop         crop.Kind
	Loads        int
	Commingled   int // of the loads: shared a truck with another field and were parted by cart weights
	Net          trade.Pounds
	ToBuyers     trade.Pounds
	ToBins       trade.Pounds
	Insured      trade.Bushels // after moisture, before quality
	Base         trade.Percent // from where moisture is taken off
	Recalled     bool          // the base is from memory: the crop provisions decide
	Unread       int           // loads without a moisture, which are not in Insured
	Acres        float64       // of the field; insured acres may differ
}

// Records returns production by field and party. What may be counted, and how, is the policy's to say and the adjuster's to decide.
func (b *Book) Records() []Record {
	type key struct{ field, party int32 }
	at := map[key]*Record{}
	for _, l := range b.Harvest {
		if l.Field == none {
			continue
		}
		load := &b.Loads[l.Ticket]
		r := at[key{l.Field, l.Party}]
		if r == nil {
			r = &Record{}
			at[key{l.Field, l.Party}] = r
		}
		r.Loads++
		if len(load.Ticket.From) > 1 {
			r.Commingled++
		}
		r.Net += l.Net
		if _, own := b.index.bin[load.Ticket.Place]; own {
			r.ToBins += l.Net
		} else {
			r.ToBuyers += l.Net
		}
		r.Insured += l.Insured
		if _, read := load.Ticket.moisture(); !read {
			r.Unread++
		}
	}
	var out []Record
	for i, f := range b.index.fields {
		for _, o := range b.index.owners[i] {
			r := at[key{int32(i), o.party}] //nolint:gosec // few fields
			if r == nil {
				continue
			}
			r.Field, r.Party, r.Share, r.Crop, r.Acres = f.ID, b.Parties[o.party], o.part, f.Crop, f.Acres
			if adjust, err := settlement.Insured(f.Crop, 10_00); err == nil {
				base, _ := adjust.Base.Units(2)
				r.Base, r.Recalled = trade.Percent(base), adjust.Recalled
			}
			out = append(out, *r)
		}
	}
	return out
}
