package scenario

// Limits say how large programs may become. Sizes are counted, not timed, so that equal input gives equal
// answers on any machine; times are of one core of a two-core virtual machine.
type Limits struct {
	// ExactColumns is the largest program of the whole tree that is solved. At 100,000 columns it takes some seconds.
	ExactColumns int
	// WaitColumns is the largest product of columns and fields for waiting values; above it they come from a
	// draw of leaves.
	WaitColumns int
	// ForesightColumns is the largest sum of columns over the leaves, each known from the first day, that is solved. Above it there
	// is a bound from prices that steps have found, and no value of foresight.
	ForesightColumns int
	// MorningColumns is the largest program of one morning, SeasonColumns that of all mornings together; above
	// either, mornings look at a draw of the leaves below them.
	MorningColumns, SeasonColumns int
	// Where moves take time, MoveColumns is the largest program of the whole tree with whole starts that is searched, MoveWork the
	// product of its columns and the programs solved on the way.
	MoveColumns, MoveWork int
	// LeafColumns is how many columns a leaf has in the mean above which its program is sifted. Mornings and waiting values then look
	// at the cells that foresight on some leaf came to know or nearly wants, in programs of up to ListedColumns.
	LeafColumns, ListedColumns int
	// ReliefColumns is the largest sum of columns of the programs that look for what halves the acres left standing.
	ReliefColumns int
}

// DefaultLimits returns limits within which a tree is answered in seconds. [judgement]
func DefaultLimits() Limits {
	return Limits{
		ExactColumns: 60_000, WaitColumns: 1_500_000, ForesightColumns: 6_000_000, MorningColumns: 100_000, SeasonColumns: 40_000_000,
		MoveColumns: 4_000, MoveWork: 200_000, LeafColumns: 300, ListedColumns: 24_000, ReliefColumns: 60_000,
	}
}

// morningColumns returns the largest program of one morning: a cell costs more where only listed ones are left.
func (s *season) morningColumns(l Limits) int {
	if s.menu == nil {
		return l.MorningColumns
	}
	return min(l.MorningColumns, l.ListedColumns)
}

// waitingColumns returns the largest program that values waiting on a draw of leaves. It is solved twice a field.
func (s *season) waitingColumns(l Limits) int {
	if s.menu == nil {
		return l.WaitColumns / len(s.Fields)
	}
	return min(l.WaitColumns/len(s.Fields), l.ListedColumns/2)
}

// fewestLeaves is how many leaves a morning looks at however many mornings there are. [judgement]
const fewestLeaves = 4

// A size holds how many columns programs of a tree have at most.
type size struct {
	own   []int // by node: its cells that earn something and are on the menu
	paths []int // by node: those of the nodes below it, each counted once for every leaf below
	whole int   // cells of all nodes that earn something, on the menu or not
}

func (s *season) measure() size {
	z := size{own: make([]int, len(s.Nodes)), paths: make([]int, len(s.Nodes))}
	for k := len(s.order) - 1; k >= 0; k-- {
		n := s.order[k]
		for b := range s.Nodes[n].Blocks {
			block := &s.Nodes[n].Blocks[b]
			if !workable(block) {
				continue
			}
			for k, net := range block.Net {
				if net <= 0 {
					continue
				}
				z.whole++
				if s.menu == nil || n == s.root || s.menu.has(n, b*len(block.Net)+k) {
					z.own[n]++
				}
			}
		}
		for _, c := range s.children[n] {
			z.paths[n] += s.leavesBelow(c)*z.own[c] + z.paths[c]
		}
	}
	return z
}

func (s *season) leavesBelow(n int) int { return s.below[n][1] - s.below[n][0] }

// uncertain says that what follows a node is not known there, and something can be done there about it.
func (s *season) uncertain(n int, z *size) bool { return z.own[n] > 0 && s.leavesBelow(n) > 1 }

// morning returns the most columns that a morning's program may have for all mornings to stay within limits.
func (s *season) morning(z *size, l Limits) int {
	most := s.morningColumns(l)
	for ; most > 1; most /= 2 {
		sum := 0
		for n := range s.Nodes {
			if s.uncertain(n, z) {
				sum += min(most, z.own[n]+z.paths[n])
			}
		}
		if sum <= l.SeasonColumns {
			break
		}
	}
	return most
}

// mostTries is how many programs a morning solves at most where moves take time. [judgement]
const mostTries = 60

// tries returns how many programs a morning may solve for all mornings to stay within limits.
func (s *season) tries(z *size, l Limits) int {
	sum := 1
	for n := range s.Nodes {
		sum += min(s.morningColumns(l), z.own[n]+z.paths[n])
	}
	return max(1, min(mostTries, l.SeasonColumns/sum))
}

// few returns the weights of a draw of leaves below a node, so many that a program stays within a number of
// columns; nil where all leaves do. The draw is systematic: leaves are laid out side by side by their
// probabilities and at least the fewest picked at equal steps, so that neighbours stand for each other.
func (s *season) few(n int, z *size, columns, fewest int, seed uint64) []float64 {
	leaves := s.leavesBelow(n)
	if z.own[n]+z.paths[n] <= columns || leaves <= fewest {
		return nil
	}
	picks := max(fewest, leaves*columns/(z.own[n]+z.paths[n]))
	weight := make([]float64, len(s.leaves))
	step := s.weight[n] / float64(picks)
	next, passed := step*chance(seed, uint64(n)), 0.0 //nolint:gosec // an index
	for k := s.below[n][0]; k < s.below[n][1]; k++ {
		passed += s.weight[s.leaves[k]]
		for ; next < passed; next += step {
			weight[k] += step
		}
	}
	return weight
}

// chance returns a number in [0,1) drawn from a seed for a purpose.
func chance(seed, purpose uint64) float64 {
	k := seed*0x9e3779b97f4a7c15 + purpose + 0x9e3779b97f4a7c15 // [splitmix-2014]
	k = (k ^ k>>30) * 0xbf58476d1ce4e5b9
	k = (k ^ k>>27) * 0x94d049bb133111eb
	return float64((k^k>>31)>>11) / (1 << 53)
}
