package drydown

import "math"

// decayTable holds 2^(−j/32), each the product of square roots of one half; read only.
var decayTable = func() (t [32]float64) {
	for j := range t {
		t[j] = 1
		root := math.Sqrt(0.5)
		for bit := 16; bit > 0; bit /= 2 {
			if j&bit != 0 {
				t[j] *= root
			}
			root = math.Sqrt(root)
		}
	}
	return t
}()

const (
	decayPerUnit = 32 / math.Ln2
	decayStep    = math.Ln2 / 32
	decayEnd     = 700 // exp(−700) is next to the least float64
)

// decay returns exp(−x) for x of 0 or more, within 1e-13 of its size, in a fraction of the time of math.Exp, which
// was two thirds of a season's run. No step is left to the processor to fuse, so the bits are the same on all of
// them, which those of math.Exp are not.
func decay(x float64) float64 {
	if !(x < decayEnd) {
		return math.Exp(-x) // also NaN
	}
	n := uint32(float64(x * decayPerUnit))
	r := x - float64(float64(n)*decayStep) // 0 to ln 2/32
	// exp(−r) by its series to the sixth power, the rest is under 2e-16.
	p := 1.0/120 - float64(r*(1.0/720))
	p = 1.0/24 - float64(r*p)
	p = 1.0/6 - float64(r*p)
	p = 0.5 - float64(r*p)
	p = 1 - float64(r*p)
	p = 1 - float64(r*p)
	scale := math.Float64frombits(uint64(1023-n>>5) << 52)
	return float64(p*decayTable[n&31]) * scale
}
