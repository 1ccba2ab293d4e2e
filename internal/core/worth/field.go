package worth

import (
	"crypto/sha256"
	"fmt"
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/farm"
	"threshday/internal/core/loss"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
)

// The purposes of worth's draws; its own lie in 300 to 399.
const (
	yieldDraw    weather.Purpose = 300 + iota // a field's crop against what is expected
	lossDraw                                  // a field's share of the loss factor
	lossCropDraw                              // what the fields of a crop share of it
	groundDraw                                // the wettest ground that bears in a field
)

// drawDay stands for the day in draws that do not change with it.
var drawDay = calendar.Day{Year: 1970, Month: 1, Date: 1}

// longestLook is how far back a field's drying is followed, in days: no crop stands ripe longer. [judgement]
const longestLook = 90

// rootOf returns the root of the draws of one field.
func rootOf(root [32]byte, id string) [32]byte {
	return sha256.Sum256(append(root[:], id...))
}

// maturity finds when the median plant of f matures, by the best evidence there is.
func (b *builder) maturity(f *farm.Field) (*drydown.Ripening, []string, error) {
	var m drydown.Maturity
	var err error
	switch {
	case f.Mature != nil:
		m = drydown.OwnerMaturity(*f.Mature, f.MatureSDDays)
	case f.Planted != nil && f.RelativeMaturity != nil && f.Crop == crop.Corn:
		m, err = drydown.DefaultCornHeat().BlackLayer(*f.Planted, *f.RelativeMaturity, b.dayRanges(*f.Planted))
	case f.Planted != nil && f.RelativeMaturity != nil && f.Crop == crop.Soybean:
		m, err = drydown.DefaultSoybeanDates().R7(*f.Planted, *f.RelativeMaturity, b.anchors())
	case b.hasReading(f.ID):
		return nil, []string{"No maturity date is known; the field starts from its readings."}, nil
	default:
		return nil, nil, &problem.InputError{
			Rule: "field.maturity", Label: fmt.Sprintf("field %q maturity", f.ID),
			Want: "a date `mature`, or `planted` with `relative_maturity` (corn, soybean), or a moisture reading",
			Next: "Add one of them: without it nobody knows how far the crop is.",
		}
	}
	if err != nil {
		return nil, nil, err
	}
	return &drydown.Ripening{Hour: m.Hour(b.in.Zone), SDDays: m.SDDays}, m.How, nil
}

func (b *builder) hasReading(field string) bool {
	return slices.ContainsFunc(b.in.Season.Readings, func(r farm.Reading) bool { return r.Field == field })
}

func (b *builder) anchors() []drydown.SoybeanAnchor {
	var out []drydown.SoybeanAnchor
	for _, a := range b.in.Season.Anchors {
		if a.Crop == crop.Soybean {
			out = append(out, drydown.SoybeanAnchor{RelativeMaturity: a.RelativeMaturity, Planted: a.Planted, Mature: a.Mature})
		}
	}
	return out
}

// dayRanges returns the high and low of every day from first on: recorded as far as the record goes, then the mean of
// the members.
func (b *builder) dayRanges(first calendar.Day) []drydown.DayRange {
	var out []drydown.DayRange
	e := b.in.Ensemble
	for day := first; ; day = day.AddDays(1) {
		from, end := day.Hours(b.in.Zone)
		if end > e.End() {
			return out
		}
		if end <= b.in.Now && b.in.Record != nil {
			air := b.in.Record.Summary(from, end)
			if !air.Known {
				return out
			}
			out = append(out, drydown.DayRange{Day: day, High: units.Celsius(air.High), Low: units.Celsius(air.Low), From: weather.Observed})
			continue
		}
		if from < e.Start {
			from = e.Start
		}
		var high, low float64
		for m := range e.Members {
			air := e.Summary(m, int(from-e.Start), int(end-e.Start))
			high += air.High / float64(e.Members)
			low += air.Low / float64(e.Members)
		}
		out = append(out, drydown.DayRange{Day: day, High: units.Celsius(high), Low: units.Celsius(low), From: weather.Forecast})
	}
}

// evidence returns what was read and seen in the field, in the model's terms.
func (b *builder) evidence(id string) (readings []drydown.Reading, seen []drydown.Sighting, err error) {
	for _, r := range b.in.Season.Readings {
		if r.Field != id {
			continue
		}
		device, ok := drydown.ParseDevice(r.Device)
		zone, zoneOK := drydown.ParseZone(r.Zone)
		if !ok || !zoneOK {
			return nil, nil, &problem.InputError{
				Rule: "reading.device", Label: fmt.Sprintf("reading %q", r.ID), Got: r.Device + " " + r.Zone,
				Want: "device meter, bite, combine or ticket; zone whole, low, knob or load",
			}
		}
		at := calendar.HourOf(r.At.Add(30 * time.Minute))
		if calendar.HourOf(r.At) <= b.in.Now {
			at = min(at, b.in.Now) // what was read within this hour counts from now on, not only from the next
		}
		readings = append(readings, drydown.Reading{
			ID: r.ID, At: at, WB: r.Moisture.Float(), Device: device, Name: r.Name, Spots: r.Spots, Zone: zone, Load: r.Load,
		})
	}
	for _, s := range b.in.Season.Stages {
		if s.Field == id {
			from, _ := s.On.Hours(b.in.Zone)
			zone, _ := drydown.ParseZone(s.Zone) // the reader of the season knows the zones
			seen = append(seen, drydown.Sighting{ID: s.ID, At: from + 12, Stage: drydown.Stage(s.Stage), Pct: s.Pct, Zone: zone})
		}
	}
	return readings, seen, nil
}

