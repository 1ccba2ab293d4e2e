package schedulefile

import (
	"strings"

	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// ReadTicket returns the load a ticket file holds. The error is problem.InputErrors or a *problem.InputError.
func ReadTicket(file string, data []byte) (settlement.Load, error) {
	r, root, err := newReader(file, data)
	if err != nil {
		return settlement.Load{}, err
	}
	l := r.ticket(root)
	if err := r.errs.Or(); err != nil {
		return settlement.Load{}, err
	}
	return l, nil
}

func (r *reader) ticket(root node) settlement.Load {
	var l settlement.Load
	var net *trade.Pounds
	kg := kilograms{}
	known := map[string]func(node, string){
		"crop":  func(n node, path string) { l.Crop = r.crop(n, path) },
		"class": func(n node, path string) { l.Class, _ = r.text(n, path) },
		"ticket": func(n node, path string) {
			r.text(n, path) // who delivered it under which number is the ledger's
		},
		"date": func(n node, path string) {
			if d := r.day(n, path); d != nil {
				l.Day = *d
			}
		},
		"gross_lb": func(n node, path string) { set(&l.Gross, r.pounds(n, path)) },
		"tare_lb":  func(n node, path string) { set(&l.Tare, r.pounds(n, path)) },
		"net_lb":   func(n node, path string) { net = r.pounds(n, path) },
		"gross_kg": func(n node, path string) { kg.gross = r.pounds(n, path) },
		"tare_kg":  func(n node, path string) { kg.tare = r.pounds(n, path) },
		"flags": func(n node, path string) {
			r.list(n, path, func(n node, path string) { r.flag(n, path, &l.Readings) })
		},
	}
	for _, f := range settlement.Factors() {
		if !f.IsFlag() {
			known[f.String()] = func(n node, path string) { r.reading(n, path, f, &l) }
		}
	}
	must := []string{"crop", "gross_lb", "tare_lb"}
	if root.has("gross_kg") || root.has("tare_kg") {
		must = []string{"crop", "gross_kg", "tare_kg"}
	}
	r.object(root, "", must, known)
	kg.onto(r, root, &l)
	if net != nil && kg.gross == nil && len(r.errs) == 0 && *net != l.Net() {
		r.errs = append(r.errs, &problem.InputError{
			Rule: "T01", Label: "net_lb", Got: net.String(), Where: r.place(root),
			Want: l.Net().String() + ", gross less tare", Next: "Read the three weights on the ticket again.",
		})
	}
	return l
}

// kilograms are the weights of a ticket whose scale prints kilograms; nil where it does not.
type kilograms struct{ gross, tare *trade.Pounds }

// onto puts them onto a load, of which the net weight is the one that is converted: it is what is paid for.
func (kg kilograms) onto(r *reader, root node, l *settlement.Load) {
	if kg.gross == nil || kg.tare == nil {
		return
	}
	if root.has("gross_lb") || root.has("tare_lb") {
		r.errs = append(r.errs, &problem.InputError{Rule: "weight.unit", Label: "gross_kg", Got: kg.gross.String(), Want: "the weights in pounds or in kilograms, not both", Where: r.place(root)})
		return
	}
	l.Tare = trade.Kilograms(int64(*kg.tare))
	l.Gross = l.Tare + trade.Kilograms(int64(*kg.gross-*kg.tare))
}

func set[T any](to *T, from *T) {
	if from != nil {
		*to = *from
	}
}

// reading keeps a grade factor, to hundredths of its unit.
func (r *reader) reading(n node, path string, f settlement.Factor, l *settlement.Load) {
	d := r.decimal(n, path)
	if d == nil {
		return
	}
	x, ok := d.Units(2)
	if !ok || x < -100_000_00 || x > 100_000_00 {
		r.fail(n, path, "reading.precision", d.String(), "at most two decimals, like 14.2")
		return
	}
	l.Readings = l.Readings.With(f, trade.Percent(x))
}

func (r *reader) flag(n node, path string, to *settlement.Readings) {
	text, ok := r.text(n, path)
	if !ok {
		return
	}
	f, ok := settlement.ParseFactor(text)
	if !ok || !f.IsFlag() {
		var names []string
		for _, f := range settlement.Factors() {
			if f.IsFlag() {
				names = append(names, f.String())
			}
		}
		r.fail(n, path, "flag.unknown", text, "one of "+strings.Join(names, ", "))
		return
	}
	*to = to.WithFlag(f)
}
