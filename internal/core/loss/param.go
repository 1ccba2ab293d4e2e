package loss

import (
	"fmt"
	"strconv"
	"strings"

	"threshday/internal/core/problem"
)

// A Param is one parameter of a model, to be shown beside its answer and changed by name.
type Param struct {
	Name      string // "pre-per-day"
	Unit      string // "% a day"
	Value     float64
	Low, High float64 // accepted
	Key       string  // of the source behind the default, in docs/sources; "judgement": ours, no source
}

// A knob is a parameter and where its value stands.
type knob struct {
	at *float64
	Param
}

func list(ks []knob) []Param {
	out := make([]Param, len(ks))
	for i, k := range ks {
		out[i] = k.Param
		out[i].Value = *k.at
	}
	return out
}

func turn(ks []knob, crop, name string, value float64) error {
	label := fmt.Sprintf("loss parameter %s of %s", name, crop)
	var names []string
	for _, k := range ks {
		if k.Name != name {
			names = append(names, k.Name)
			continue
		}
		if !(value >= k.Low && value <= k.High) {
			return &problem.InputError{
				Rule: "loss.param.range", Label: label, Got: strconv.FormatFloat(value, 'g', -1, 64),
				Want: fmt.Sprintf("%g to %g, %s", k.Low, k.High, k.Unit),
			}
		}
		*k.at = value
		return nil
	}
	return &problem.InputError{
		Rule: "loss.param.name", Label: "loss parameter of " + crop, Got: name, Want: strings.Join(names, ", "),
	}
}
