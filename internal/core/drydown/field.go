package drydown

import (
	"math"

	"threshday/internal/core/calendar"
)

// MaxStrata bounds the strata of a field, so that a State is a plain value.
const MaxStrata = 9

// DefaultStrata is how many strata a field has unless told otherwise. [judgement]
const DefaultStrata = 5

// A Field is one field as strata of equal dry matter that ripen on different days, with a small part that
// does not ripen with the rest. It holds no state.
type Field struct {
	Params        Params
	ImmatureShare float64 // of the dry matter, 0 to below 1; see SetImmature
	Uneven        bool    // replant, ponding or mixed soils: samples differ more
	SpreadDays    float64 // spread of maturity among strata, SD
	quantiles     []float64
}

// An Evenness is what the owner says about how a field stands.
type Evenness uint8

// The evennesses. The zero Evenness is one nobody has told, taken as SomeUnevenness.
const (
	UnknownEvenness Evenness = iota
	Even
	SomeUnevenness
	Uneven // replant, ponding, mixed soils
)

// ParseEvenness reads "even", "some", "uneven", or the empty string.
func ParseEvenness(s string) (Evenness, bool) {
	switch s {
	case "":
		return UnknownEvenness, true
	case "even":
		return Even, true
	case "some":
		return SomeUnevenness, true
	case "uneven":
		return Uneven, true
	default:
		return UnknownEvenness, false
	}
}

// NewField returns a field of p with DefaultStrata strata and the immature share of p.
func NewField(p Params, e Evenness) *Field {
	area := p.AreaSome
	switch e {
	case Even:
		area = p.AreaEven
	case Uneven:
		area = p.AreaUneven
	case UnknownEvenness, SomeUnevenness:
	}
	f := NewStrata(p, DefaultStrata, math.Sqrt(p.PodDays*p.PodDays+area*area))
	f.Uneven = e == Uneven
	f.SetImmature(p.ImmatureShare)
	return f
}

// ripeRestWB is the moisture of the rest when the immature share is told by weight, % wet basis. [judgement]
const ripeRestWB = 13

// SetImmature sets the part that will not ripen with the rest from its share of the weight in the tank, where it
// is at Params.ImmatureWB and the rest at 13 %: two parts in a hundred then add 0.54 point.
func (f *Field) SetImmature(shareOfWeight float64) {
	if !(shareOfWeight >= 0 && shareOfWeight < 1) {
		panic("drydown: immature share outside 0 to below 1")
	}
	dry := shareOfWeight * (100 - f.Params.ImmatureWB)
	f.ImmatureShare = dry / (dry + float64((1-shareOfWeight)*(100-ripeRestWB)))
}

// NewStrata returns a field of n strata whose maturity spreads by spreadDays (SD), at normal quantiles
// (i+½)/n scaled so that their mean square is 1, and no immature share. One stratum has no spread: it is the
// plain model.
func NewStrata(p Params, n int, spreadDays float64) *Field {
	if n < 1 || n > MaxStrata {
		panic("drydown: 1 to 9 strata")
	}
	q := make([]float64, n)
	var square float64
	for i := range q {
		q[i] = normalQuantile((float64(i) + 0.5) / float64(n))
		square += q[i] * q[i] / float64(n)
	}
	for i := range q {
		if square > 0 {
			q[i] /= math.Sqrt(square)
		}
	}
	return &Field{Params: p, SpreadDays: spreadDays, quantiles: q}
}

// Strata returns the number of strata.
func (f *Field) Strata() int { return len(f.quantiles) }

// Chances are what differs from member to member besides the weather. The zero Chances are the middle.
type Chances struct {
	ShiftDays float64 // maturity later than estimated
	Kappa     float64 // log of the factor on the drying rate
	EMCWB     float64 // equilibrium above the curve, points near 13 % wet basis
	LevelWB   float64 // field mean above what the model says now, points wet basis
}

// dryPerWet is points dry basis per point wet basis at 13 % wet basis, (100/87)²·100/100.
const dryPerWet = 10000.0 / (87 * 87)

// A State is the moisture of one field in one member at the beginning of cell At. It is a plain value: copy it
// to try something.
type State struct {
	At       calendar.Hour
	n        int
	db       [MaxStrata]float64       // % dry basis
	ripe     [MaxStrata]calendar.Hour // first cell in which the stratum dries
	green    float64                  // moisture of the immature part, % dry basis
	dies     calendar.Hour            // first cell in which it dries by itself
	mature   float64                  // moisture of a stratum at its maturity, % dry basis
	factor   float64                  // exp(κ)
	emcShift float64                  // % dry basis
	astray   wander
}

