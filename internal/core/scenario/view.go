package scenario

// A stage is one day in the eyes of a decision: the node whose tables hold, the stage before, and the weight
// of what is earned there. Several stages may stand for the same node, each for another leaf.
type stage struct {
	node, parent int
	leaf         int // the node of the leaf that is taken as known; -1 where none is
	weight       float64
}

// A view is a tree of stages, parents first. Decisions of one stage are one; so the view says who knows what:
// stages that are shared know no more than the node, stages repeated for every leaf know the leaf.
type view []stage

// whole returns the view that knows at every node what the node knows: the tree itself.
func (s *season) whole() view { return s.shared(s.root, s.Days, nil) }

// shared returns the view from a node on that knows what the nodes know for the given number of days, and
// after them knows each leaf. One day gives the two-stage program of today's decision. Leaves count with the
// given weights, in the order of s.leaves; those of weight zero are left out. Nil takes their own.
func (s *season) shared(from, days int, weight []float64) view {
	l := looking{season: s, until: s.Nodes[from].Day + days, weight: weight}
	l.extend(from, -1)
	return l.view
}

// A looking is a view being made.
type looking struct {
	*season
	until  int // first day that is known by leaf
	weight []float64
	view   view
}

func (l *looking) extend(n, parent int) {
	weight := l.weigh(n)
	if weight == 0 {
		return
	}
	at := len(l.view)
	l.view = append(l.view, stage{node: n, parent: parent, leaf: -1, weight: weight})
	for _, c := range l.children[n] {
		if l.Nodes[c].Day < l.until {
			l.extend(c, at)
			continue
		}
		for _, leaf := range l.leaves[l.below[c][0]:l.below[c][1]] {
			if weight := l.weigh(leaf); weight > 0 {
				l.follow(l.path(n, leaf), at, leaf, weight)
			}
		}
	}
}

// follow appends the stages of a path that is known to its leaf.
func (l *looking) follow(path []int, parent, leaf int, weight float64) {
	for _, m := range path {
		l.view = append(l.view, stage{node: m, parent: parent, leaf: leaf, weight: weight})
		parent = len(l.view) - 1
	}
}

func (l *looking) weigh(n int) float64 {
	if l.weight == nil {
		return l.season.weight[n]
	}
	sum := 0.0
	for _, w := range l.weight[l.below[n][0]:l.below[n][1]] {
		sum += w
	}
	return sum
}

// foresight returns the view of one leaf known from the root on.
func (s *season) foresight(leaf int) view {
	l := looking{season: s}
	l.follow(s.path(-1, leaf), -1, leaf, 1)
	return l.view
}

// repeats says that some node stands in a view more than once.
func (v view) repeats() bool {
	seen := make(map[int]bool, len(v))
	for _, st := range v {
		if seen[st.node] {
			return true
		}
		seen[st.node] = true
	}
	return false
}
