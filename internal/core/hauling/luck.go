package hauling

import (
	"math"

	"threshday/internal/core/calendar"
	"threshday/internal/core/capacity"
	"threshday/internal/core/weather"
)

// Luck is what a day's roads, lines and pits bring. Arrivals at a place are numbered from 0 in the order in which their
// trucks set out; whoever asks twice is told the same.
type Luck interface {
	Road(site, nth int) float64 // factor on the loaded road
	Line(site, nth int, w capacity.Wait) float64
	Dump(site, nth int) float64 // factor on the time at the pit
}

// Usual is the day on which everything takes as long as it usually does.
type Usual struct{}

// Road returns 1.
func (Usual) Road(int, int) float64 { return 1 }

// Line returns the median wait.
func (Usual) Line(_, _ int, w capacity.Wait) float64 { return w.MedianMin }

// Dump returns 1.
func (Usual) Dump(int, int) float64 { return 1 }

// roadSpread is the coefficient of variation of a loaded drive on farm roads. [judgement]
const roadSpread = 0.08

// drawnLoads are the arrivals at one place with luck of their own; the next ones share it with the first again.
const drawnLoads = 64

// Drawn is the luck of one day, drawn. Lines share a part that lasts all day at one place; roads and pits do not.
type Drawn struct {
	day               []float64 // by site
	road, line, dump  []float64 // by site and arrival
	roadSigma, roadMu float64
	dumpSigma, dumpMu float64
}

// NewDrawn returns room for the luck at so many places; Draw fills it.
func NewDrawn(sites int) *Drawn {
	d := &Drawn{
		day: make([]float64, sites), road: make([]float64, sites*drawnLoads), line: make([]float64, sites*drawnLoads),
		dump: make([]float64, sites*drawnLoads),
	}
	d.roadSigma, d.roadMu = lognormal(roadSpread)
	d.dumpSigma, d.dumpMu = lognormal(capacity.DumpSpread)
	return d
}

// lognormal returns the parameters of a lognormal factor of mean 1 with the coefficient of variation given.
func lognormal(cv float64) (sigma, mu float64) {
	variance := math.Log1p(cv * cv)
	return math.Sqrt(variance), -variance / 2
}

// haulDraw is the purpose of the draws of the first place; the others follow it.
const haulDraw weather.Purpose = 400

// mostSites share the purposes set aside; places past them share luck with the first ones.
const mostSites = 100

// Draw fills d with the luck of one day, which root, the number of the draw and the date decide alone.
func (d *Drawn) Draw(root [32]byte, draw int, day calendar.Day) {
	for site := range d.day {
		s := weather.NewStream(root, draw, day, haulDraw+weather.Purpose(site%mostSites)) //nolint:gosec // below a hundred
		d.day[site] = s.Normal()
		for i := site * drawnLoads; i < (site+1)*drawnLoads; i++ {
			d.line[i] = s.Normal()
			d.road[i] = math.Exp(d.roadMu + float64(d.roadSigma*s.Normal()))
			d.dump[i] = math.Exp(d.dumpMu + float64(d.dumpSigma*s.Normal()))
		}
	}
}

func (d *Drawn) at(site, nth int) int { return site*drawnLoads + nth%drawnLoads }

// Road returns the factor drawn.
func (d *Drawn) Road(site, nth int) float64 { return d.road[d.at(site, nth)] }

// Line returns the wait drawn.
func (d *Drawn) Line(site, nth int, w capacity.Wait) float64 {
	return w.Minutes(d.day[site], d.line[d.at(site, nth)])
}

// Dump returns the factor drawn.
func (d *Drawn) Dump(site, nth int) float64 { return d.dump[d.at(site, nth)] }
