package weather

import "math"

// What is known of the days to come: the standardised anomaly expected, and the covariance that knowing it explains, out
// of that of the climate. Told is the part of it that comes from forecasts, whose temperatures already reckon with the
// rain to come; what was observed does not.
type knowledge struct {
	expect         [quantities]float64
	explains, told Matrix
}

// observedWeight is how much of an observed day's anomaly the days after it start from: of 0.7, 0.85 and 1 the best score
// of held-out autumns. [champaign-hourly]
const observedWeight = 0.85

// forget carries knowledge to the next day: E[u'|u] = A·u, and its covariance A·K·Aᵀ.
func (k *knowledge) forget(s *Step) {
	k.expect = s.A.times(k.expect)
	k.explains = s.A.mul(k.explains).mul(s.A.transposed())
	k.told = s.A.mul(k.told).mul(s.A.transposed())
}

// observe takes a day's anomaly as known.
func (k *knowledge) observe(z [quantities]float64, m0 Matrix) {
	for i := range z {
		k.expect[i] = observedWeight * max(-mostSpreads, min(mostSpreads, z[i]))
		for j := range z {
			k.explains[i][j] = observedWeight * observedWeight * m0[i][j]
		}
	}
	k.told = Matrix{}
}

// mostSpreads bounds an anomaly: beyond it a day is not of this climate, and a normal number comes once in 4,000 days.
const mostSpreads = 3.5

// plan settles, day by day, how often members are wet and what they surround.
func (g *generation) plan() {
	wet := g.warm[0].rain.Wet()
	for i := range g.warm {
		wet = g.warm[i].chain(wet, 1)
	}
	var k knowledge
	for i := range g.days {
		d := &g.days[i]
		wet = g.planRain(d, wet)
		d.meanOver(wet)
		k.forget(d.step)
		if air, known := g.observedAir(d); known {
			k.observe(d.anomaly(statusOf(d.isWet), airVector(air)), d.step.Covariance())
		} else if d.ahead != nil {
			g.tell(d, &k)
		}
		d.surround(&k)
		if d.ahead != nil && d.ahead.Sky != nil {
			g.planCloud(d, &k, wet)
		}
	}
}

// chain sets a day's probabilities of rain to those of the climate, over the share of the day that is left, and returns
// how many members are wet if that share of them was before.
func (d *drawDay) chain(before, left float64) float64 {
	d.rains[0], d.rains[1] = left*d.rains[0], left*d.rains[1]
	return before*d.rains[1] + (1-before)*d.rains[0]
}

// planRain settles the probabilities of rain of a day and returns the share of members in which it counts as wet, where
// that share was before on the day before.
func (g *generation) planRain(d *drawDay, before float64) float64 {
	left := 1.0
	if mm, hours := g.observedRain(d); hours > 0 {
		d.isWet = mm >= WetDayMM
		d.rainFrom = min(d.end, g.now)
		left = 0
		if all, open := d.end-d.first, d.end-d.rainFrom; open > 0 { // of spells of four hours, those that last into it
			left = float64(open+usualSpell-1) / float64(all+usualSpell-1)
		}
	}
	wet := d.chain(before, left)
	if d.ahead != nil && d.ahead.Rain != nil && left > 0 {
		wet = g.table.chance(*d.ahead.Rain, left*d.rain.Wet(), d.lead)
		d.promise(before, wet)
		if d.ahead.Amount != nil {
			trust := atLead(g.table.Rain, d.lead)
			d.rain.Mean = max(fewestWet, trust**d.ahead.Amount+(1-trust)*d.rain.Mean)
		}
	}
	if d.isWet {
		return 1
	}
	return wet
}

// promise makes the share of wet members exactly wet while wet days still follow wet days as they do in the climate:
// P(wet after wet) = p + (1 − p')·δ, P(wet after dry) = p − p'·δ, whose mean over p' is p, with δ = P11 − P01 as far as
// probabilities allow. With p the climate's own this is its chain.
func (d *drawDay) promise(before, wet float64) {
	persists := d.rains[1] - d.rains[0]
	if before < 1 {
		persists = max(-wet/(1-before), min((1-wet)/(1-before), persists))
	}
	if before > 0 {
		persists = max((wet-1)/before, min(wet/before, persists))
	}
	d.rains = [2]float64{wet - before*persists, wet + (1-before)*persists}
}

