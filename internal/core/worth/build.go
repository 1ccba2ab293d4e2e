package worth

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"threshday/internal/core/calendar"
	"threshday/internal/core/capacity"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/farm"
	"threshday/internal/core/land"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/weather"
)

// A builder holds a table while it is made.
type builder struct {
	in    Inputs
	out   *Build
	fleet fleet
	runs  []bool // per hour: any combine may run
	said  map[string]bool
	mu    sync.Mutex // guards assumed values
}

// loadSDPct is how much truckloads of one field differ around its mean, points wet basis: what samples of a few pounds from
// different spots differ by in an even field, dry enough to cut. [judgement]
func loadSDPct(k crop.Kind) float64 {
	if k == crop.Soybean {
		return 1.0
	}
	return 0.6
}

// New builds the table of a season. The error is a *problem.InputError that says what is missing or cannot be.
func New(in Inputs) (*Build, error) {
	if len(in.Season.Fields) == 0 {
		return nil, &problem.InputError{Rule: "field.none", Label: "fields", Want: "at least one [[field]]", Next: "Start with one field: name, crop, acres, yield."}
	}
	span := Span{Start: in.Now, Hours: in.Ensemble.Hours, Zone: in.Zone}
	t := &Table{
		Start: in.Now, Hours: span.Hours, Members: in.Ensemble.Members, Day: span.Days(), Source: in.Ensemble.Source,
	}
	b := &builder{in: in, out: &Build{Table: t, Span: span, Fields: make([]FieldFacts, len(in.Season.Fields))}, runs: make([]bool, span.Hours), said: map[string]bool{}}
	cells := t.Members * t.Hours * len(in.Season.Fields)
	t.Workable, t.Wet = make([]bool, cells), make([]bool, cells)
	t.Moisture, t.Keep = make([]uint16, cells), make([]float32, cells)
	t.Crop = make([]float32, t.Members*len(in.Season.Fields))
	for i := range in.Season.Fields {
		b.out.Fields[i].Field = &in.Season.Fields[i]
	}
	if err := b.theFleet(); err != nil {
		return nil, err
	}
	if err := b.fieldRows(); err != nil {
		return nil, err
	}
	if err := b.combines(); err != nil {
		return nil, err
	}
	if err := b.prices(); err != nil {
		return nil, err
	}
	if err := b.crops(); err != nil {
		return nil, err
	}
	b.out.payload = b.fleet.payload
	b.out.from = b
	return b.out, nil
}

// PayloadBu returns the mean truckload in trade bushels of a crop.
func (b *Build) PayloadBu(k crop.Kind) float64 { return b.payload.Float() / lbPerBu(k) }

// assume records a value the owner did not give, once.
func (b *builder) assume(what, value, from string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if key := what + "\x00" + value; !b.said[key] {
		b.said[key] = true
		b.out.Assumed = append(b.out.Assumed, Assumed{what, value, from})
	}
}

func (b *builder) fieldRows() error {
	p := &b.in.Season.Prefer
	cost := 0.0
	if p.CombineUSD != nil {
		cost = p.CombineUSD.Float()
	} else {
		b.assume("Running cost of a combine", "$0 an hour", "not given; waiting then looks a little cheaper than it is")
	}
	for i := range b.in.Season.Fields {
		f := &b.in.Season.Fields[i]
		dry, err := b.dryPounds(f)
		if err != nil {
			return err
		}
		limit, err := b.limit(f)
		if err != nil {
			return err
		}
		acres, err := b.acres(f)
		if err != nil {
			return err
		}
		row := FieldRow{ID: f.ID, Acres: max(0, acres-f.CutAcres), LimitPct: limit.Float(), BuPerAcre: f.Yield.BuPerAcre, Deadline: b.deadline(f)}
		for k := range b.in.Season.Combines {
			if rate := b.rateForCost(&b.in.Season.Combines[k], f); rate > 0 {
				row.CutCost = max(row.CutCost, cost/rate)
			}
		}
		if f.Yield.SDPct == nil {
			b.assume(f.Name+": spread of the yield", fmt.Sprintf("%.0f %%", AssumedYieldSDPct(f.Crop)), "judgement")
		}
		if f.Evenness == "" {
			b.assume(f.Name+": evenness", "some", "not given")
		}
		b.out.Table.Fields = append(b.out.Table.Fields, row)
		b.out.Table.Bushels = append(b.out.Table.Bushels, WetBushels(dry, lbPerBu(f.Crop)))
	}
	return nil
}

