// Package schedulefile reads posted schedules, scale tickets and settlement sheets from JSON, and writes
// statements and audits as JSON.
//
// It is strict: an unknown or repeated key, a wrong type, a figure out of range or a number where a decimal
// string belongs is refused with file, line and path, everything wrong in one answer. It settles nothing.
package schedulefile

import (
	"slices"
	"strings"

	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
)

// ReadSchedule returns the schedule a file holds. The error is problem.InputErrors or a *problem.InputError.
// Whether the rows make sense together is for settlement.Prepare to say.
func ReadSchedule(file string, data []byte) (settlement.Schedule, error) {
	r, root, err := newReader(file, data)
	if err != nil {
		return settlement.Schedule{}, err
	}
	s := r.schedule(root)
	if err := r.errs.Or(); err != nil {
		return settlement.Schedule{}, err
	}
	return s, nil
}

func (r *reader) schedule(root node) settlement.Schedule {
	var s settlement.Schedule
	r.object(root, "", []string{"crop", "rows"}, map[string]func(node, string){
		"id":           func(n node, path string) { s.ID, _ = r.text(n, path) },
		"buyer":        func(n node, path string) { s.Buyer, _ = r.text(n, path) },
		"location":     func(n node, path string) { s.Location, _ = r.text(n, path) },
		"crop":         func(n node, path string) { s.Crop = r.crop(n, path) },
		"class":        func(n node, path string) { s.Class, _ = r.text(n, path) },
		"valid_from":   func(n node, path string) { s.ValidFrom = r.day(n, path) },
		"valid_to":     func(n node, path string) { s.ValidTo = r.day(n, path) },
		"average":      func(n node, path string) { s.Average = enum(r, n, path, averagings) },
		"deduct_basis": func(n node, path string) { s.DeductBasis = enum(r, n, path, deductBases) },
		"pct_base":     func(n node, path string) { s.PctBase = enum(r, n, path, pctBases) },
		"style":        func(n node, path string) { s.Style = enum(r, n, path, styles) },
		"price_unit":   func(n node, path string) { s.PriceUnit = enum(r, n, path, priceUnits) },
		"lb_per_bu":    func(n node, path string) { s.LbPerBu = r.decimal(n, path) },
		"note":         func(n node, path string) { s.Note, _ = r.text(n, path) },
		"checkoff":     func(n node, path string) { s.Checkoff = r.checkoff(n, path) },
		"bu_decimals": func(n node, path string) {
			if v, ok := r.whole(n, path, 0, 3); ok {
				s.BuDecimals = &v
			}
		},
		"applies_to": func(n node, path string) {
			r.list(n, path, func(n node, path string) {
				if to, ok := r.text(n, path); ok {
					s.AppliesTo = append(s.AppliesTo, to)
				}
			})
		},
		"rows": func(n node, path string) {
			r.list(n, path, func(n node, path string) { s.Rows = append(s.Rows, r.row(n, path)) })
		},
	})
	return s
}

func (r *reader) row(root node, path string) settlement.Row {
	var row settlement.Row
	r.object(root, path, []string{"seq", "factor", "kind", "direction"}, map[string]func(node, string){
		"seq":       func(n node, path string) { row.Seq, _ = r.whole(n, path, 0, 1_000_000) },
		"factor":    func(n node, path string) { row.Factor = r.factor(n, path) },
		"kind":      func(n node, path string) { row.Kind = enum(r, n, path, kinds) },
		"direction": func(n node, path string) { row.Direction = enum(r, n, path, directions) },
		"from":      func(n node, path string) { row.From = r.decimal(n, path) },
		"to":        func(n node, path string) { row.To = r.decimal(n, path) },
		"step":      func(n node, path string) { row.Step = r.decimal(n, path) },
		"step_mode": func(n node, path string) { row.StepMode = enum(r, n, path, stepModes) },
		"amount": func(n node, path string) {
			if row.Amount = r.fraction(n, path); row.Amount != nil {
				row.Printed = strings.TrimSpace(n.text)
			}
		},
		"unit":  func(n node, path string) { row.Unit = enum(r, n, path, units) },
		"qty":   func(n node, path string) { row.Qty = enum(r, n, path, quantities) },
		"group": func(n node, path string) { row.Group, _ = r.text(n, path) },
		"cap":   func(n node, path string) { row.Cap = r.fraction(n, path) },
		"min":   func(n node, path string) { row.Min = r.fraction(n, path) },
		"text":  func(n node, path string) { row.Text, _ = r.text(n, path) },
	})
	return row
}

