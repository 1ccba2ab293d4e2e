package season

import (
	"math"
	"strconv"

	"threshday/internal/core/scenario"
)

// Write returns a tree in the form that `threshday solve` reads. Numbers are written so that they read back to
// the same bits.
func Write(t *scenario.Tree) []byte {
	w := &writer{}
	for k, n := range []int{len(t.Fields), len(t.Speeds), len(t.Destinations), t.Days, t.Blocks} {
		w.text([]string{`{"F": `, `, "C": `, `, "D": `, `, "H": `, `, "B": `}[k] + strconv.Itoa(n))
	}
	var acres, yields, rates, days, totals []float64
	for _, f := range t.Fields {
		acres, yields, rates = append(acres, f.Acres), append(yields, f.BushelsPerAcre), append(rates, f.AcresPerHour)
	}
	for _, d := range t.Destinations {
		days, totals = append(days, d.DayBushels...), append(totals, d.TotalBushels)
	}
	w.text(",\n \"acres\": ").list(acres).text(", \"bu_ac\": ").list(yields).text(", \"rate\": ").list(rates)
	w.text(",\n \"speed\": ").list(t.Speeds).text(", \"cyc\": ").list(t.TruckHoursPerBushel)
	w.text(",\n \"cap_day\": ").list(days).text(", \"cap_tot\": ").list(totals)
	w.text(",\n \"truck_h\": ").number(t.TruckHours).text(", \"block_h\": ").number(t.BlockHours).text(", \"move_h\": ").number(t.MoveHours)
	w.text(",\n \"nodes\": [")
	for k, n := range t.Nodes {
		if k > 0 {
			w.text(",\n  ")
		}
		w.text("[" + strconv.Itoa(n.Day) + ", " + strconv.Itoa(n.Parent) + ", ").number(n.Probability).text(", [")
		for b, block := range n.Blocks {
			if b > 0 {
				w.text(", ")
			}
			if block.Net == nil {
				w.text("0")
				continue
			}
			w.list(append([]float64{block.Share}, block.Net...))
		}
		w.text("]]")
	}
	w.text("]}\n")
	return w.out
}

type writer struct{ out []byte }

func (w *writer) text(s string) *writer {
	w.out = append(w.out, s...)
	return w
}

func (w *writer) number(v float64) *writer {
	if math.IsInf(v, 0) {
		return w.text("null")
	}
	w.out = strconv.AppendFloat(w.out, v, 'g', -1, 64)
	return w
}

func (w *writer) list(values []float64) *writer {
	w.text("[")
	for k, v := range values {
		if k > 0 {
			w.text(", ")
		}
		w.number(v)
	}
	return w.text("]")
}
