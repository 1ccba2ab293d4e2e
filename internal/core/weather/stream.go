package weather

import (
	"encoding/binary"
	"math"
	"math/bits"

	"threshday/internal/core/calendar"
)

// A Purpose says what a [Stream] is drawn for, so that two uses on one day never share numbers. Weather's own
// lie below 100; another package takes a hundred of its own and declares them beside their use.
type Purpose uint32

// The purposes of weather.
const (
	rainHours   Purpose = iota + 1 // hours of a daily total in a record
	rainAmount                     // amount of a member that a forecast turns wet
	rainPart                       // whether a member follows the part of the day a forecast names
	leadHours                      // hours of a member's forecast rain
	drawnWet                       // whether a drawn day is wet
	drawnRain                      // how much falls on it
	drawnSpells                    // and when
	drawnDay                       // its anomalies
	drawnHours                     // what its hours differ by from the day's shape
	rankTies                       // ties of a rank, broken evenly
)

// A Stream is a run of random numbers that is a pure function of root, member, day and purpose: the same four
// give the same run, whatever else was drawn, in any order and on any number of goroutines. Member i is
// therefore the same in an ensemble of 50 and of 500. The generator is the counter-based Philox4x64 with ten
// rounds. [salmon-2011]
type Stream struct {
	key   [2]uint64
	block [4]uint64 // counter: number of the block, member and day, purpose with root, root
	out   [4]uint64
	left  int
}

// NewStream returns the stream of one member on one day for one purpose. All 256 bits of root count; a root
// that looks random, such as a hash, is best. Member must lie in 0 to 2³¹−1.
func NewStream(root [32]byte, member int, day calendar.Day, purpose Purpose) Stream {
	word := func(i int) uint64 { return binary.LittleEndian.Uint64(root[8*i:]) }
	//nolint:gosec // within range by construction
	number := uint32(day.DaysSince(calendar.Day{Year: 1970, Month: 1, Date: 1})) // days before it wrap, still apart
	return Stream{
		key:   [2]uint64{word(0), word(1)},
		block: [4]uint64{0, uint64(uint32(member))<<32 | uint64(number), word(2) + uint64(purpose), word(3)}, //nolint:gosec // within range by construction
	}
}

// Uint64 returns the next 64 random bits.
func (s *Stream) Uint64() uint64 {
	if s.left == 0 {
		s.out = philox(s.block, s.key)
		s.block[0]++
		s.left = len(s.out)
	}
	s.left--
	return s.out[len(s.out)-1-s.left]
}

// Uniform returns the next number between 0 and 1, neither end included: the middle of one of 2⁵² equal steps,
// which float64 holds exactly.
func (s *Stream) Uniform() float64 { return (float64(s.Uint64()>>12) + 0.5) * 0x1p-52 }

// Below returns a whole number from 0 to n−1, each equally likely but for one part in 2⁵²; n must be above 0.
func (s *Stream) Below(n int) int {
	if n <= 0 {
		panic("weather: nothing to draw from")
	}
	return int(s.Uniform() * float64(n))
}

// Normal returns a standard normal number by inverting its distribution, one uniform a draw. The standard
// library's inverse error function is algorithm AS 241. [wichura-1988]
func (s *Stream) Normal() float64 { return math.Sqrt2 * math.Erfinv(2*s.Uniform()-1) }

// Gamma returns a gamma number of the shape given and scale 1, hence of mean shape, by rejection from a cubed
// normal; it takes as many draws as it needs. Panics unless shape is above 0. [marsaglia-tsang-2000]
func (s *Stream) Gamma(shape float64) float64 {
	if !(shape > 0) {
		panic("weather: gamma shape not above zero")
	}
	if shape < 1 { // section 6: a number of shape+1, lowered by a power of a uniform
		return s.Gamma(shape+1) * math.Pow(s.Uniform(), 1/shape)
	}
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := s.Normal()
		v := 1 + c*x
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(s.Uniform()) < x*x/2+d*(1-v+math.Log(v)) {
			return d * v
		}
	}
}

// Multipliers and key steps of Philox4x64, [salmon-2011] table 2 and section 4.3: the steps are the fractions
// of the golden ratio and of the square root of three.
const (
	philoxM0 = 0xD2E7470EE14C6C93
	philoxM1 = 0xCA5A826395121157
	philoxW0 = 0x9E3779B97F4A7C15
	philoxW1 = 0xBB67AE8584CAA73B
)

func philox(c [4]uint64, k [2]uint64) [4]uint64 {
	for range 10 {
		hi0, lo0 := bits.Mul64(philoxM0, c[0])
		hi1, lo1 := bits.Mul64(philoxM1, c[2])
		c = [4]uint64{hi1 ^ c[1] ^ k[0], lo1, hi0 ^ c[3] ^ k[1], lo0}
		k[0] += philoxW0
		k[1] += philoxW1
	}
	return c
}
