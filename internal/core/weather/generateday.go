package weather

import "math"

// A member is the room one member is drawn in, used for all of them one after the other.
type member struct {
	g       *generation
	number  int
	days    []memberDay
	row     [NVar][]float32
	off     [3][]float64 // by how much hours of temperature, dew point and ln wind differ from the day's shape
	offMean []float64    // of the dew point's disturbance, by day
	noons   []float64    // dew point at the days' noons, °C
	anchors []anchor
}

// A memberDay is one day of a member.
type memberDay struct {
	wet   bool    // it counts as wet
	rain  float64 // still to come, mm
	high  float64 // °C
	low   float64
	dew   float64 // mean, °C
	wind  float64 // mean at 2 m, m/s
	cloud float64
	sun   float64 // share of a clear sky's energy
}

func newMember(g *generation) *member {
	m := &member{g: g, days: make([]memberDay, len(g.days)), offMean: make([]float64, len(g.days)), noons: make([]float64, len(g.days))}
	for v := range m.row {
		m.row[v] = make([]float32, g.hours)
	}
	for k := range m.off {
		m.off[k] = make([]float64, g.hours)
	}
	return m
}

// draw makes member number.
func (m *member) draw(number int) {
	m.number = number
	m.drawRain()
	m.drawDays()
	m.drawHours()
	m.observe()
}

// drawRain walks the chain of wet and dry days and draws amounts.
func (m *member) drawRain() {
	root := m.g.in.Root
	first := NewStream(root, m.number, m.g.warm[0].date.AddDays(-1), drawnWet)
	wet := first.Uniform() < m.g.warm[0].rain.Wet()
	for i := range m.g.warm {
		s := NewStream(root, m.number, m.g.warm[i].date, drawnWet)
		wet = s.Uniform() < m.g.warm[i].rains[statusOf(wet)]
	}
	for i := range m.g.days {
		d := &m.g.days[i]
		s := NewStream(root, m.number, d.date, drawnWet)
		rains := s.Uniform() < d.rains[statusOf(wet)]
		wet = rains || d.isWet
		m.days[i] = memberDay{wet: wet}
		if rains {
			s := NewStream(root, m.number, d.date, drawnRain)
			m.days[i].rain = WetDayMM + s.Gamma(d.rain.Shape)*max(0, d.rain.Mean-WetDayMM)/d.rain.Shape
		}
	}
}

// drawDays walks the recursion of the daily anomalies.
func (m *member) drawDays() {
	var u [quantities]float64
	cloudy := 0.0
	for i := range m.g.warm {
		u, cloudy = m.nextDay(&m.g.warm[i], u, cloudy)
	}
	for i := range m.g.days {
		d := &m.g.days[i]
		u, cloudy = m.nextDay(d, u, cloudy)
		m.days[i].settle(d, &m.g.c.Sun, u, cloudy)
	}
}

// nextDay returns a day's anomalies and the remainder of its sunshine, in standard deviations.
func (m *member) nextDay(d *drawDay, before [quantities]float64, cloudyBefore float64) (u [quantities]float64, cloudy float64) {
	s := NewStream(m.g.in.Root, m.number, d.date, drawnDay)
	var chance [quantities]float64
	for k := range chance {
		chance[k] = s.Normal()
	}
	lag := m.g.c.Sun.Lag
	cloudy = float64(lag*cloudyBefore) + math.Sqrt(1-lag*lag)*s.Normal()
	u = d.step.A.times(before)
	for k, x := range d.step.B.times(chance) {
		u[k] = max(-mostSpreads, min(mostSpreads, u[k]+x))
	}
	return u, cloudy
}

// The least and the most of a clear sky's energy that a day gets: dark days of the record stay above the one, and the sky
// of [ClearSky] is a little less than clear. [champaign-hourly]
const (
	leastSun = 0.08
	mostSun  = 1.05
)

// settle turns a day's anomalies into its air.
func (a *memberDay) settle(d *drawDay, sun *SunLaw, u [quantities]float64, cloudy float64) {
	status := statusOf(a.wet)
	var x [quantities]float64
	share := d.sun[status] + sun.SD[status]*cloudy
	for k := range x {
		x[k] = d.centre[k] + float64(d.shift[k]*(d.usual[status][k]-d.mean[k])) + float64(d.open[k]*d.sd[status][k]*u[k])
		share += float64(sun.By[status][k]*(x[k]-d.usual[status][k])) / d.sd[status][k]
	}
	a.high, a.low, a.dew = x[dayHigh], x[dayLow], x[dayDew]
	if a.high < a.low { // the two errors of a narrow day cross
		mid := (a.high + a.low) / 2
		a.high, a.low = mid, mid
	}
	root := max(0, x[dayRoot])
	a.wind = root * root
	a.sun = max(leastSun, min(mostSun, share))
	a.cloud = coverFrom(a.sun)
	if d.cloudSaid {
		to := max(0, min(1, d.cloudTo+d.cloudOpen*(a.cloud-d.cloudUsual)))
		a.sun *= throughCloud(to) / throughCloud(a.cloud)
		a.cloud = to
	}
}

// put copies the member's hours into the ensemble.
func (m *member) put(e *Ensemble, number int) {
	skip := int(e.Start - m.g.start)
	for v := range Var(NVar) {
		copy(e.Row(v, number), m.row[v][skip:skip+e.Hours])
	}
}
