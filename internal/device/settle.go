package device

import (
	"bytes"
	"errors"
	"slices"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/document"
	"threshday/internal/feeds/schedulefile"
	"threshday/internal/feeds/scheduletoml"
)

// scheduleOf reads a schedule in either of its forms.
func scheduleOf(text string) (settlement.Schedule, error) {
	if bytes.HasPrefix(bytes.TrimSpace([]byte(text)), []byte("{")) {
		return schedulefile.ReadSchedule("schedule", []byte(text))
	}
	return scheduletoml.Read("schedule", []byte(text))
}

// priceOf reads a price as it is typed.
func priceOf(text string) (trade.Price, error) {
	price, err := trade.ParsePrice("Price", text)
	if err == nil && price <= 0 {
		err = &problem.InputError{Rule: "flag.range", Label: "Price", Got: text, Want: "more than 0"}
	}
	return price, err
}

// Settle settles one load: args are the schedule, in either form, the ticket as JSON text, and the price as typed.
func (d *Device) Settle(args ...string) string {
	return text(func() (any, error) {
		if len(args) != 3 {
			return nil, &problem.Refusal{Rule: "settle.args", Say: "A schedule, a ticket and a price are needed."}
		}
		schedule, err := scheduleOf(args[0])
		if err != nil {
			return nil, err
		}
		load, err := schedulefile.ReadTicket("ticket", []byte(args[1]))
		if err != nil {
			return nil, err
		}
		price, err := priceOf(args[2])
		if err != nil {
			return nil, err
		}
		terms, doubts, err := settlement.Prepare(schedule)
		if err != nil {
			return nil, err
		}
		doubts = append(doubts, terms.Doubts(&price)...)
		statement, err := terms.Settle(load, settlement.Prices{Cash: price})
		var rejection *settlement.Rejection
		if err != nil && !errors.As(err, &rejection) {
			return nil, err
		}
		a := schedulefile.NewAnswer(terms, statement, rejection)
		a.Warnings = append(schedulefile.Warnings(doubts), a.Warnings...)
		return a, nil
	})
}

// A draft is a schedule read back while it is typed. What keeps it from settling a load stands in Errors, and the rest is there all
// the same.
type draft struct {
	document.Schedule
	Settles bool                 `json:"settles"`
	Errors  []document.Complaint `json:"errors"`
	Form    schedulefile.Written `json:"schedule"`
	TOML    string               `json:"toml"`
}

// Schedule reads a schedule back: args are its text in either form and, to draw what it pays, the price as typed and what to draw
// against; moisture where that is left out. A text that is no schedule yet is an error with the place of every mistake.
func (d *Device) Schedule(args ...string) string {
	return text(func() (any, error) {
		if len(args) == 0 || len(args) > 3 {
			return nil, &problem.Refusal{Rule: "schedule.args", Say: "A schedule is needed, and to draw it a price."}
		}
		schedule, err := scheduleOf(args[0])
		if err != nil {
			return nil, err
		}
		factor := settlement.Moisture
		if len(args) == 3 && args[2] != "" {
			var known bool
			if factor, known = settlement.ParseFactor(args[2]); !known || factor.IsFlag() {
				return nil, &problem.InputError{Rule: "S08", Label: "Factor", Got: args[2], Want: "what is measured, as moisture or test_weight"}
			}
		}
		out := draft{Form: schedulefile.Write(schedule), TOML: string(scheduletoml.Write(schedule)), Errors: []document.Complaint{}}
		terms, doubts, err := settlement.Prepare(schedule)
		var curve []settlement.CurvePoint
		switch {
		case err != nil:
			out.Errors = failed(err).all()
			doubts = slices.DeleteFunc(doubts, func(f problem.Finding) bool { return f.Severity == problem.Error })
		case len(args) > 1 && args[1] != "":
			price, err := priceOf(args[1])
			if err != nil {
				return nil, err
			}
			doubts = append(doubts, terms.Doubts(&price)...)
			low, high := terms.Span(factor)
			curve = terms.Curve(factor, settlement.Prices{Cash: price}, low, high)
		}
		out.Settles = err == nil
		out.Schedule = document.OfSchedule(&schedule, factor, curve, doubts)
		return out, nil
	})
}

// all returns every complaint of an answer that failed.
func (a answer) all() []document.Complaint {
	if len(a.Findings) > 0 {
		return a.Findings
	}
	return []document.Complaint{*a.Error}
}

// Paste makes a schedule of a table pasted from a buyer's sheet: args are its text and the crop. What the table does not say stands
// in the text as remarks.
func (d *Device) Paste(args ...string) string {
	return text(func() (any, error) {
		if len(args) != 2 {
			return nil, &problem.Refusal{Rule: "paste.args", Say: "A pasted table and a crop are needed."}
		}
		k, ok := crop.Parse(args[1])
		if !ok {
			return nil, &problem.InputError{Rule: "crop.unknown", Label: "Crop", Got: args[1], Want: "a crop, as soybean"}
		}
		made, err := scheduletoml.Paste("pasted", args[0], k)
		if err != nil {
			return nil, err
		}
		return map[string]string{"toml": string(made.Text())}, nil
	})
}

// Examples lists common forms of posted schedules with invented figures, a place to start typing.
func (d *Device) Examples() string {
	return text(func() (any, error) {
		type example struct {
			Name string `json:"name"`
			TOML string `json:"toml"`
		}
		out := []example{}
		for _, name := range scheduletoml.Families() {
			toml, _ := scheduletoml.Family(name)
			out = append(out, example{name, string(toml)})
		}
		return out, nil
	})
}