// Start returns the field at the beginning of cell at with the median plant mature at the beginning of cell
// ripe, moved by the chances. Strata that would be mature before at start to dry at at: begin no later than
// FirstRipe to have all of their drying.
func (f *Field) Start(at, ripe calendar.Hour, c Chances) State {
	s := State{
		At: at, n: len(f.quantiles), mature: DryBasis(f.Params.MatureWB),
		factor: math.Exp(c.Kappa), emcShift: c.EMCWB * dryPerWet,
	}
	for i, q := range f.quantiles {
		s.ripe[i] = f.ripeHour(ripe, c.ShiftDays+float64(q*f.SpreadDays))
		s.db[i] = s.mature
	}
	s.green = s.mature
	s.dies = f.ripeHour(ripe, c.ShiftDays+f.Params.ImmatureDays)
	s.shiftLevel(f, c.LevelWB)
	return s
}

func (f *Field) ripeHour(median calendar.Hour, days float64) calendar.Hour {
	return median + calendar.Hour(math.Round(24*days))
}

// FirstRipe returns the cell in which the earliest stratum matures when the median plant does in cell ripe.
func (f *Field) FirstRipe(ripe calendar.Hour) calendar.Hour {
	return f.ripeHour(ripe, f.quantiles[0]*f.SpreadDays)
}

// MeanWB returns the moisture a scale would find in the whole field, % wet basis: all water over all weight.
func (f *Field) MeanWB(s *State) float64 { return WetBasis(f.meanDB(s)) }

func (f *Field) meanDB(s *State) float64 {
	var sum float64
	for _, db := range s.db[:s.n] {
		sum += db
	}
	return float64((1-f.ImmatureShare)*(sum/float64(s.n))) + float64(f.ImmatureShare*s.green)
}

// Stratum returns the moisture of stratum i, earliest first, % wet basis.
func (s *State) Stratum(i int) float64 { return WetBasis(s.db[i]) }

// Ripe returns the cell in which stratum i, earliest first, matures.
func (s *State) Ripe(i int) calendar.Hour { return s.ripe[i] }

// Moments returns the plain mean and the standard deviation of the strata as the whole population, % wet basis.
// The mean at the scale, [Field.MeanWB], is a little higher: wet grain weighs more.
func (s *State) Moments() (mean, sd float64) {
	var sum, squares float64
	for _, db := range s.db[:s.n] {
		wb := WetBasis(db)
		sum += wb
		squares += wb * wb
	}
	mean = sum / float64(s.n)
	return mean, math.Sqrt(max(0, squares/float64(s.n)-float64(mean*mean)))
}

// GreenShare returns the part of the dry matter that is not yet mature, 0 to 1.
func (f *Field) GreenShare(s *State) float64 {
	var share float64
	for _, ripe := range s.ripe[:s.n] {
		if s.At < ripe {
			share += (1 - f.ImmatureShare) / float64(s.n)
		}
	}
	if s.At < s.dies {
		share += f.ImmatureShare
	}
	return share
}

// ShareOver returns the part of the dry matter above limit, % wet basis: each stratum, and the immature part,
// counts as a normal spread of FloorSDWB around its own moisture, for the seeds in it differ.
func (f *Field) ShareOver(s *State, limitWB float64) float64 {
	var sum float64
	for _, db := range s.db[:s.n] {
		sum += normalAbove(limitWB, WetBasis(db), f.Params.FloorSDWB)
	}
	return float64((1-f.ImmatureShare)*(sum/float64(s.n))) +
		float64(f.ImmatureShare*normalAbove(limitWB, WetBasis(s.green), f.Params.FloorSDWB))
}

// The least and the most the mean of a field is ever moved to, % wet basis. [judgement]
const (
	leastMeanWB = 2
	mostMeanWB  = 80
)

// shiftLevel moves the mean at the scale by points wet basis: the water of every stratum changes by the same
// factor, so that wet ones move most and their order stays.
func (s *State) shiftLevel(f *Field, points float64) {
	if points == 0 {
		return
	}
	was := f.meanDB(s)
	to := DryBasis(min(max(WetBasis(was)+points, leastMeanWB), mostMeanWB))
	by := to / was
	for i := range s.db[:s.n] {
		s.db[i] *= by
	}
	s.green *= by
	s.mature *= by
}

// normalAbove returns the part of a normal distribution above x.
func normalAbove(x, mean, sd float64) float64 { return 0.5 * math.Erfc((x-mean)/(sd*math.Sqrt2)) }

// normalQuantile returns the value below which part p of a standard normal lies.
func normalQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }
