package solver

import "fmt"

// visits calls visit with the names of the three decisions that each combine has about each field in each workable
// block of a stage: z, whether it works there, s, whether it moves there, and q, whether it stands there at the end.
func (w *writer) visits(k int, visit func(names ...string)) {
	for b, block := range w.tree.Nodes[w.stages[k].node].Blocks {
		if block.Net == nil {
			continue
		}
		for c := range w.tree.Speeds {
			for f := range w.tree.Fields {
				visit(visit1("z", k, b, c, f), visit1("s", k, b, c, f), visit1("q", k, b, c, f))
			}
		}
	}
}

func visit1(kind string, k, b, c, f int) string {
	return fmt.Sprintf("%s_%d_%d_%d_%d", kind, k, b, c, f)
}

// moves writes how starts take combine time in one stage: a combine works where it has moved to, or where it stood at
// the end of the block before. It ends where it has moved to, or where it stood if it moved nowhere else.
func (w *writer) moves(k int) {
	t := w.tree
	for b, block := range t.Nodes[w.stages[k].node].Blocks {
		if block.Net == nil {
			continue
		}
		beforeStage, beforeBlock := w.previous(k, b)
		for c, speed := range t.Speeds {
			var time, ends []term
			for f, field := range t.Fields {
				var work []term
				w.each(k, func(bb, ff, _, cc int, _ float64, name string) {
					if bb == b && ff == f && cc == c {
						work = append(work, term{1 / (field.AcresPerHour * speed), name})
					}
				})
				z, s, e := visit1("z", k, b, c, f), visit1("s", k, b, c, f), visit1("q", k, b, c, f)
				hours := block.Share * t.BlockHours
				if len(work) > 0 {
					w.constrain(append(append([]term(nil), work...), term{-hours, z}), "<=", 0)
				}
				time = append(append(time, work...), term{t.MoveHours, s})
				ends = append(ends, term{1, e})
				there := []term{{1, s}}
				if beforeStage >= 0 {
					there = append(there, term{1, visit1("q", beforeStage, beforeBlock, c, f)})
				}
				w.constrain(append([]term{{-1, z}}, there...), ">=", 0)
				w.constrain(append([]term{{-1, e}}, there...), ">=", 0)
				for g := range t.Fields {
					if g != f {
						w.constrain([]term{{1, e}, {-1, s}, {1, visit1("s", k, b, c, g)}}, "<=", 1)
					}
				}
			}
			w.constrain(time, "<=", block.Share*t.BlockHours)
			w.constrain(ends, "<=", 1)
		}
	}
}

// previous returns the last workable block before block b of stage k on the way there; -1 where there is none.
func (w *writer) previous(k, b int) (stage, block int) {
	for b--; ; b-- {
		if b < 0 {
			if k = w.stages[k].before; k < 0 {
				return -1, -1
			}
			b = w.tree.Blocks
			continue
		}
		if w.tree.Nodes[w.stages[k].node].Blocks[b].Net != nil {
			return k, b
		}
	}
}
