package capacity

import (
	"math"

	"threshday/internal/core/units"
)

// A Trip is one truck's round from field to outlet and back.
type Trip struct {
	Distance      units.Length // road, one way
	Loaded, Empty units.Speed
	LoadMin       float64 // from the cart, or by the combine at the field's edge
	QueueMin      float64 // waiting in line
	ScaleMin      float64 // weighing in and probing; a sample is drawn and graded in about 2 [ksu-receiving]
	DumpMin       float64
	TicketMin     float64 // weighing out and paper
}

// DefaultTrip returns a trip loaded by a cart on paved roads, with no distance and no line: both are the
// owner's. [judgement]
func DefaultTrip() Trip {
	return Trip{
		Loaded: 45 * units.MilePerHour, Empty: 50 * units.MilePerHour,
		LoadMin: 12, ScaleMin: 5, DumpMin: 6, TicketMin: 3,
	}
}

// Other times and speeds of a trip. [judgement]
const (
	LoadByCombineMin = 25                       // at the field's edge, without a cart
	GravelSpeed      = 32.5 * units.MilePerHour // 30 to 35
)

// CycleMin returns the minutes of the round.
func (t Trip) CycleMin() float64 {
	drive := float64(t.Distance)/float64(t.Loaded) + float64(t.Distance)/float64(t.Empty)
	return t.LoadMin + t.QueueMin + t.ScaleMin + t.DumpMin + t.TicketMin + drive/60
}

// TrucksNeeded returns how many trucks keep up with buPerHour leaving the field, exactly and as whole trucks.
// The whole number misleads by itself: at 1.04 one truck loses 4 % of the combine's output, see [KeptBy].
func TrucksNeeded(buPerHour, cycleMin, payloadBu float64) (exact float64, whole int) {
	exact = buPerHour * cycleMin / (60 * payloadBu)
	const hair = 1e-9 // an exact need of 2 is not 3
	return exact, int(math.Ceil(exact - hair))
}

// KeptBy returns the part of the field's output that so many trucks carry when exact are needed, 0 to 1, with
// a cart to even out the arrivals.
func KeptBy(trucks int, exact float64) float64 {
	if exact <= float64(trucks) {
		return 1
	}
	return float64(trucks) / exact
}

// A Link is one part of the chain from crop to pit and what it passes.
type Link struct {
	Name      string
	BuPerHour float64
}

// Bottleneck returns the link that passes least, the first of equals: the rate of the chain. Panics without
// links.
func Bottleneck(chain ...Link) Link {
	if len(chain) == 0 {
		panic("capacity: a chain without links")
	}
	worst := chain[0]
	for _, l := range chain[1:] {
		if l.BuPerHour < worst.BuPerHour {
			worst = l
		}
	}
	return worst
}

// A CartLoop is one round of a grain cart.
type CartLoop struct {
	Bu                                             float64
	ApproachMin, FillMin, RunMin, DumpMin, BackMin float64
}

// BuPerHour returns what the cart can move.
func (c CartLoop) BuPerHour() float64 { return 60 * c.Bu / c.minutes() }

// Busy returns the part of its time the cart needs for buPerHour; over 1 the combine waits.
func (c CartLoop) Busy(buPerHour float64) float64 { return buPerHour / c.Bu * c.minutes() / 60 }

func (c CartLoop) minutes() float64 {
	return c.ApproachMin + c.FillMin + c.RunMin + c.DumpMin + c.BackMin
}

// BufferMin returns how long a combine goes on cutting buPerHour into the room left in cart and tank.
func BufferMin(cartFreeBu, tankFreeBu, buPerHour float64) float64 {
	return 60 * (cartFreeBu + tankFreeBu) / buPerHour
}

// A HaulRate is what an own truck costs to run.
type HaulRate struct {
	USDPerMile float64 // without the driver
	USDPerHour float64 // the driver
}

// DefaultHaulRate returns $1.53 a mile, the marginal cost of for-hire trucking in 2022 of $2.25 less the 32 %
// of it that are driver's wages [atri-2023], and $24 an hour [judgement]. Hired hauling went at $0.10/bu to 5
// miles and $0.16 to 25 in Iowa [iowa-custom-2019]; quarterly grain-truck rates are published by the loaded
// mile [usda-ams-truck].
func DefaultHaulRate() HaulRate { return HaulRate{USDPerMile: 1.53, USDPerHour: LaborUSDPerHour} }

// LoadUSD returns the cost of one round over a distance one way that takes cycleMin. A combine that stops for
// want of the truck is not in it; that comes from the plan.
func (h HaulRate) LoadUSD(oneWay units.Length, cycleMin float64) float64 {
	return 2*oneWay.Miles()*h.USDPerMile + h.USDPerHour*cycleMin/60
}

// BreakEvenMiles returns how many more miles one way a better price pays for: gainPerBu dollars on each bushel
// of the load against the running cost there and back.
func (h HaulRate) BreakEvenMiles(gainPerBu, loadBu float64, speed units.Speed) float64 {
	perMile := h.USDPerMile + h.USDPerHour/speed.MilesPerHour()
	return gainPerBu * loadBu / (2 * perMile)
}
