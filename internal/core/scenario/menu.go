package scenario

// A menu lists the cells of a tree that programs look at: by node a set of cells.
type menu struct {
	*season
	sets [][]uint64 // by node; nil: none
}

// cell numbers the cells of a node.
func (s *season) cell(b, f, d int) int { return (b*len(s.Fields)+f)*s.dests + d }

// cells returns how many cells a node has at most.
func (s *season) cells() int { return s.Blocks * len(s.Fields) * s.dests }

func (m *menu) has(node, cell int) bool {
	set := m.sets[node]
	return set != nil && set[cell/64]>>(cell%64)&1 != 0
}

// add puts cells on the menu that are given by place: stage of a view and cell of its node.
func (m *menu) add(v view, places []int32) {
	for _, place := range places {
		node, cell := v[int(place)/m.cells()].node, int(place)%m.cells()
		if m.sets[node] == nil {
			m.sets[node] = make([]uint64, (m.cells()+63)/64)
		}
		m.sets[node][cell/64] |= 1 << (cell % 64)
	}
}

// allCells returns the season without a menu.
func (s *season) allCells() *season {
	all := *s
	all.menu, all.sight = nil, nil
	return &all
}

// proves returns what the duals of a program prove about the program of all cells.
func (s *season) proves(q *question) float64 {
	if s.menu == nil {
		return q.base.Bound
	}
	return s.allCells().build(q.view, s.fresh(), plain).lp.DualBound(q.base.RowDual)
}
