package journal

import (
	"fmt"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
)

// A Load is one truckload as its ticket tells it. What the ticket does not say is nil or empty, never zero.
type Load struct {
	Ticket   string
	Outlet   string // ID of the outlet or own bin that took it
	Crop     crop.Kind
	CropYear int
	Contract string
	Truck    string
	Driver   string
	From     []Part
	Weights  Weights
	Moisture *trade.Percent
	Quality  farm.Quality
	In, Out  *time.Time
	Day      calendar.Day // the farm's harvest day
	Empty    bool         // an empty trip, recorded on purpose
	Note     string
	Typed    Typed
}

// Typed holds numbers as they were entered, unit and all, by the key of the number: "gross_lb": "78,420 lb".
type Typed map[string]string

// Weights as the scale printed them, in its own unit.
type Weights struct {
	Unit             Unit
	Gross, Tare, Net *int64
}

// A Unit of a scale.
type Unit string

// The units of scales.
const (
	Pounds    Unit = "lb"
	Kilograms Unit = "kg"
)

// A Part says that a share of the load came from a field. Shares are whole numbers in proportion: pounds,
// tanks, or 1 and 1 for half and half.
type Part struct {
	Field string
	Share int64
}

// Carried returns what the load weighs: the printed net, or else gross less tare. ok is false when neither is
// known, and when tare exceeds gross, for then nobody knows which of the two is wrong.
func (w Weights) Carried() (net int64, ok bool) {
	if w.Gross != nil && w.Tare != nil && *w.Tare > *w.Gross {
		return 0, false
	}
	if w.Net != nil {
		return *w.Net, *w.Net >= 0
	}
	if w.Gross == nil || w.Tare == nil {
		return 0, false
	}
	return *w.Gross - *w.Tare, true
}

// Apportion splits net over parts in proportion to their shares, by largest remainder, the earlier part first
// among equals, so that the parts add up to net exactly. Panics unless net ≤ 10⁹ and each share lies in 1 to 10⁹.
func Apportion(net int64, parts []Part) []int64 {
	out := make([]int64, len(parts))
	rest := make([]int64, len(parts))
	var whole, given int64
	for _, p := range parts {
		if p.Share < 1 || p.Share > maxWeight || net < 0 || net > maxWeight {
			panic("journal: share or weight out of range")
		}
		whole += p.Share
	}
	for i, p := range parts {
		out[i] = net * p.Share / whole
		rest[i] = net * p.Share % whole
		given += out[i]
	}
	for ; len(parts) > 0 && given < net; given++ {
		most := 0
		for i := range rest {
			if rest[i] > rest[most] {
				most = i
			}
		}
		out[most]++
		rest[most] = -1
	}
	return out
}

const maxParts = 20 // fields in one load; judgement

// LoadBody returns the body of l.
func LoadBody(l Load) []byte {
	b := builder{"outlet": l.Outlet, "harvest_day": l.Day.String(), "crop_year": int64(l.CropYear)}
	b.text("ticket", l.Ticket)
	b.text("crop", l.Crop.String())
	b.text("contract", l.Contract)
	b.text("truck", l.Truck)
	b.text("driver", l.Driver)
	b.text("note", l.Note)
	if len(l.From) > 0 {
		parts := make([]any, len(l.From))
		for i, p := range l.From {
			parts[i] = map[string]any{"field": p.Field, "share": p.Share}
		}
		b["from"] = parts
	}
	unit := "_" + string(l.Weights.Unit)
	set(b, "gross"+unit, l.Weights.Gross)
	set(b, "tare"+unit, l.Weights.Tare)
	set(b, "net"+unit, l.Weights.Net)
	set(b, "moist_hundredth_pct", l.Moisture)
	for _, f := range factors(&l.Quality) {
		set(b, f.key, *f.value)
	}
	b.instant("in_at", l.In)
	b.instant("out_at", l.Out)
	if l.Empty {
		b["empty_trip"] = true
	}
	b.typed(l.Typed)
	return b.body()
}

