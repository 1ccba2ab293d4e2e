package linear

// Extend returns the basis for the same problem with columns appended: they stand at their lower bounds, everything else as it
// did. Panics where that would take columns away.
func (b *Basis) Extend(columns int) *Basis {
	old := len(b.Columns)
	if columns < old {
		panic("linear: a basis extended to fewer columns")
	}
	out := &Basis{Columns: make([]Standing, columns), Rows: b.Rows}
	copy(out.Columns, b.Columns)
	if b.weight != nil {
		out.weight = make([]float64, columns+len(b.Rows))
		copy(out.weight, b.weight[:old])
		copy(out.weight[columns:], b.weight[old:])
	}
	return out
}
