package weather

import "slices"

// An anchor is by how much a member's curve is moved at one hour.
type anchor struct {
	at int
	by float64
}

// move adds to row[from:to] the straight lines between anchors; before the first it keeps its value.
func move(row []float32, from, to int, anchors []anchor) {
	slices.SortStableFunc(anchors, func(a, b anchor) int { return a.at - b.at })
	k := 0
	for i := from; i < to; i++ {
		for k+1 < len(anchors) && anchors[k+1].at <= i {
			k++
		}
		by := anchors[k].by
		if i > anchors[k].at && k+1 < len(anchors) {
			next := anchors[k+1]
			by += (next.by - by) * float64(i-anchors[k].at) / float64(next.at-anchors[k].at)
		}
		row[i] += float32(by)
	}
}
