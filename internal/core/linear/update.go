package linear

// forward replaces v by B⁻¹v.
func (f *factor) forward(v *vec) {
	f.lower.solve(v, f.walk)
	f.upper.solve(v, f.walk)
	val := v.val
	for k, r := range f.etaRow {
		x := val[r]
		if x == 0 {
			continue
		}
		x /= f.etaPivot[k]
		val[r] = x
		index, value := f.eta.at(int32(k))
		for e, i := range index {
			old := val[i]
			if old == 0 {
				v.idx = append(v.idx, i)
			}
			val[i] = keep(old - value[e]*x)
		}
	}
}

// backward replaces v by B⁻ᵀv.
func (f *factor) backward(v *vec) {
	val := v.val
	for k := len(f.etaRow) - 1; k >= 0; k-- {
		r := f.etaRow[k]
		old := val[r]
		x := old
		index, value := f.eta.at(int32(k)) //nolint:gosec // within range by construction
		for e, i := range index {
			x -= value[e] * val[i]
		}
		if old == 0 {
			if x == 0 {
				continue
			}
			v.idx = append(v.idx, r)
		}
		val[r] = keep(x / f.etaPivot[k])
	}
	f.upperT.solve(v, f.walk)
	f.lowerT.solve(v, f.walk)
}

// update lets the column that solves to alpha take position r.
func (f *factor) update(r int32, alpha *vec) {
	f.etaRow = append(f.etaRow, r)
	f.etaPivot = append(f.etaPivot, alpha.val[r])
	f.eta.begin = append(f.eta.begin, len(f.eta.index))
	for _, i := range alpha.idx {
		if v := alpha.val[i]; i != r && (v > noise || v < -noise) {
			f.eta.index = append(f.eta.index, i)
			f.eta.value = append(f.eta.value, v)
		}
	}
	f.eta.end = append(f.eta.end, len(f.eta.index))
}
