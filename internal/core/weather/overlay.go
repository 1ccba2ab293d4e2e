package weather

import "threshday/internal/core/calendar"

// Over returns both series as one, with the values of top where it has any. Either may be nil.
func (s *Series) Over(top *Series) *Series {
	switch {
	case s == nil || s.Len() == 0:
		return top
	case top == nil || top.Len() == 0:
		return s
	}
	start := min(s.Start, top.Start)
	out := NewSeries(start, int(max(s.End(), top.End())-start))
	for _, layer := range []*Series{s, top} {
		for v := range layer.V {
			at := int(layer.Start - start)
			for i, from := range layer.From[v] {
				if from != Missing {
					out.V[v][at+i], out.From[v][at+i] = layer.V[v][i], from
				}
			}
		}
	}
	return out
}

// Until returns the hours before end; they stay those of the series.
func (s *Series) Until(end calendar.Hour) *Series {
	n := max(0, min(s.Len(), int(end-s.Start)))
	out := &Series{Start: s.Start}
	for v := range s.V {
		out.V[v], out.From[v] = s.V[v][:n:n], s.From[v][:n:n]
	}
	return out
}
