package scenario

import (
	"cmp"
	"slices"
)

// tailShare is the part of the weathers, by probability, that counts as the bad ones.
const tailShare = 0.1

// A Risk is how the earnings of a plan spread over the weathers, $.
type Risk struct {
	P10USD  float64 // one weather in ten, by probability, earns no more
	TailUSD float64 // mean over the worst tenth: conditional value at risk [rockafellar-uryasev-2000]
}

// risk returns how a plan's earnings spread over the leaves.
func (s *season) risk(p Plan) Risk {
	var r Risk
	for _, o := range s.worst(p) {
		r.TailUSD += o.part * o.usd / tailShare
		r.P10USD = o.usd
	}
	return r
}

// An outcome is a leaf of the worst tenth.
type outcome struct {
	leaf int     // as numbered in the season's leaves
	usd  float64 // that the plan earns there
	part float64 // of the tenth, by probability
}

// worst returns the leaves of a plan's worst tenth, the worst first.
func (s *season) worst(p Plan) []outcome {
	out := make([]outcome, len(s.leaves))
	for k, leaf := range s.leaves {
		out[k] = outcome{leaf: k, part: s.weight[leaf]}
		for _, n := range s.path(-1, leaf) {
			out[k].usd += s.earn(n, p[n])
		}
	}
	slices.SortStableFunc(out, func(a, b outcome) int { return cmp.Compare(a.usd, b.usd) })
	left := tailShare
	for k := range out {
		out[k].part = min(left, out[k].part) // of the leaf in which the tenth ends only its share of it
		if left -= out[k].part; left <= 1e-12 {
			return out[:k+1]
		}
	}
	return out
}