// A crop's weather, worked out once for all its fields.
type cropWeather struct {
	params drydown.Params
	past   *drydown.Drivers // one member, from the earliest ripening to now; nil: not recorded
	ahead  *drydown.Drivers
}

// beliefs works out from all readings and sightings what is believed of every field.
func (b *builder) beliefs(weathers map[crop.Kind]*cropWeather) ([]*drydown.Posterior, error) {
	var cases []drydown.Case
	for i := range b.in.Season.Fields {
		c, err := b.caseOf(i, weathers[b.in.Season.Fields[i].Crop])
		if err != nil {
			return nil, err
		}
		cases = append(cases, c)
	}
	season, err := drydown.AssimilateAll(cases)
	if err != nil {
		return nil, err
	}
	for i := range cases {
		b.out.Fields[i].Lessons, b.out.Fields[i].Case = season.Lessons[i], cases[i]
	}
	b.out.Gauges = season.Gauges
	return season.Posteriors, nil
}

// caseOf gathers what is known of field i.
func (b *builder) caseOf(i int, w *cropWeather) (drydown.Case, error) {
	f := &b.in.Season.Fields[i]
	facts := &b.out.Fields[i]
	none := drydown.Case{}
	even, ok := drydown.ParseEvenness(f.Evenness)
	if !ok {
		return none, &problem.InputError{Rule: "field.evenness", Label: fmt.Sprintf("field %q evenness", f.ID), Got: f.Evenness, Want: "even, some or uneven"}
	}
	field := drydown.NewField(w.params, even)
	if f.ImmaturePct != nil {
		field.SetImmature(*f.ImmaturePct / 100)
	}
	ripe, how, err := b.maturity(f)
	if err != nil {
		return none, err
	}
	facts.Maturity = how
	readings, seen, err := b.evidence(f.ID)
	if err != nil {
		return none, err
	}
	c := drydown.Case{Field: field, Ripe: ripe, Record: w.past, Now: b.in.Now, Readings: readings, Sightings: seen, Variety: f.Variety}
	if f.LodgedPct != nil {
		c.LodgedPct = *f.LodgedPct
	}
	return c, nil
}

// standing fills field i's part of the table from what is believed of it.
func (b *builder) standing(i int, w *cropWeather, soil *soil, post *drydown.Posterior) error {
	f := &b.in.Season.Fields[i]
	facts := &b.out.Fields[i]
	field := facts.Case.Field
	facts.Belief = post
	root := rootOf(b.in.Root, f.ID)
	states := post.States(root, b.in.Ensemble.Members)
	if post.At < b.in.Now {
		b.assume(f.Name+": moisture now", fmt.Sprintf("as on %s", post.At.Start().In(b.in.Zone).Format("Mon 2 Jan 15:04")), "nobody recorded the weather since")
		for m := range states {
			states[m].At = b.in.Now
		}
	}
	track := drydown.NewTrack(b.in.Now, b.out.Table.Hours, b.in.Ensemble.Members)
	track.Closed = b.soft(i, soil, root)
	track.Strata = make([]float32, b.out.Table.Hours*b.in.Ensemble.Members*field.Strata())
	facts.Look = func(hours int, limits []float64) *drydown.Track {
		again := drydown.NewTrack(b.in.Now, hours, b.in.Ensemble.Members)
		again.Limits, again.Closed = limits, shortened(track, hours)
		for range limits {
			again.Over = append(again.Over, make([]float32, hours*b.in.Ensemble.Members))
		}
		field.RunAll(w.ahead, slices.Clone(states), b.in.Now+calendar.Hour(hours), again)
		return again
	}
	field.RunAll(w.ahead, slices.Clone(states), b.in.Now+calendar.Hour(b.out.Table.Hours), track)

	s, err := b.crop(f, root)
	if err != nil {
		return err
	}
	s.Before = b.past(field, post, w, s.Rules)
	now := post.State()
	facts.Green = field.GreenShare(&now)
	for _, t := range s.Before {
		facts.Wettings += float64(t.Wettings()) / float64(len(s.Before))
	}
	rain := func(m int, h calendar.Hour) float64 {
		return float64(b.in.Ensemble.Row(weather.RainMM, m)[h-b.in.Ensemble.Start])
	}
	b.out.Table.Stand(i, *s, track, rain, w.ahead.Free, b.runs)
	b.describe(i, track)
	b.describeGround(i, track, s.LimitPct)
	return nil
}

