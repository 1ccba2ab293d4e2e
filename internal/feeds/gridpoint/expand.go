package gridpoint

import (
	"math"
	"slices"

	"threshday/internal/core/calendar"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
)

const hour = 3600 // seconds

// span returns the cells from the first that begins inside an entry to the last.
func span(entries []entry) (start, end calendar.Hour) {
	first, last := entries[0].from, entries[0].to
	for _, e := range entries {
		first, last = min(first, e.from), max(last, e.to)
	}
	return cellFrom(first), cellFrom(last)
}

// cellFrom returns the first cell that begins at or after a second.
func cellFrom(second int64) calendar.Hour { return calendar.Hour((second + hour - 1) / hour) }

// hourly gives each cell the value whose interval holds its beginning; of several the one listed last.
func hourly(entries []entry, start calendar.Hour, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = math.NaN()
	}
	for _, e := range entries {
		for h := max(start, cellFrom(e.from)); h < min(start+calendar.Hour(n), cellFrom(e.to)); h++ {
			out[h-start] = e.value
		}
	}
	return out
}

// totals spreads totals over their intervals, so that sums are kept; a cell that an interval touches is known.
func totals(entries []entry, start calendar.Hour, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = math.NaN()
	}
	for _, e := range entries {
		if math.IsNaN(e.value) {
			continue
		}
		for h := max(start, calendar.Hour(e.from/hour)); h < min(start+calendar.Hour(n), cellFrom(e.to)); h++ {
			from, to := max(e.from, int64(h)*hour), min(e.to, int64(h+1)*hour)
			share := e.value * float64(to-from) / float64(e.to-e.from)
			if math.IsNaN(out[h-start]) {
				out[h-start] = 0
			}
			out[h-start] += share
		}
	}
	return out
}

// mast is the height of the service's winds. They are described as the highest that prevail in the hour, so they lie a
// little above its mean. [nws-api]
const mast = 10 * units.Meter

func to2m(column []float64) []float64 {
	for i, x := range column {
		column[i] = weather.WindAt2m(units.Speed(x), mast).MetersPerSecond()
	}
	return column
}

// Blocks that chances of rain are made for: twelve hours from midnight and noon UTC. The service merges neighbours of
// equal value into one entry, and gives some hours one by one. [nws-api] for both; six hours is [judgement]
const (
	longestBlock  = 12
	shortestBlock = 6
)

// chances returns the blocks of rain chances. An entry longer than twelve hours is several blocks of equal chance, cut
// at midnight and noon UTC; entries shorter than six hours that follow each other within six hours from 0, 6, 12
// or 18 UTC are one block with the largest of their chances.
func chances(entries []entry, start, end calendar.Hour) []weather.RainChance {
	var out []weather.RainChance
	for _, run := range runs(entries, start, end) {
		if last := len(out) - 1; last >= 0 && sameShortBlock(out[last], run) {
			out[last].End, out[last].P = run.End, max(out[last].P, run.P)
			continue
		}
		for run.End-run.Start > longestBlock {
			cut := (run.Start/longestBlock + 1) * longestBlock
			out = append(out, weather.RainChance{Start: run.Start, End: cut, P: run.P})
			run.Start = cut
		}
		out = append(out, run)
	}
	return out
}

// sameShortBlock reports whether b follows a within one block of six hours.
func sameShortBlock(a, b weather.RainChance) bool {
	return a.End == b.Start && b.End-b.Start < shortestBlock && a.Start/shortestBlock == (b.End-1)/shortestBlock
}

// runs returns the hours of each entry that no later one covers, in order of time.
func runs(entries []entry, start, end calendar.Hour) []weather.RainChance {
	if end <= start {
		return nil
	}
	of := make([]int, end-start)
	for i := range of {
		of[i] = -1
	}
	for k, e := range entries {
		for h := max(start, cellFrom(e.from)); h < min(end, cellFrom(e.to)); h++ {
			of[h-start] = k
		}
	}
	var out []weather.RainChance
	for i := 0; i < len(of); {
		j := i
		for j < len(of) && of[j] == of[i] {
			j++
		}
		if k := of[i]; k >= 0 && !math.IsNaN(entries[k].value) {
			out = append(out, weather.RainChance{Start: start + calendar.Hour(i), End: start + calendar.Hour(j), P: entries[k].value})
		}
		i = j
	}
	return slices.Clip(out)
}