// meanOver sets what members surround knowing nothing: the usual of dry and wet days in their proportion.
func (d *drawDay) meanOver(wet float64) {
	for k := range quantities {
		d.mean[k] = wet*d.usual[1][k] + (1-wet)*d.usual[0][k]
		d.spread[k] = wet*d.sd[1][k] + (1-wet)*d.sd[0][k]
	}
}

// surround sets what members surround and how far.
func (d *drawDay) surround(k *knowledge) {
	for i := range quantities {
		d.centre[i] = d.mean[i] + d.spread[i]*k.expect[i]
		d.open[i] = math.Sqrt(max(0, 1-k.explains[i][i]))
		d.shift[i] = math.Sqrt(max(0, 1-k.told[i][i]))
	}
}

// tell takes in what a forecast says of a day's air. What it does not say follows from what it says as in the climate: a
// warm night is a damp one.
func (g *generation) tell(d *drawDay, k *knowledge) {
	ahead, lead := d.ahead, d.lead
	open := [quantities]float64{atLead(g.table.Temp, lead), atLead(g.table.Temp, lead), atLead(g.table.Dew, lead), atLead(g.table.Wind, lead)}
	var given [quantities]bool
	var said [quantities]float64
	for i, x := range [quantities]*float64{ahead.High, ahead.Low, ahead.Dew, ahead.Wind} {
		if x == nil || open[i] >= 1 {
			continue
		}
		to := *x
		if i == dayRoot {
			to = math.Sqrt(max(0, to))
		}
		given[i], said[i] = true, (to-d.mean[i])/d.spread[i]
	}
	m0 := d.step.Covariance()
	warmth := given[dayHigh] || given[dayLow] || given[dayDew]
	var known [quantities]float64 // square root of the share of variance that is explained
	for i := range quantities {
		switch {
		case given[i]:
			k.expect[i], known[i] = said[i], math.Sqrt(1-open[i]*open[i])
		case warmth:
			k.expect[i], known[i] = m0.follow(i, given, said, open)
		default:
			known[i] = math.Sqrt(k.explains[i][i])
		}
	}
	for i := range quantities {
		for j := range quantities {
			k.explains[i][j] = m0[i][j] * known[i] * known[j]
			k.told[i][j] = k.explains[i][j]
		}
	}
}

// follow returns what is expected of quantity i where the given ones are said, by regression in the climate's correlations
// m0, and the square root of the share of its variance that this explains, given how much the said ones leave open.
func (m0 Matrix) follow(i int, given [quantities]bool, said, open [quantities]float64) (expect, known float64) {
	system, with := Matrix{}, [quantities]float64{}
	for a := range quantities {
		system[a][a] = 1
		for b := range quantities {
			if given[a] && given[b] {
				system[a][b] = m0[a][b]
			}
		}
		if given[a] {
			with[a] = m0[i][a]
		}
	}
	system, lower := system.drawnIn()
	weight := lower.solve(with)
	explained := 0.0
	for a := range quantities {
		expect += weight[a] * said[a]
		explained += weight[a] * with[a]
		for b := range quantities {
			explained -= weight[a] * weight[b] * open[a] * open[b] * system[a][b]
		}
	}
	return expect, math.Sqrt(max(0, explained))
}

// planCloud settles what the members' cloud surrounds where a forecast speaks of it, with the error of its dew point.
// [judgement]
func (g *generation) planCloud(d *drawDay, k *knowledge, wet float64) {
	d.cloudSaid = true
	d.cloudOpen = atLead(g.table.Dew, d.lead)
	usual := [2]float64{}
	for status := range 2 {
		share := d.sun[status]
		for i := range quantities {
			share += g.c.Sun.By[status][i] * k.expect[i]
		}
		usual[status] = coverFrom(share)
	}
	d.cloudUsual = usual[0] + wet*(usual[1]-usual[0])
	d.cloudTo = *d.ahead.Sky
}