// shortened returns what closes the first hours of a track, in the layout of one of that many hours.
func shortened(t *drydown.Track, hours int) []bool {
	out := make([]bool, 0, hours*t.Members)
	for m := range t.Members {
		out = append(out, t.Closed[m*t.Hours:m*t.Hours+hours]...)
	}
	return out
}

// past follows the strata from maturity to now through the recorded weather and returns what each has lived through.
func (b *builder) past(field *drydown.Field, post *drydown.Posterior, w *cropWeather, rules loss.Rules) []loss.Tracker {
	now := post.State()
	out := make([]loss.Tracker, field.Strata())
	ripe, known := post.Ripe()
	if w.past == nil || !known {
		for i := range out {
			if now.Stratum(i) <= rules.RipePct {
				out[i] = loss.Since(0, 0, 0, now.Stratum(i))
			}
		}
		return out
	}
	middle, _ := post.Chances()
	middle.ShiftDays, middle.LevelWB = 0, 0 // the ripening found has the shift in it; the level speaks of now alone
	from := max(w.past.Start, field.FirstRipe(ripe.Hour))
	if from >= b.in.Now {
		return out
	}
	s := field.Start(from, ripe.Hour, middle)
	track := drydown.NewTrack(from, int(b.in.Now-from), 1)
	track.Strata = make([]float32, track.Hours*field.Strata())
	field.Run(w.past, 0, &s, b.in.Now, track)
	for h := range track.Hours {
		cell := from + calendar.Hour(h)
		rain, _ := b.in.Record.At(weather.RainMM, cell)
		hour := loss.Hour{RainMM: rain, FreeMM: w.past.Free(0, cell), NewDay: cell.Start().In(b.in.Zone).Hour() == 0}
		for i := range out {
			hour.MoisturePct = float64(track.Strata[h*field.Strata()+i])
			out[i].Step(&rules, hour)
		}
	}
	for i, t := range out {
		switch {
		case t.Ripe():
			out[i] = loss.Since(t.DaysRipe(), t.Cycles(), t.Wettings(), now.Stratum(i))
		case now.Stratum(i) <= rules.RipePct:
			out[i] = loss.Since(0, 0, 0, now.Stratum(i))
		}
	}
	return out
}

// AssumedYieldSDPct is the spread of an estimate that came without one, percent. [judgement]
func AssumedYieldSDPct(k crop.Kind) float64 {
	switch k {
	case crop.Soybean, crop.Sorghum, crop.Canola, crop.Sunflower:
		return 15
	default:
		return 12
	}
}

// crop gathers what field f brings besides moisture: loss model, limit, and its draws by member.
func (b *builder) crop(f *farm.Field, root [32]byte) (*Standing, error) {
	model, ok := loss.Default(f.Crop)
	if !ok {
		return nil, noModel(f)
	}
	limit, err := b.limit(f)
	if err != nil {
		return nil, err
	}
	s := &Standing{Model: model, Rules: loss.DefaultRules(model.RipeAtPct()), LimitPct: limit.Float()}
	if f.LodgedPct != nil {
		s.Lodged = *f.LodgedPct
	}
	if f.GreenPct != nil {
		s.Green = *f.GreenPct
	}
	sd := AssumedYieldSDPct(f.Crop)
	if f.Yield.SDPct != nil {
		sd = *f.Yield.SDPct
	}
	sd /= 100
	spread := loss.DefaultSpread()
	if k, ok := b.in.Season.Prefer.LossFactors[f.Crop]; ok {
		spread.Median = k
	}
	cropRoot := rootOf(b.in.Root, "crop "+f.Crop.String())
	for m := range b.in.Ensemble.Members {
		yield := weather.NewStream(root, m, drawDay, yieldDraw)
		own := weather.NewStream(root, m, drawDay, lossDraw)
		shared := weather.NewStream(cropRoot, m, drawDay, lossCropDraw)
		s.Yield = append(s.Yield, math.Exp(sd*yield.Normal()-sd*sd/2))
		s.Factor = append(s.Factor, spread.Factor(shared.Normal(), own.Normal()))
	}
	return s, nil
}

func noModel(f *farm.Field) error {
	return &problem.InputError{
		Rule: "field.crop", Label: fmt.Sprintf("field %q crop", f.ID), Got: f.Crop.String(),
		Want: "soybean, corn, wheat, sorghum, canola or sunflower", Next: "Barley and oats can be priced and settled, not planned: nobody published how they dry and what they lose.",
	}
}

func (b *builder) limit(f *farm.Field) (trade.Percent, error) {
	if f.Limit != nil {
		return *f.Limit, nil
	}
	if l, ok := b.in.Season.Prefer.Limits[f.Crop]; ok {
		return l, nil
	}
	return 0, &problem.InputError{
		Rule: "prefer.limit", Label: fmt.Sprintf("the wettest %s you cut", f.Crop),
		Want: fmt.Sprintf("`limits = { %s = \"…%%\" }` under [prefer], or `limit` in field %q", f.Crop, f.ID),
		Next: "It is your machine and your bin: nobody else can say it.",
	}
}
