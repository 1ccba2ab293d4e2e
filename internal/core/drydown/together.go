package drydown

import (
	"math"
	"slices"
	"strings"

	"threshday/internal/core/calendar"
)

// How much fields of one crop and of one variety share of what is unknown of them, as correlations. Genotype and year move
// the moisture at maturity, hardly the rate [martinez-feria-2019]; the figures are [judgement].
var alike = [unknowns]struct{ crop, variety float64 }{
	atShift: {0.2, 0.4},
	atKappa: {0.4, 0.7},
	atEMC:   {0.6, 0.8},
	atLevel: {0.3, 0.6},
}

// together is the fields of a farm and its devices, believed jointly.
type together struct {
	belief  belief
	settled belief // what the pass before came to
	// lenience multiplies the noise by which readings are judged in this pass.
	lenience float64
	fields   []*assimilation
	devices  []*device
	strips   map[strip]int // place of the error of a load that was read more than once
}

// A strip is one load of one field.
type strip struct {
	field int
	load  string
}

// A Season is what is believed of all fields of a farm, and of the devices they were read with.
type Season struct {
	Posteriors []*Posterior
	Lessons    [][]Lesson // per field, in the order of time
	Gauges     []Gauge
}

// AssimilateAll works out what is believed about the fields of a farm from their maturity, the weather that has been and all
// their evidence, in the order of time. Readings pull the maturity date, the drying rate, the equilibrium and the present
// level of their field, each as far as it is uncertain and would explain the miss; what they teach about a device holds for
// every field it reads, what they teach about a field also moves others of the same crop, more so of the same variety. A
// reading far from anything expected is taken for a probable blunder and hardly moves the field.
//
// It is one iterated Kalman filter over all fields and devices: the model is taken for straight around what the pass before
// came to believe [bell-cathey-1993], with slopes over a standard deviation to either side; 0.4, 1.0 or 0.6 points of error
// grow in a day [judgement]. The error is a *problem.InputError that says what is missing for the first field that cannot
// start.
func AssimilateAll(cases []Case) (*Season, error) {
	t := newTogether(cases)
	for _, a := range t.fields {
		if err := a.begin(); err != nil {
			return nil, err
		}
	}
	t.relate()
	prior := t.belief
	facts := t.evidence()
	for _, a := range t.fields {
		a.fan = fan{prior: a.sds(), damping: 1}
		a.open(a.chances(), a.sds())
	}
	traces := t.settle(prior, facts)
	for _, a := range t.fields {
		a.straighten()
	}
	out := &Season{Lessons: make([][]Lesson, len(cases)), Gauges: t.gauges()}
	for k, e := range facts {
		out.Lessons[e.field] = append(out.Lessons[e.field], t.fields[e.field].tell(&traces[k], e))
	}
	for _, a := range t.fields {
		out.Posteriors = append(out.Posteriors, a.posterior())
	}
	return out, nil
}

// settle passes over the evidence until every field's point holds and every reading counts as in the pass before, or until
// enough is enough; it returns the traces of the last pass.
func (t *together) settle(prior belief, facts []fact) []trace {
	var traces []trace
	strict := 0
	for range passes {
		t.lenience = math.Pow(stricter, float64(strictest-strict))
		was := traces
		traces = t.pass(prior, facts, traces)
		moved := false
		for _, a := range t.fields {
			moved = a.reopen() || moved
		}
		switch {
		case strict < strictest:
			if strict > 0 || !moved {
				strict++
			}
		case !moved && agree(was, traces):
			return traces
		}
	}
	return traces
}

// The passes over the evidence. Until every field's point holds nothing is doubted; then a reading may miss by more than its
// noise, a little less each time, so that the worst is doubted first and the others are then judged without it. [judgement]
const (
	passes    = 20
	strictest = 3
	stricter  = 4.0  // times the variance
	sameSure  = 0.05 // change in how far a reading counts that needs no other
)

// pass goes once through the evidence from what is believed before it. last holds the traces of the pass before.
func (t *together) pass(prior belief, facts []fact, last []trace) []trace {
	t.settled = t.belief
	t.belief = prior.clone()
	for _, d := range t.devices {
		d.learned = newScatter()
		clear(d.used)
	}
	out := make([]trace, len(facts))
	for _, a := range t.fields {
		a.rewind()
	}
	for k, e := range facts {
		a := t.fields[e.field]
		if e.sighting != nil {
			out[k] = a.see(*e.sighting)
			continue
		}
		var before *trace
		if last != nil {
			before = &last[k]
		}
		out[k] = a.read(*e.reading, before)
	}
	for _, a := range t.fields {
		a.advance(a.last)
	}
	for _, d := range t.devices {
		if last != nil {
			d.scatter = d.learned
		}
	}
	return out
}

