package capacity

import "math"

// A Wait is the time in line at an outlet, lognormal, until the farm's own tickets say better.
type Wait struct {
	MedianMin float64
	GSD       float64 // geometric standard deviation of one load's wait
	DayGSD    float64 // of the part that a whole day shares, at most GSD
}

// Waits to start from. [judgement]
const (
	QuietWaitMin = 15 // a weekday morning
	BusyWaitMin  = 30 // 14 to 18 h
	WorstWaitMin = 45 // first dry day after rain; 16 to 19 h in the peak fortnight
)

// WaitAround returns the usual spread about a median. [judgement]
func WaitAround(medianMin float64) Wait { return Wait{MedianMin: medianMin, GSD: 1.9, DayGSD: 1.5} }

// Minutes returns the wait for two standard normal draws: one that all loads of the day share, one of the
// load's own.
func (w Wait) Minutes(zDay, zLoad float64) float64 {
	all, day := math.Log(w.GSD), math.Log(w.DayGSD)
	own := math.Sqrt(max(all*all-day*day, 0))
	return w.MedianMin * math.Exp(zDay*day+zLoad*own)
}

// guessGSD is how far an owner's usual minutes lie off what a season of tickets says, as a geometric standard deviation.
// [judgement]
const guessGSD = 1.6

// leastMin is the shortest time counted: clocks of scale tickets show whole minutes.
const leastMin = 1

// Learned returns w with its median drawn towards minutes on the farm's own tickets, grouped by day since loads of one day
// share their luck, and how much the tickets count in it, 0 (none) to below 1. The spread stays w's own. It is the
// normal mean with normal prior on logarithms. [shrinkage-normal]
func (w Wait) Learned(days [][]float64) (learned Wait, weight float64) {
	n, sum, squares := 0.0, 0.0, 0.0
	for _, day := range days {
		for _, m := range day {
			sum += math.Log(max(m, leastMin))
		}
		n += float64(len(day))
		squares += float64(len(day) * len(day))
	}
	if n == 0 || w.MedianMin <= 0 {
		return w, 0
	}
	all, day, guess := math.Log(w.GSD), math.Log(w.DayGSD), math.Log(guessGSD)
	noise := day*day*squares/(n*n) + max(all*all-day*day, 0)/n
	weight = guess * guess / (guess*guess + noise)
	prior := math.Log(max(w.MedianMin, leastMin))
	w.MedianMin = math.Exp(prior + weight*(sum/n-prior))
	return w, weight
}

// PitMin returns how long a load holds the pit at a receiving rate, without positioning the truck. Legs run
// from 500 to 30,000 bu/h [kansas-leg-press]; a small country house has 3,000 to 8,000 [capacity-recalled].
func PitMin(loadBu, buPerHour float64) float64 { return 60 * loadBu / buPerHour }