// acres returns the stated acres of a field, else those inside its boundary.
func (b *builder) acres(f *farm.Field) (float64, error) {
	if f.Acres > 0 {
		return f.Acres, nil
	}
	var p land.Polygon
	for _, ring := range f.Boundary {
		r := make(land.Ring, len(ring))
		for i, at := range ring {
			r[i] = land.Point{Lat: at.Lat, Lon: at.Lon}
		}
		p = append(p, r)
	}
	m, err := p.Measure()
	if err != nil {
		return 0, fmt.Errorf("field %q boundary: %w", f.ID, err)
	}
	b.assume(f.Name+": acres", fmt.Sprintf("%.1f", m.Area.Acres()), "measured inside the boundary; insured acres may differ")
	return m.Area.Acres(), nil
}

// rateForCost is a combine's rate without a look at the entrance, for its cost per acre.
func (b *builder) rateForCost(c *farm.Combine, f *farm.Field) float64 {
	for _, h := range c.Heads {
		if slices.Contains(h.Crops, f.Crop) {
			return capacity.Pass{Speed: h.Speed, Width: h.Width, Efficiency: orElse(c.Efficiency, assumedEfficiency)}.AcresPerHour()
		}
	}
	return 0
}

// deadline returns the last day of the nearest open contract for the field's crop, or of the season.
func (b *builder) deadline(f *farm.Field) int {
	first := b.out.Span.DayOf(0)
	last := b.in.Season.Prefer.SeasonEnd
	if last.IsZero() {
		last = first.AddDays(b.out.Table.Days() - 1)
	}
	for _, c := range b.in.Season.Contracts {
		if c.Crop == f.Crop && c.Left() > 0 && c.Until.Before(last) && !c.Until.Before(first) {
			last = c.Until
		}
	}
	return min(last.DaysSince(first), b.out.Table.Days()-1)
}

// prices fills destinations and what an acre of each field brings there.
func (b *builder) prices() error {
	ways, err := b.ways()
	if err != nil {
		return err
	}
	t := b.out.Table
	for i := range ways {
		t.Destinations = append(t.Destinations, ways[i].row)
	}
	t.TruckHours, t.Carts = b.fleet.trucks, len(b.in.Season.Carts)
	t.Value = make([][]float32, len(t.Fields)*len(ways))
	for i := range b.in.Season.Fields {
		if err := b.fieldPrices(i, ways); err != nil {
			return err
		}
	}
	return nil
}

func (b *builder) fieldPrices(i int, ways []way) error {
	f := &b.in.Season.Fields[i]
	t := b.out.Table
	dry, err := b.dryPounds(f)
	if err != nil {
		return err
	}
	nothing := make([]float32, GridLen)
	for k := range nothing {
		nothing[k] = float32(math.NaN())
	}
	offers := make([]*Offer, len(ways))
	back := make([]float64, len(ways))
	sold := false
	t.Fields[i].TruckBu = make([]float64, len(ways))
	for d := range ways {
		w := &ways[d]
		if w.crop != f.Crop {
			continue
		}
		trip, err := b.trip(f, w)
		if err != nil {
			return err
		}
		if offers[d], err = b.offer(f, w, trip); err != nil {
			return err
		}
		cycle := trip.CycleMin()
		back[d] = b.fleet.rate.LoadUSD(trip.Distance, cycle) / b.fleet.payload.Float()
		t.Fields[i].TruckBu[d] = cycle / 60 / (b.fleet.payload.Float() / lbPerBu(f.Crop))
		sold = true
	}
	if !sold {
		return &problem.InputError{
			Rule: "field.no_outlet", Label: fmt.Sprintf("field %q: a place for %s", f.ID, f.Crop), Want: "at least one [[bid]], [[contract]] or [[bin]] for the crop",
			Next: "Enter one bid, even a guess you mark as such.",
		}
	}
	elsewhere := bestOf(offers)
	spread := Loads{SDPct: loadSDPct(f.Crop)}
	for d := range ways {
		cell := i*len(ways) + d
		if offers[d] == nil {
			t.Value[cell] = nothing
			continue
		}
		t.Value[cell] = Value(offers[d], offers[d].Refused(elsewhere, back[d]), dry, spread)
	}
	return nil
}

// bestOf returns the best of the offers at each moisture: where a load goes that was turned away.
func bestOf(offers []*Offer) *Offer {
	out := NewOffer(func(trade.Percent) (float64, bool) { return 0, false })
	for _, o := range offers {
		if o == nil {
			continue
		}
		for i, v := range o.USDPerLb {
			if v == v && (math.IsNaN(out.USDPerLb[i]) || v > out.USDPerLb[i]) {
				out.USDPerLb[i] = v
			}
		}
	}
	return out
}

// crops works out each crop's weather once and then every field on it, side by side.
func (b *builder) crops() error {
	soil, err := b.grounds()
	if err != nil {
		return err
	}
	weathers := map[crop.Kind]*cropWeather{}
	for i := range b.in.Season.Fields {
		f := &b.in.Season.Fields[i]
		if weathers[f.Crop] == nil {
			w, err := b.cropWeather(f)
			if err != nil {
				return err
			}
			weathers[f.Crop] = w
		}
	}
	posts, err := b.beliefs(weathers)
	if err != nil {
		return err
	}
	workers := max(1, b.in.Workers)
	errs := make([]error, len(b.in.Season.Fields))
	var wg sync.WaitGroup
	for w := range min(workers, len(errs)) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := w; i < len(errs); i += workers {
				errs[i] = b.standing(i, weathers[b.in.Season.Fields[i].Crop], soil, posts[i])
			}
		}()
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// cropWeather works out the weather of f's crop: what was recorded, and the members ahead.
func (b *builder) cropWeather(f *farm.Field) (*cropWeather, error) {
	class, _ := crop.ParseWheatClass(f.Class)
	params, ok := drydown.DefaultParams(f.Crop, class)
	if !ok {
		return nil, noModel(f)
	}
	w := &cropWeather{params: params}
	var film drydown.Film
	if from := b.recordedFrom(); from < b.in.Now {
		past, skyAssumed, err := drydown.FromRecord(params, b.in.Record, from, b.in.Now)
		if err != nil {
			return nil, err
		}
		if skyAssumed > 0 {
			b.assume("Cloud cover in hours nobody recorded", "half", "judgement")
		}
		w.past, film = past, past.EndFilm(0)
	} else {
		b.assume("Weather up to now", "not known", "no record reaches to this morning: fields start from their readings alone")
	}
	w.ahead = drydown.NewDrivers(params, b.in.Ensemble, film)
	return w, nil
}

// recordedFrom returns the first hour of the unbroken record that ends now, not longer ago than anybody looks; now
// where none does.
func (b *builder) recordedFrom() calendar.Hour {
	from := b.in.Now
	if b.in.Record == nil {
		return from
	}
	for from > b.in.Now-24*longestLook && b.recorded(from-1) {
		from--
	}
	return from
}

// recorded reports whether everything drying depends on was recorded in cell h; the cloud cover may be assumed.
func (b *builder) recorded(h calendar.Hour) bool {
	for _, v := range []weather.Var{weather.TempC, weather.DewC, weather.WindMS, weather.RainMM, weather.SolarWM2} {
		if _, ok := b.in.Record.At(v, h); !ok {
			return false
		}
	}
	return true
}
