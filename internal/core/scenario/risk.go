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
	type outcome struct{ usd, weight float64 }
	out := make([]outcome, len(s.leaves))
	for k, leaf := range s.leaves {
		out[k].weight = s.weight[leaf]
		for _, n := range s.path(-1, leaf) {
			out[k].usd += s.earn(n, p[n])
		}
	}
	slices.SortStableFunc(out, func(a, b outcome) int { return cmp.Compare(a.usd, b.usd) })
	var r Risk
	left := tailShare
	for _, o := range out {
		part := min(left, o.weight) // of the leaf in which the tenth ends only its share of it
		r.TailUSD += part * o.usd / tailShare
		r.P10USD = o.usd
		if left -= part; left <= 1e-12 {
			break
		}
	}
	return r
}
