package drydown

import (
	"math"
	"slices"

	"threshday/internal/core/crop"
)

// A Gauge is what is known of one device on one crop: which way it is off, and how far one reading may be off besides.
type Gauge struct {
	Device   Device
	Name     string // which meter, whose bite; may be empty
	Crop     crop.Kind
	Readings int     // of this crop that were used
	BiasWB   float64 // it reads that much more than the truth, points
	BiasSDWB float64 // and how sure that is; 0 for a ticket, which is the truth
	SDWB     float64 // one reading besides, points, at GaugeWB
	UsualWB  float64 // the same for a device of its kind of which nothing is known
}

// GaugeWB is the moisture for which the spread of a device is told, % wet basis.
const GaugeWB = 15.0

// A device is off by one error on all crops and another on each: moisture is calibrated by crop. [judgement]
const biasShared = 0.5 // part of the variance that is the same on all crops

// scatterSteps are the multiples of the usual variance of a reading that a device may have, scatterSD the spread of their
// logarithm before anything is known: two devices in three lie within half and twice. [judgement]
var scatterSteps = [...]float64{0.2, 0.3, 0.45, 0.67, 1, 1.5, 2.2, 3.3, 5}

const scatterSD = 0.7

// A scatter is what is believed of the spread of one device: the odds of every step.
type scatter struct{ odds [len(scatterSteps)]float64 }

func newScatter() scatter {
	var s scatter
	for i, x := range scatterSteps {
		z := math.Log(x) / scatterSD
		s.odds[i] = math.Exp(-z * z / 2)
	}
	s.whole()
	return s
}

func (s *scatter) whole() {
	var sum float64
	for _, p := range s.odds {
		sum += p
	}
	for i := range s.odds {
		s.odds[i] /= sum
	}
}

// factor returns the mean multiple of the usual variance.
func (s *scatter) factor() float64 { return dot(s.odds[:], scatterSteps[:]) }

// learn takes in a reading that misses what is believed by a mean square of square: other is the variance of everything but
// the device's own spread, own the usual variance of that.
func (s *scatter) learn(square, other, own float64) {
	for i, x := range scatterSteps {
		s.odds[i] *= float64((1-blunderShare)*bell(square, other+float64(x*own))) + blunderShare/blunderRange
	}
	s.whole()
}

// A device is one meter, one person's bite or one combine's sensor, over all crops.
type device struct {
	kind    Device
	name    string
	scatter scatter // what a pass goes by
	learned scatter // what it finds
	crops   []crop.Kind
	bias    []int // per crop: place of its bias in the belief; −1: it has none
	used    []int // per crop: readings used
}

// on returns the place of a crop among those the device has read.
func (d *device) on(k crop.Kind) int { return slices.Index(d.crops, k) }

// gauges returns what is known of every device, in the order in which their first readings are given.
func (t *together) gauges() []Gauge {
	var out []Gauge
	for _, d := range t.devices {
		for i, k := range d.crops {
			trust := TrustIn(d.kind, GaugeWB)
			g := Gauge{
				Device: d.kind, Name: d.name, Crop: k, Readings: d.used[i], UsualWB: trust.SDWB, SDWB: trust.SDWB * math.Sqrt(d.scatter.factor()),
			}
			if at := d.bias[i]; at >= 0 {
				g.BiasWB, g.BiasSDWB = t.belief.mean[at], math.Sqrt(max(0, t.belief.cov[at][at]))
			}
			out = append(out, g)
		}
	}
	return out
}