// ReadLoad returns the load in a body.
func ReadLoad(body []byte) (Load, error) {
	o, err := openBody(body)
	if err != nil {
		return Load{}, err
	}
	l := Load{
		Ticket: o.optText("ticket", maxTicket), Outlet: o.text("outlet", maxName), Crop: o.crop("crop"),
		CropYear: int(o.integer("crop_year", 1, 9999)), Contract: o.optText("contract", maxName),
		Truck: o.optText("truck", maxName), Driver: o.optText("driver", maxName), Note: o.optText("note", maxNote),
		From: o.parts("from"), Moisture: number[trade.Percent](o, "moist_hundredth_pct"),
		In: o.optInstant("in_at"), Out: o.optInstant("out_at"), Day: o.day("harvest_day"),
		Empty: o.truth("empty_trip"), Typed: o.typed(),
	}
	l.Weights.Unit = Pounds
	for _, key := range []string{"gross_kg", "tare_kg", "net_kg"} {
		if _, ok := o.m[key]; ok {
			l.Weights.Unit = Kilograms
		}
	}
	unit := "_" + string(l.Weights.Unit)
	l.Weights.Gross = number[int64](o, "gross"+unit)
	l.Weights.Tare = number[int64](o, "tare"+unit)
	l.Weights.Net = number[int64](o, "net"+unit)
	for _, f := range factors(&l.Quality) {
		*f.value = number[trade.Percent](o, f.key)
	}
	return l, o.close()
}

// A factor is one of the readings a ticket may carry beside moisture.
type factor struct {
	key   string // in the body
	label string // for people
	value **trade.Percent
	fence fence
}

func factors(q *farm.Quality) []factor {
	share := fence{0, 100_00, "0 to 100 %"}
	return []factor{
		{"test_weight_hundredth_lb_bu", "Test weight", &q.TestWeight, fence{20_00, 80_00, "20 to 80 lb/bu"}},
		{"foreign_material_hundredth_pct", "Foreign material", &q.ForeignMaterial, share},
		{"damage_hundredth_pct", "Damage", &q.Damage, share},
		{"heat_hundredth_pct", "Heat damage", &q.Heat, share},
		{"splits_hundredth_pct", "Splits", &q.Splits, share},
		{"bcfm_hundredth_pct", "Broken corn and foreign material", &q.BCFM, share},
		{"dockage_hundredth_pct", "Dockage", &q.Dockage, share},
		{"protein_hundredth_pct", "Protein", &q.Protein, fence{0, 40_00, "0 to 40 %"}},
	}
}

func (o *object) crop(key string) crop.Kind {
	s := o.text(key, maxName)
	k, ok := crop.Parse(s)
	if !ok && s != "" {
		o.wrong(key, s, fmt.Sprintf("one of %v", crop.Kinds()))
	}
	return k
}

func (o *object) parts(key string) []Part {
	v, ok := o.get(key)
	if !ok {
		return nil
	}
	list, isList := v.([]any)
	if !isList || len(list) == 0 || len(list) > maxParts {
		o.wrong(key, show(v), fmt.Sprintf("a list of 1 to %d fields with their shares", maxParts))
		return nil
	}
	var parts []Part
	for i, x := range list {
		m, _ := x.(map[string]any)
		in := &object{m: m, path: fmt.Sprintf("%s%s %d.", o.path, key, i+1), errs: o.errs}
		p := Part{in.text("field", maxName), in.integer("share", 1, maxWeight)}
		_ = in.close() // its errors are o's too, and o closes later
		for _, before := range parts {
			if before.Field == p.Field {
				o.wrong(key, p.Field, "each field once")
			}
		}
		parts = append(parts, p)
	}
	return parts
}

func (b builder) typed(t Typed) {
	if len(t) == 0 {
		return
	}
	m := map[string]any{}
	for k, s := range t {
		m[k] = s
	}
	b["typed"] = m
}

func (o *object) typed() Typed {
	if _, ok := o.m["typed"]; !ok {
		return nil
	}
	in := o.inside("typed")
	t := Typed{}
	for k := range in.m {
		t[k] = in.optText(k, maxName)
	}
	return t
}