// agree reports whether two passes let every piece of evidence count alike.
func agree(a, b []trace) bool {
	return slices.EqualFunc(a, b, func(x, y trace) bool { return math.Abs(x.sure-y.sure) <= sameSure })
}

// offBy returns what the pass before came to believe of device and load together, those unknowns that h weighs and that are
// not the field's, whose own begin at first.
func (t *together) offBy(h sight, first int) float64 {
	var sum float64
	for _, w := range h {
		if w.at < first || w.at >= first+unknowns {
			sum += t.settled.mean[w.at]
		}
	}
	return sum
}

// Assimilate is AssimilateAll for one field alone.
func Assimilate(c Case) (*Posterior, []Lesson, error) {
	s, err := AssimilateAll([]Case{c})
	if err != nil {
		return nil, nil, err
	}
	return s.Posteriors[0], s.Lessons[0], nil
}

// newTogether counts fields, devices and loads and makes room for what is unknown of them.
func newTogether(cases []Case) *together {
	t := &together{strips: map[strip]int{}}
	n := unknowns * len(cases)
	read := map[strip]int{}
	for i := range cases {
		c := &cases[i]
		t.fields = append(t.fields, &assimilation{Case: *c, t: t, place: i, first: unknowns * i})
		for _, r := range c.Readings {
			if r.At > c.Now {
				continue
			}
			d := t.device(r)
			if k := c.Field.Params.Crop; d.on(k) < 0 {
				at := -1
				if TrustIn(r.Device, GaugeWB).BiasSDWB > 0 {
					at, n = n, n+1
				}
				d.crops, d.bias, d.used = append(d.crops, k), append(d.bias, at), append(d.used, 0)
			}
			if r.Load != "" {
				if one := (strip{i, r.Load}); read[one] > 0 && t.strips[one] == 0 {
					t.strips[one], n = n, n+1
				} else {
					read[one]++
				}
			}
		}
	}
	t.belief = newBelief(n)
	return t
}

// device returns that of a reading, a new one where it is the first.
func (t *together) device(r Reading) *device {
	for _, d := range t.devices {
		if d.kind == r.Device && d.name == r.Name {
			return d
		}
	}
	d := &device{kind: r.Device, name: r.Name, scatter: newScatter()}
	t.devices = append(t.devices, d)
	return d
}

// relate sets what is believed before any evidence of devices and loads, and what fields share.
func (t *together) relate() {
	for _, d := range t.devices {
		sd := TrustIn(d.kind, GaugeWB).BiasSDWB
		for i, at := range d.bias {
			for j, other := range d.bias {
				switch {
				case at < 0 || other < 0:
				case i == j:
					t.belief.relate(at, at, sd*sd)
				default:
					t.belief.relate(at, other, biasShared*sd*sd)
				}
			}
		}
	}
	for _, at := range t.strips {
		t.belief.relate(at, at, stripSD*stripSD)
	}
	for i, a := range t.fields {
		for _, b := range t.fields[:i] {
			if a.Field.Params.Crop != b.Field.Params.Crop {
				continue
			}
			variety := a.Variety != "" && a.Variety == b.Variety
			for k := range unknowns {
				share := alike[k].crop
				if variety {
					share = alike[k].variety
				}
				if k == atLevel && (a.baseWB > 0 || b.baseWB > 0) {
					continue // it says where a reading starts the field, not how the crop stands
				}
				share *= math.Sqrt(t.belief.cov[a.first+k][a.first+k] * t.belief.cov[b.first+k][b.first+k])
				t.belief.relate(a.first+k, b.first+k, share)
			}
		}
	}
}

// A fact is a reading or a sighting of a field.
type fact struct {
	field    int
	at       calendar.Hour
	id       string
	reading  *Reading
	sighting *Sighting
}

// evidence returns the readings and sightings of all fields in the order of time.
func (t *together) evidence() []fact {
	var out []fact
	for _, a := range t.fields {
		out = append(out, a.evidence()...)
	}
	return inOrder(out)
}

// inOrder sorts evidence by time, then by field and ID.
func inOrder(facts []fact) []fact {
	slices.SortStableFunc(facts, func(x, y fact) int {
		switch {
		case x.at != y.at:
			return int(x.at - y.at)
		case x.field != y.field:
			return x.field - y.field
		default:
			return strings.Compare(x.id, y.id)
		}
	})
	return facts
}
