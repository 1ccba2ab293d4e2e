package planner

import "math"

// led returns where combine k is led to in hour h of day 0; ok is false where the rule decides. It goes down its lead, past
// what is cut and what cannot be cut now, and never back up. Where only a truck is missing it stays, field -1.
func (e *evaluator) led(s *state, m, h, k int, trucks float64, rule Rule, bend bends) (field, destination int, ok bool) {
	t := e.t
	list := bend.leads(k)
	for p := s.led[k]; p < len(list); p++ {
		f := list[p]
		if s.acres[f] <= leastAcres || t.Combines[k].Rate[f] <= 0 || s.best[f] < 0 || bend.notBefore(f) > 0 {
			continue
		}
		d, net := e.destination(s, m, h, f, trucks, rule.Haul)
		if d < 0 && s.at[k] == f {
			if d, _ := e.destination(s, m, h, f, math.Inf(1), rule.Haul); d >= 0 {
				return -1, -1, true
			}
		}
		if d >= 0 && net > 0 {
			s.led[k] = p
			return f, d, true
		}
	}
	return -1, -1, false
}
