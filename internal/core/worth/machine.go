package worth

import (
	"fmt"
	"slices"

	"threshday/internal/core/calendar"
	"threshday/internal/core/capacity"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/moisture"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// A fleet is the trucks taken together: one payload, one round, and how many are on the road.
type fleet struct {
	trucks  float64
	payload trade.Pounds // mean load
	tare    trade.Pounds
	trip    capacity.Trip
	rate    capacity.HaulRate
}

// assumedEfficiency is the share of field time a combine cuts, of 0.65 to 0.80. [asabe-d497-memory]
const assumedEfficiency = 0.70

// assumedMoveMiles is the road between two fields whose places are not known. [judgement]
const assumedMoveMiles = 3

// theFleet sums the trucks up.
func (b *builder) theFleet() error {
	b.fleet.trip = capacity.DefaultTrip()
	b.fleet.rate = capacity.DefaultHaulRate()
	var pounds, tare, mile, hour, loaded, empty float64
	for _, t := range b.in.Season.Trucks {
		if t.Gross == nil || t.Tare == nil {
			return &problem.InputError{
				Rule: "truck.weights", Label: fmt.Sprintf("truck %q gross and tare", t.ID), Want: "the gross weight you allow and the empty weight, like \"80000lb\" and \"26500lb\"",
				Next: "The load is the difference; your state's rules decide what is legal.",
			}
		}
		n := float64(t.Count)
		b.fleet.trucks += n
		pounds += n * (t.Gross.Pounds() - t.Tare.Pounds())
		tare += n * t.Tare.Pounds()
		mile += n * b.given(t.PerMile, fmt.Sprintf("%s: cost per mile", t.Name), b.fleet.rate.USDPerMile)
		hour += n * b.given(t.PerHour, fmt.Sprintf("%s: cost per hour", t.Name), b.fleet.rate.USDPerHour)
		loaded += n * orElse(t.LoadedMPH, b.fleet.trip.Loaded.MilesPerHour())
		empty += n * orElse(t.EmptyMPH, b.fleet.trip.Empty.MilesPerHour())
	}
	n := b.fleet.trucks
	if n == 0 {
		return &problem.InputError{Rule: "truck.none", Label: "trucks", Want: "at least one [[truck]] with count, gross and tare", Next: "Without a truck nothing leaves the field."}
	}
	b.fleet.payload = trade.Pounds(pounds / n)
	b.fleet.tare = trade.Pounds(tare / n)
	b.fleet.rate = capacity.HaulRate{USDPerMile: mile / n, USDPerHour: hour / n}
	b.fleet.trip.Loaded = units.Speed(loaded/n) * units.MilePerHour
	b.fleet.trip.Empty = units.Speed(empty/n) * units.MilePerHour
	if len(b.in.Season.Carts) == 0 {
		b.fleet.trip.LoadMin = 25 // the combine fills the truck at the field's edge. [judgement]
	}
	b.assume("Time to load a truck", fmt.Sprintf("%.0f min", b.fleet.trip.LoadMin), "judgement")
	return nil
}

func (b *builder) given(p *trade.Price, what string, otherwise float64) float64 {
	if p != nil {
		return p.Float()
	}
	b.assume(what, fmt.Sprintf("$%.2f", otherwise), "published trucking cost, without and with the driver")
	return otherwise
}

func orElse(given *float64, otherwise float64) float64 {
	if given != nil {
		return *given
	}
	return otherwise
}

// combines fills the table's machines: where each can work, how fast, and when.
func (b *builder) combines() error {
	if len(b.in.Season.Combines) == 0 {
		return &problem.InputError{Rule: "combine.none", Label: "combines", Want: "at least one [[combine]] with a head for each crop", Next: "Without a combine there is nothing to plan."}
	}
	end := b.in.Season.Prefer.SeasonEnd // zero: the table ends the season
	for i := range b.in.Season.Combines {
		c := &b.in.Season.Combines[i]
		row := CombineRow{ID: c.ID, StartIn: slices.IndexFunc(b.in.Season.Fields, func(f farm.Field) bool { return f.ID == c.StartsIn })}
		row.Runs = b.out.Span.Within(b.in.Season.Prefer.WorkFrom, b.in.Season.Prefer.WorkUntil, func(d calendar.Day) bool {
			return !slices.Contains(b.in.Season.Prefer.DaysOff, d.Weekday()) && (end.IsZero() || !d.After(end)) &&
				(c.OutUntil == nil || !d.Before(*c.OutUntil))
		})
		for f := range b.in.Season.Fields {
			row.Rate = append(row.Rate, b.acresPerHour(c, f))
		}
		b.out.Table.Combines = append(b.out.Table.Combines, row)
		b.out.Table.MoveHours = append(b.out.Table.MoveHours, b.moves())
	}
	for h := range b.runs {
		for _, c := range b.out.Table.Combines {
			b.runs[h] = b.runs[h] || c.Runs[h]
		}
	}
	return nil
}

// acresPerHour returns what combine c does in field f; 0 where it has no head for the crop or cannot get in.
func (b *builder) acresPerHour(c *farm.Combine, f int) float64 {
	field := &b.in.Season.Fields[f]
	if why := noWayIn(c, field); why != "" {
		b.out.Fields[f].NoWay = append(b.out.Fields[f].NoWay, why)
		return 0
	}
	for _, h := range c.Heads {
		if !slices.Contains(h.Crops, field.Crop) {
			continue
		}
		efficiency := assumedEfficiency
		if c.Efficiency != nil {
			efficiency = *c.Efficiency
		} else {
			b.assume(c.Name+": field efficiency", fmt.Sprintf("%.2f", efficiency), "common figure of the machinery standard, 0.65 to 0.80")
		}
		ceiling := orElse(h.Ceiling, 0)
		if usual, known := capacity.ClassOfTank(c.TankBu).CeilingBuPerHour(field.Crop); known && h.Ceiling == nil {
			ceiling = usual
			b.assume(fmt.Sprintf("%s: most it threshes in %s", c.Name, field.Crop), fmt.Sprintf("%.0f bu/h", ceiling), "judgement, by the size of its tank")
		}
		return capacity.Work{
			Pass:      capacity.Pass{Speed: h.Speed, Width: h.Width, Efficiency: efficiency},
			BuPerAcre: field.Yield.BuPerAcre, CeilingBuPerHour: ceiling,
		}.Rate().AcresPerHour
	}
	return 0
}

// noWayIn says why a combine cannot get into a field, comparing what the owner entered; empty: nothing stands against it, which
// is not the same as safe.
func noWayIn(c *farm.Combine, f *farm.Field) string {
	if len(f.Entrances) == 0 {
		return ""
	}
	why := ""
	for _, e := range f.Entrances {
		switch {
		case e.Width != nil && c.Width != nil && *e.Width < *c.Width:
			why = fmt.Sprintf("%s is %.0f ft wide, %s %.0f ft", e.Name, e.Width.Feet(), c.Name, c.Width.Feet())
		case e.Height != nil && c.Height != nil && *e.Height < *c.Height:
			why = fmt.Sprintf("%s is %.0f ft high, %s %.0f ft", e.Name, e.Height.Feet(), c.Name, c.Height.Feet())
		case e.Limit != nil && c.Weight != nil && *e.Limit < *c.Weight:
			why = fmt.Sprintf("%s is posted for %.0f lb, %s weighs %.0f lb", e.Name, e.Limit.Pounds(), c.Name, c.Weight.Pounds())
		default:
			return ""
		}
	}
	return why
}

// moves returns the hours lost between fields, the last row from the yard. Another crop means another head.
func (b *builder) moves() [][]float64 {
	fields := b.in.Season.Fields
	out := make([][]float64, len(fields)+1)
	road := capacity.MoveMin(assumedMoveMiles*units.Mile) / 60
	for i := range out {
		out[i] = make([]float64, len(fields))
		for j := range fields {
			switch {
			case i == j:
				continue
			case i < len(fields) && fields[i].MovesTo != nil && fields[i].MovesTo[fields[j].ID] > 0:
				out[i][j] = fields[i].MovesTo[fields[j].ID] / 60
			default:
				out[i][j] = road
			}
			if i < len(fields) && fields[i].Crop != fields[j].Crop {
				out[i][j] += headChangeHours
			}
		}
	}
	return out
}

// headChangeHours is what another crop costs on top of the road: head, concaves, settings, 90 minutes in all. [judgement]
const headChangeHours = 0.9

// dryPounds returns the dry matter of the mature crop, lb/acre.
func (b *builder) dryPounds(f *farm.Field) (float64, error) {
	if f.Yield.BuPerAcre <= 0 || f.Yield.Base <= 0 {
		return 0, &problem.InputError{Rule: "field.yield", Label: fmt.Sprintf("field %q yield", f.ID), Want: "expected yield and the moisture it is counted at, like yield = \"55bu/ac\" and base = \"13%\""}
	}
	return f.Yield.BuPerAcre * lbPerBu(f.Crop) * moisture.WetBasis(f.Yield.Base.Float()).DryMatter(), nil
}

// lbPerBu returns pounds in the unit the crop is counted in: the trade bushel, or the hundredweight.
func lbPerBu(k crop.Kind) float64 {
	if lb, ok := crop.BushelPounds(k); ok {
		return lb.Float()
	}
	return 100
}