func (r *reader) checkoff(root node, path string) *settlement.Checkoff {
	var c settlement.Checkoff
	r.object(root, path, []string{"kind", "rate"}, map[string]func(node, string){
		"kind": func(n node, path string) { c.Kind = enum(r, n, path, checkoffKinds) },
		"base": func(n node, path string) { c.Base = enum(r, n, path, checkoffBases) },
		"rate": func(n node, path string) {
			if f := r.fraction(n, path); f != nil {
				c.Rate = *f
			}
		},
	})
	return &c
}

func (r *reader) factor(n node, path string) settlement.Factor {
	text, ok := r.text(n, path)
	if !ok {
		return settlement.NoFactor
	}
	f, ok := settlement.ParseFactor(text)
	if !ok {
		var names []string
		for _, f := range settlement.Factors() {
			names = append(names, f.String())
		}
		r.errs = append(r.errs, &problem.InputError{Rule: "S08", Label: path, Got: text, Want: "one of " + strings.Join(names, ", "), Where: r.place(n)})
	}
	return f
}

// The values of the enumerations, as files spell them.
var (
	averagings    = []settlement.Averaging{settlement.LoadByLoad, settlement.PerContract, settlement.PerDay}
	deductBases   = []settlement.DeductBasis{settlement.Sequential, settlement.Additive}
	pctBases      = []settlement.PctBase{settlement.CashNoPremium, settlement.CashWithPremium, settlement.FuturesPrice}
	styles        = []settlement.Style{settlement.NetPrice, settlement.LineItem}
	priceUnits    = []settlement.PriceUnit{settlement.PerBu, settlement.PerCwt}
	kinds         = []settlement.Kind{settlement.WeightRow, settlement.PriceRow, settlement.ChargeRow, settlement.RejectRow, settlement.WarnRow}
	directions    = []settlement.Direction{settlement.Above, settlement.Below, settlement.Flagged}
	stepModes     = []settlement.StepMode{settlement.OrFraction, settlement.EachFull, settlement.Prorated, settlement.Flat}
	quantities    = []settlement.Qty{settlement.NetBu, settlement.GrossBu, settlement.NetLb, settlement.AfterPriorLb, settlement.PerLoad}
	checkoffKinds = []settlement.CheckoffKind{settlement.CheckoffPercent, settlement.CheckoffCents}
	checkoffBases = []settlement.CheckoffBase{settlement.AfterQuality, settlement.BeforeQuality, settlement.AfterCharges}
	units         = []settlement.Unit{
		settlement.PctWeightPerStep, settlement.PctExcess, settlement.TablePct, settlement.PctPrice,
		settlement.CentsPerBu, settlement.CentsPerCwt, settlement.DollarsPerLoad,
	}
)

// enum returns the value of an enumeration that n spells.
func enum[T ~string](r *reader, n node, path string, values []T) T {
	text, ok := r.text(n, path)
	if !ok {
		return ""
	}
	if i := slices.Index(values, T(text)); i >= 0 {
		return values[i]
	}
	names := make([]string, len(values))
	for i, v := range values {
		names[i] = string(v)
	}
	r.fail(n, path, "enum.unknown", text, "one of "+strings.Join(names, ", "))
	return ""
}
