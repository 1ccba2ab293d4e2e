package schedulefile

import (
	"encoding/json"

	"threshday/internal/core/calendar"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// A Written is a schedule in the JSON form, which [ReadSchedule] reads back to the same schedule.
type Written struct {
	ID          string                 `json:"id,omitempty"`
	Buyer       string                 `json:"buyer,omitempty"`
	Location    string                 `json:"location,omitempty"`
	Crop        string                 `json:"crop"`
	Class       string                 `json:"class,omitempty"`
	ValidFrom   string                 `json:"valid_from,omitempty"`
	ValidTo     string                 `json:"valid_to,omitempty"`
	AppliesTo   []string               `json:"applies_to,omitempty"`
	Average     settlement.Averaging   `json:"average,omitempty"`
	DeductBasis settlement.DeductBasis `json:"deduct_basis,omitempty"`
	PctBase     settlement.PctBase     `json:"pct_base,omitempty"`
	Style       settlement.Style       `json:"style,omitempty"`
	PriceUnit   settlement.PriceUnit   `json:"price_unit,omitempty"`
	LbPerBu     string                 `json:"lb_per_bu,omitempty"`
	BuDecimals  *int                   `json:"bu_decimals,omitempty"`
	Checkoff    *writtenCheckoff       `json:"checkoff,omitempty"`
	Note        string                 `json:"note,omitempty"`
	Rows        []writtenRow           `json:"rows"`
}

type writtenCheckoff struct {
	Kind settlement.CheckoffKind `json:"kind"`
	Base settlement.CheckoffBase `json:"base,omitempty"`
	Rate string                  `json:"rate"`
}

type writtenRow struct {
	Seq       int                  `json:"seq"`
	Factor    string               `json:"factor"`
	Kind      settlement.Kind      `json:"kind"`
	Direction settlement.Direction `json:"direction"`
	From      string               `json:"from,omitempty"`
	To        string               `json:"to,omitempty"`
	Step      string               `json:"step,omitempty"`
	StepMode  settlement.StepMode  `json:"step_mode,omitempty"`
	Unit      settlement.Unit      `json:"unit,omitempty"`
	Amount    string               `json:"amount,omitempty"`
	Qty       settlement.Qty       `json:"qty,omitempty"`
	Group     string               `json:"group,omitempty"`
	Cap       string               `json:"cap,omitempty"`
	Min       string               `json:"min,omitempty"`
	Text      string               `json:"text,omitempty"`
}

// Write returns the JSON form of a schedule. Amounts keep the digits that the buyer prints.
func Write(s settlement.Schedule) Written {
	out := Written{
		ID: s.ID, Buyer: s.Buyer, Location: s.Location, Crop: s.Crop.String(), Class: s.Class, ValidFrom: dayOf(s.ValidFrom), ValidTo: dayOf(s.ValidTo), AppliesTo: s.AppliesTo,
		Average: s.Average, DeductBasis: s.DeductBasis, PctBase: s.PctBase, Style: s.Style, PriceUnit: s.PriceUnit, LbPerBu: shown(s.LbPerBu), BuDecimals: s.BuDecimals, Note: s.Note, Rows: []writtenRow{},
	}
	if c := s.Checkoff; c != nil {
		out.Checkoff = &writtenCheckoff{c.Kind, c.Base, c.Rate.String()}
	}
	for i := range s.Rows {
		row := &s.Rows[i]
		one := writtenRow{
			Seq: row.Seq, Factor: row.Factor.String(), Kind: row.Kind, Direction: row.Direction, From: shown(row.From), To: shown(row.To), Step: shown(row.Step), StepMode: row.StepMode,
			Unit: row.Unit, Amount: ratio(row.Amount), Qty: row.Qty, Group: row.Group, Cap: ratio(row.Cap), Min: ratio(row.Min), Text: row.Text,
		}
		if row.Printed != "" {
			one.Amount = row.Printed
		}
		out.Rows = append(out.Rows, one)
	}
	return out
}

// JSON returns the file of a schedule.
func (w Written) JSON() []byte {
	text, err := json.MarshalIndent(w, "", " ")
	if err != nil {
		panic(err) // plain texts and numbers
	}
	return append(text, '\n')
}

func dayOf(d *calendar.Day) string {
	if d == nil {
		return ""
	}
	return d.String()
}

func ratio(f *trade.Fraction) string {
	if f == nil {
		return ""
	}
	return f.String()
}
