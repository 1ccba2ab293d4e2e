package worth

import (
	"math"
	"slices"

	"threshday/internal/core/calendar"
	"threshday/internal/core/drydown"
)

// describe sums up field i over the members, day by day, for the explanation.
func (b *builder) describe(i int, track *drydown.Track) {
	t := b.out.Table
	facts := &b.out.Fields[i]
	days := t.Days()
	now := make([]float64, t.Members)
	for m := range now {
		now[m] = float64(track.MeanWB[track.At(m, t.Start)])
	}
	facts.Now, facts.ByMember = spreadOf(now), now
	facts.LoadSDPct = loadSDPct(facts.Field.Crop)
	facts.Afternoon = b.afternoons(track)
	facts.Under, facts.Dry = make([]float64, days), make([]float64, days)
	facts.Opens, facts.Closes = make([]Spread, days), make([]Spread, days)
	facts.LossPct = make([]float64, days)
	opens, closes := make([][]float64, days), make([][]float64, days)
	lost := make([][]float64, days)
	for m := range t.Members {
		seen := make([]bool, days)
		dry := make([]bool, days)
		for h := range t.Hours {
			if !b.runs[h] {
				continue
			}
			d := t.Day[h]
			k := t.At(m, h, i)
			dry[d] = dry[d] || track.Clear[track.At(m, t.Start+calendar.Hour(h))]
			if !t.Workable[k] {
				continue
			}
			at := b.hourOfDay(h)
			if !seen[d] {
				seen[d] = true
				opens[d] = append(opens[d], at)
				closes[d] = append(closes[d], at+1)
				lost[d] = append(lost[d], 100*(1-float64(t.Keep[k])))
			}
			closes[d][len(closes[d])-1] = at + 1
		}
		for d := range days {
			if seen[d] {
				facts.Under[d] += 1 / float64(t.Members)
			}
			if dry[d] {
				facts.Dry[d] += 1 / float64(t.Members)
			}
		}
	}
	for d := range days {
		facts.Opens[d], facts.Closes[d] = spreadOf(opens[d]), spreadOf(closes[d])
		facts.LossPct[d] = spreadOf(lost[d]).Mean
	}
}

// afternoonHour is the hour of the farm's clock that stands for a day's moisture: the driest of most days.
const afternoonHour = 15

// afternoons returns the field mean in the afternoon of each day over the members; NaN where the table misses that hour.
func (b *builder) afternoons(track *drydown.Track) []Spread {
	t := b.out.Table
	out := make([]Spread, t.Days())
	for d := range out {
		out[d] = spreadOf(nil)
	}
	for h := range t.Hours {
		if b.hourOfDay(h) != afternoonHour {
			continue
		}
		mean := make([]float64, t.Members)
		for m := range mean {
			mean[m] = float64(track.MeanWB[track.At(m, t.Start+calendar.Hour(h))])
		}
		out[t.Day[h]] = spreadOf(mean)
	}
	return out
}

// hourOfDay returns the farm's clock at the start of hour h, in hours.
func (b *builder) hourOfDay(h int) float64 {
	at := (b.out.Table.Start + calendar.Hour(h)).Start().In(b.in.Zone)
	return float64(at.Hour()) + float64(at.Minute())/60
}

// spreadOf returns NaNs for nothing.
func spreadOf(x []float64) Spread {
	if len(x) == 0 {
		return Spread{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
	}
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	sum := 0.0
	for _, v := range sorted {
		sum += v
	}
	return Spread{sum / float64(len(sorted)), Quantile(sorted, 0.1), Quantile(sorted, 0.5), Quantile(sorted, 0.9)}
}

// Quantile returns the p quantile of sorted values, between neighbours on a line. Panics for none.
func Quantile(sorted []float64, p float64) float64 {
	at := p * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}
