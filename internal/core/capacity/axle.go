package capacity

import (
	"fmt"
	"math"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// Limits are legal weights. They are a start for the owner to change: states differ, see [Cautions].
type Limits struct {
	Single trade.Pounds // one axle, or axles within 40 inches
	Tandem trade.Pounds // axles more than 40 and not more than 96 inches apart
	Gross  trade.Pounds // the whole rig
}

// FederalLimits returns the limits of the Interstate System. [usc-23-127]
func FederalLimits() Limits { return Limits{Single: 20000, Tandem: 34000, Gross: 80000} }

// Spans in hundredths of an inch, the step to which a spacing is held, so that sums of measured feet compare
// exactly. [cfr-658-17]
const (
	singleSpan     = 40 * 100
	tandemSpan     = 96 * 100
	twoTandemsSpan = 36 * 12 * 100
	footSpan       = 12 * 100
)

// BridgeFormula returns the weight that axles consecutive axles may carry, feet between the outer two:
// 500 (L N/(N-1) + 12 N + 36), to the nearest 500 with a tie going down, and the same before rounding. It
// knows neither axle limits nor the gross cap. [usc-23-127]
//
// The tie goes down as printed tables have it: 3 axles over 9 ft, raw 42,750, are 42,500 [iowa-321-463]. One
// state's table prints ties upward [pa-code-185]; the lower figure is kept, the difference is a fine.
// Panics below two axles.
func BridgeFormula(feet, axles int) (limit trade.Pounds, raw float64) {
	if axles < 2 {
		panic("capacity: the bridge formula takes two axles or more")
	}
	// ceil(L N/(N-1) - 1/2) in whole numbers: half goes down
	num, den := 2*feet*axles-(axles-1), 2*(axles-1)
	rounded := num / den
	if num > 0 && num%den != 0 {
		rounded++
	}
	raw = 500 * (float64(feet*axles)/float64(axles-1) + float64(12*axles+36))
	return trade.Pounds(500 * (rounded + 12*axles + 36)), raw
}

// A Rig is a truck or combination: what stands on each axle, and how far apart neighbouring axles are.
type Rig struct {
	Spacing []units.Length // between axle 1 and 2, 2 and 3, ...
	Weights []trade.Pounds // one per axle
}

// Which rule gives the limit of a group of axles.
const (
	RuleSingle     = "single axle"        // all within 40 in
	RuleTandem     = "tandem"             // over 40 to 96 in
	RuleFormula    = "bridge formula"     //
	RulePerAxle    = "20,000 lb per axle" // the formula gives more than its axles may carry singly
	RuleTwoTandems = "two tandems"        // 36 ft or more over all: a full tandem each
)

// An AxleCheck is one axle against the single limit.
type AxleCheck struct {
	Axle          int // from 1
	Weight, Limit trade.Pounds
	Legal         bool
}

// A GroupCheck is consecutive axles against their limit, the gross cap apart.
type GroupCheck struct {
	From, To      int          // axles, from 1
	Span          units.Length // between the outer two, as entered
	Feet          int          // as the tables are entered: nearest foot, half goes down
	Limit, Weight trade.Pounds
	Rule          string
	Legal         bool
}

// A WeightCheck is a rig against the limits.
type WeightCheck struct {
	Gross, GrossLimit trade.Pounds
	Axles             []AxleCheck
	Groups            []GroupCheck
	Legal             bool // every axle, every group and the gross
}

// Check returns every axle, every group of two or more consecutive axles and the gross against l. An error
// says which entry cannot be used.
func (r Rig) Check(l Limits) (WeightCheck, error) {
	at, err := r.positions()
	if err != nil {
		return WeightCheck{}, err
	}
	n := len(r.Weights)
	c := WeightCheck{
		GrossLimit: l.Gross, Legal: true,
		Axles: make([]AxleCheck, n), Groups: make([]GroupCheck, 0, n*(n-1)/2),
	}
	for i, w := range r.Weights {
		c.Gross += w
		c.Axles[i] = AxleCheck{Axle: i + 1, Weight: w, Limit: l.Single, Legal: w <= l.Single}
		c.Legal = c.Legal && w <= l.Single
	}
	c.Legal = c.Legal && c.Gross <= l.Gross
	for i := range n {
		weight := r.Weights[i]
		for j := i + 1; j < n; j++ {
			weight += r.Weights[j]
			limit, rule := l.group(at[i : j+1])
			span := at[j] - at[i]
			c.Groups = append(c.Groups, GroupCheck{
				From: i + 1, To: j + 1,
				Span: units.Length(span) / 100 * units.Inch, Feet: nearestFoot(span),
				Limit: limit, Weight: weight, Rule: rule, Legal: weight <= limit,
			})
			c.Legal = c.Legal && weight <= limit
		}
	}
	return c, nil
}

// group returns the limit of consecutive axles at the positions given.
func (l Limits) group(at []int) (trade.Pounds, string) {
	span := at[len(at)-1] - at[0]
	if span <= singleSpan {
		return l.Single, RuleSingle
	}
	if span <= tandemSpan {
		return l.Tandem, RuleTandem
	}
	n := singles(at)
	limit, _ := BridgeFormula(nearestFoot(span), n)
	rule := RuleFormula
	if most := l.Single * trade.Pounds(n); most < limit {
		limit, rule = most, RulePerAxle
	}
	if both := 2 * l.Tandem; both > limit && twoTandems(at) {
		limit, rule = both, RuleTwoTandems
	}
	return limit, rule
}

// singles returns how many axles a group has when those within 40 inches count as one. [cfr-658-17]
func singles(at []int) int {
	n, first := 1, at[0]
	for _, p := range at {
		if p-first > singleSpan {
			n, first = n+1, p
		}
	}
	return n
}

// twoTandems reports whether the group is two consecutive tandems, 36 feet or more from first to last axle.
// [usc-23-127]
func twoTandems(at []int) bool {
	if at[len(at)-1]-at[0] < twoTandemsSpan {
		return false
	}
	tandem := func(part []int) bool {
		span := part[len(part)-1] - part[0]
		return span > singleSpan && span <= tandemSpan
	}
	for cut := 2; cut <= len(at)-2; cut++ {
		if tandem(at[:cut]) && tandem(at[cut:]) {
			return true
		}
	}
	return false
}

// nearestFoot enters the tables [missouri-304-180]; half a foot goes down, to the lower limit.
func nearestFoot(span int) int { return (span + footSpan/2 - 1) / footSpan }

// positions returns where the axles stand in hundredths of an inch from the first.
func (r Rig) positions() ([]int, error) {
	var bad problem.InputErrors
	if len(r.Weights) < 2 || len(r.Spacing) != len(r.Weights)-1 {
		bad = append(bad, &problem.InputError{
			Rule: "axle.count", Label: "axle weights", Got: fmt.Sprintf("%d weights, %d spacings", len(r.Weights), len(r.Spacing)),
			Want: "two axles or more, and one spacing fewer than axles",
			Next: "Give the distance between each axle and the next, then the weight on each axle.",
		})
		return nil, bad
	}
	const farthest = 100 * units.Foot
	at := make([]int, len(r.Weights))
	for i, d := range r.Spacing {
		if !(d > 0 && d <= farthest) {
			bad = append(bad, &problem.InputError{
				Rule: "axle.spacing", Label: fmt.Sprintf("distance from axle %d to %d", i+1, i+2),
				Got: fmt.Sprintf("%.4g ft", d.Feet()), Want: "more than 0 to 100 ft",
			})
			continue
		}
		at[i+1] = at[i] + int(math.Round(d.Inches()*100))
	}
	for i, w := range r.Weights {
		if w < 0 || w > 200000 {
			bad = append(bad, &problem.InputError{
				Rule: "axle.weight", Label: fmt.Sprintf("weight on axle %d", i+1),
				Got: fmt.Sprintf("%d lb", w), Want: "0 to 200,000 lb",
			})
		}
	}
	return at, bad.Or()
}

// A Split says how an empty rig stands on its axles and how a load spreads over them.
type Split struct {
	Spacing []units.Length
	Tare    []trade.Pounds // empty, one per axle
	Part    []float64      // of the load on each axle; sum 1
}

// MaxLoad returns the heaviest load that keeps every axle, group and the gross within l, and what stops it
// first: "axle 2", "axles 2 to 5" or "gross". Without a known split only the gross can be used; say so then.
func (s Split) MaxLoad(l Limits) (load trade.Pounds, by string, err error) {
	empty, err := Rig{Spacing: s.Spacing, Weights: s.Tare}.Check(l)
	if err != nil {
		return 0, "", err
	}
	var sum float64
	for _, p := range s.Part {
		if !(p >= 0) {
			sum = math.NaN()
		}
		sum += p
	}
	if len(s.Part) != len(s.Tare) || !(math.Abs(sum-1) < 1e-6) {
		return 0, "", &problem.InputError{
			Rule: "axle.split", Label: "parts of the load on each axle", Got: fmt.Sprintf("%d parts, sum %.4g", len(s.Part), sum),
			Want: "one part per axle, 0 to 1, sum 1",
		}
	}
	load = math.MaxInt64
	hold := func(limit, tare trade.Pounds, part float64, name string) {
		if part <= 0 {
			return
		}
		const hair = 1e-6 // lb, so that a part such as 0.1+0.2 does not cost a whole pound
		if most := trade.Pounds(math.Floor((limit-tare).Float()/part + hair)); most < load {
			load, by = most, name
		}
	}
	hold(l.Gross, empty.Gross, 1, "gross")
	for i, a := range empty.Axles {
		hold(a.Limit, a.Weight, s.Part[i], fmt.Sprintf("axle %d", a.Axle))
	}
	for _, g := range empty.Groups {
		var part float64
		for _, p := range s.Part[g.From-1 : g.To] {
			part += p
		}
		hold(g.Limit, g.Weight, part, fmt.Sprintf("axles %d to %d", g.From, g.To))
	}
	if load < 0 || !empty.Legal {
		return 0, by, &problem.InputError{
			Rule: "axle.tare", Label: "empty weight", Got: fmt.Sprintf("%d lb", empty.Gross), Want: "within the limits when empty",
			Next: "Check the axle weights and spacings of the empty rig.",
		}
	}
	return load, by, nil
}
