package scenario

import (
	"cmp"
	"slices"
)

// A season is a checked tree with what every calculation needs beside it.
type season struct {
	*Tree
	weight   []float64 // by node: its probability, made to agree with the leaves below to the last digit
	dests    int
	speed    float64 // of all combines together
	root     int
	order    []int // nodes, parents before children
	children [][]int
	leaves   []int // nodes without children; those below a node are neighbours
	watch    *watch
	menu     *menu     // the cells that programs look at; nil: all
	sight    []*answer // by leaf: its sifted program; nil where none is
	below    [][2]int  // by node: its leaves are leaves[below[0]:below[1]]
	wish     wish      // what programs of the whole tree that value waiting are written for
}

func newSeason(t *Tree) *season {
	s := &season{Tree: t, dests: len(t.Destinations), root: -1, watch: &watch{}, wish: wish{mean: 1}}
	for _, v := range t.Speeds {
		s.speed += v
	}
	s.children = make([][]int, len(t.Nodes))
	s.order = make([]int, len(t.Nodes))
	for n, node := range t.Nodes {
		s.order[n] = n
		if node.Parent < 0 {
			s.root = n
		} else {
			s.children[node.Parent] = append(s.children[node.Parent], n)
		}
	}
	slices.SortStableFunc(s.order, func(a, b int) int { return cmp.Compare(t.Nodes[a].Day, t.Nodes[b].Day) })
	s.below = make([][2]int, len(t.Nodes))
	s.findLeaves(s.root)
	s.weigh()
	return s
}

// weigh sets the weights of nodes from the leaves up, so that no rounding in the tree's probabilities sets
// averages over leaves and over nodes apart.
func (s *season) weigh() {
	s.weight = make([]float64, len(s.Nodes))
	all := 0.0
	for _, n := range s.leaves {
		all += s.Nodes[n].Probability
	}
	for k := len(s.order) - 1; k >= 0; k-- {
		n := s.order[k]
		if len(s.children[n]) == 0 {
			s.weight[n] = s.Nodes[n].Probability / all
		}
		for _, c := range s.children[n] {
			s.weight[n] += s.weight[c]
		}
	}
}

func (s *season) findLeaves(n int) {
	s.below[n][0] = len(s.leaves)
	if len(s.children[n]) == 0 {
		s.leaves = append(s.leaves, n)
	}
	for _, c := range s.children[n] {
		s.findLeaves(c)
	}
	s.below[n][1] = len(s.leaves)
}

// hours returns the combine hours of a block, all combines together at their speeds.
func (s *season) hours(b *Block) float64 { return b.Share * s.BlockHours * s.speed }

// workable says that something can be cut in a block.
func workable(b *Block) bool { return b.Net != nil && b.Share > 0 }

// path returns the nodes from the child of top down to node n; from the root on when top is -1.
func (s *season) path(top, n int) []int {
	var nodes []int
	for ; n != top; n = s.Nodes[n].Parent {
		nodes = append(nodes, n)
	}
	slices.Reverse(nodes)
	return nodes
}

// A state is what is left of the season's fields and destinations at some node.
type state struct {
	acres   []float64 // by field
	bushels []float64 // by destination
	at      []int     // by combine: the field it stands in, -1 for none
}

// fresh returns the state before the first day.
func (s *season) fresh() state {
	st := state{acres: make([]float64, len(s.Fields)), bushels: make([]float64, s.dests)}
	for f, field := range s.Fields {
		st.acres[f] = field.Acres
	}
	for d, dest := range s.Destinations {
		st.bushels[d] = dest.TotalBushels
	}
	st.at = slices.Repeat([]int{-1}, len(s.Speeds))
	return st
}

// after returns the state once cuts are taken off.
func (s *season) after(st state, cuts []Cut) state {
	next := state{acres: slices.Clone(st.acres), bushels: slices.Clone(st.bushels), at: slices.Clone(st.at)}
	for _, c := range cuts {
		next.acres[c.Field] = max(0, next.acres[c.Field]-c.Acres)
		if next.acres[c.Field] < leastAcres {
			next.acres[c.Field] = 0
		}
		next.at[c.Combine] = c.Field
		next.bushels[c.Destination] = max(0, next.bushels[c.Destination]-c.Acres*s.Fields[c.Field].BushelsPerAcre)
	}
	return next
}

// value returns the expected net of a plan, $.
func (s *season) value(p Plan) float64 {
	sum := 0.0
	for n, cuts := range p {
		sum += s.weight[n] * s.earn(n, cuts)
	}
	return sum
}

// earn returns what cuts net at a node, $.
func (s *season) earn(n int, cuts []Cut) float64 {
	sum := 0.0
	for _, c := range cuts {
		sum += c.Acres * s.Nodes[n].Blocks[c.Block].Net[c.Field*s.dests+c.Destination]
	}
	return sum
}
