package web

import (
	"encoding/json"
	"fmt"

	"threshday/internal/app"
	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// A takes is what a buyer takes for moisture, as the first steps ask for it.
type takes struct {
	base, per, discount trade.Percent
	cents               bool
	reject              trade.Percent
}

// schedules makes the buyer's posted schedule for every crop: what is taken for moisture, and nothing else. The bushels that a
// field is expected to bring are at the moisture from which something is taken.
func (b *beginner) schedules() {
	own := map[string]json.RawMessage{}
	shared := json.Unmarshal(b.in.Schedule, &own) != nil || own["moisture_base"] != nil || len(own) == 0
	done := map[crop.Kind]takes{}
	for i := range b.season.Fields {
		f := &b.season.Fields[i]
		if f.Crop == crop.Unknown {
			continue
		}
		t, ok := done[f.Crop]
		if !ok {
			at, text := "schedule", b.in.Schedule
			if !shared {
				at, text = "schedule."+f.Crop.String(), own[f.Crop.String()]
			}
			t = b.takes(at, text)
			done[f.Crop] = t
			b.post(f.Crop, t)
		}
		f.Yield.Base = t.base
	}
}

// takes reads what a buyer takes for moisture.
func (b *beginner) takes(at string, text json.RawMessage) takes {
	var t takes
	f := b.open(at, text)
	unit := "percent"
	base := must(f, "moisture_base", "", printed, &t.base)
	f.need(base, "moisture_base", "the moisture from which something is taken, as 13")
	per := must(f, "per", "", printed, &t.per)
	f.need(per, "per", "the points that one discount is for, as 0.5")
	f.need(must(f, "discount", "", printed, &t.discount), "discount", "what is taken each time, as 1.25")
	f.oneOf("unit", &unit, "percent", "cents")
	f.need(f.text("unit") != "", "unit", "percent of the price, or cents a bushel")
	reject := must(f, "reject", "", printed, &t.reject)
	f.need(reject, "reject", "the moisture over which a load is turned away, as 18")
	t.cents = unit == "cents"
	outside := func(key, want string, is bool) {
		if is {
			f.refuse(atBox(&problem.InputError{Rule: "schedule." + key, Label: labelOf(key), Got: f.text(key), Want: want}, key))
		}
	}
	outside("moisture_base", "5 to 40 %", base && (t.base < 5_00 || t.base > 40_00))
	outside("per", "more than 0, up to 5 points", per && (t.per < 1 || t.per > 5_00))
	outside("discount", "0 to 100", t.discount < 0 || t.discount > 100_00)
	outside("reject", "more than the base, up to 60 %", base && reject && (t.reject <= t.base || t.reject > 60_00))
	b.close(at, f)
	return t
}

// post writes the schedule of one crop as docs/reference/schedule.md describes it.
func (b *beginner) post(k crop.Kind, t takes) {
	lb, ok := crop.BushelPounds(k)
	if !ok {
		return
	}
	unit := "pct_price"
	if t.cents {
		unit = "cents_bu"
	}
	row := map[string]any{
		"seq": 10, "factor": "moisture", "kind": "price", "direction": "above", "from": t.base.String(), "to": t.reject.String(), "step": t.per.String(),
		"step_mode": "ceil", "unit": unit, "amount": t.discount.String(), "qty": "net_bu",
	}
	doc := map[string]any{
		"note": "Typed at the first steps: what is taken for moisture. The buyer's own posted schedule decides; copy the rest of it here.",
		"crop": k.String(), "lb_per_bu": fmt.Sprint(lb), "style": "net_price", "pct_base": "cash_no_premium", "bu_decimals": 2, "average": "load",
		"rows": []any{row, map[string]any{"seq": 20, "factor": "moisture", "kind": "reject", "direction": "above", "from": t.reject.String()}},
	}
	text, err := json.MarshalIndent(doc, "", " ")
	if err != nil {
		panic(err) // plain texts and numbers
	}
	b.posted = append(b.posted, app.NewFile{Outlet: 0, Crop: k, Text: append(text, '\n')})
}
