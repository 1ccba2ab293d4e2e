package scheduletoml

import (
	"strings"

	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// An amount is what a row takes, adds or charges, as it is written.
type amount struct {
	value   trade.Fraction
	printed string
	unit    settlement.Unit
}

func (a amount) ofWeight() bool {
	return a.unit == settlement.PctWeightPerStep || a.unit == settlement.PctExcess || a.unit == settlement.TablePct
}

// fits reports whether a verb goes with the amount: only grain can be taken by weight.
func (a amount) fits(verb string) bool { return verb == "takes" || !a.ofWeight() }

// phrases lists the amounts that go with a verb.
func phrases(verb string) string {
	money := `"1.25 % of price", "2c a bu", "2c a cwt" or "$7 a load"`
	if verb == "takes" {
		return `"1.4 % of weight", "the excess", "2.33 % of weight by table", ` + money
	}
	return money
}

// endings are the words behind the number of an amount, the longer before those they begin with.
var endings = []struct {
	words string
	unit  settlement.Unit
}{
	{"% of weight by table", settlement.TablePct},
	{"% of weight", settlement.PctWeightPerStep},
	{"% of price", settlement.PctPrice},
	{"c a bu", settlement.CentsPerBu},
	{"c a cwt", settlement.CentsPerCwt},
	{"a load", settlement.DollarsPerLoad},
	{"x the excess", settlement.PctExcess},
}

// amountOf reads an amount; ok is false for words it does not know.
func amountOf(text string) (a amount, ok bool) {
	text = strings.Join(strings.Fields(text), " ")
	if text == "the excess" {
		text = "1 x the excess"
	}
	for _, e := range endings {
		number, found := strings.CutSuffix(text, e.words)
		if !found {
			continue
		}
		number = strings.TrimSpace(number)
		if e.unit == settlement.DollarsPerLoad {
			if number, found = strings.CutPrefix(number, "$"); !found {
				return amount{}, false
			}
		}
		f, err := trade.ParseFraction("", number)
		if err != nil || f.Sign() < 0 || strings.HasPrefix(number, "+") {
			return amount{}, false
		}
		return amount{f, number, e.unit}, true
	}
	return amount{}, false
}

// words writes an amount as [amountOf] reads it.
func (a amount) words() string {
	switch a.unit {
	case settlement.PctExcess:
		if a.printed == "1" {
			return "the excess"
		}
		return a.printed + " x the excess"
	case settlement.DollarsPerLoad:
		return "$" + a.printed + " a load"
	case settlement.CentsPerBu:
		return a.printed + "c a bu"
	case settlement.CentsPerCwt:
		return a.printed + "c a cwt"
	case settlement.PctPrice:
		return a.printed + " % of price"
	case settlement.TablePct:
		return a.printed + " % of weight by table"
	case settlement.PctWeightPerStep:
	}
	return a.printed + " % of weight"
}
