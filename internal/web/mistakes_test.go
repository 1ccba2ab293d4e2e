package web_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
)

// A mistake is one command as a device or a stranger sends it; keys of it take the place of a sound one's.
type mistake struct {
	name   string
	change map[string]any
	status string // of the answer to the command; of the whole request where it is a number
	rule   string
	where  string
	say    string // that is part of what is said
}

// What cannot be, what is doubtful and what only looks wrong, each answered for itself: the words say what came, what is taken
// and what to do, and nothing is stored of what is refused.
func TestEachMistakeIsAnsweredForItself(t *testing.T) {
	const reading, load, cheque, sheet = "reading", "load", "cheque", "sheet"
	s := begun(t)
	s.hand(1, "reading", `{"field":"creek-80","moisture":"14.3","device":"meter"}`)
	sound := map[string]string{
		reading: `{"field":"creek-80","moisture":"14.1","device":"meter"}`,
		cheque:  `{"number":"%d","outlet":"ossing-elevator","on":"2031-09-16","total":"$10.00","lines":[{"ticket":"1","amount":"$10.00"}]}`,
		sheet:   `{"outlet":"ossing-elevator","ticket":"%d","net":"$10.00"}`,
		load:    `{"ticket":"%d","outlet":"ossing-elevator","field":["creek-80"],"gross":"78420 lb","tare":"27480 lb","moisture":"13.4"}`,
	}
	for i, c := range []mistake{
		{"a moisture that cannot be", with(reading, "moisture", "130"), "refused", "moisture.range", "moisture", "Did you mean 13"},
		{"a fraction in the place of a percentage", with(reading, "moisture", "0.142"), "refused", "percent", "moisture", "0.142"},
		{"a word in the place of a number", with(reading, "moisture", "wet"), "refused", "percent", "moisture", "wet"},
		{"what a number reader takes and no scale prints", with(reading, "moisture", "1e1"), "refused", "percent", "moisture", "1e1"},
		{"infinity", with(reading, "moisture", "Inf"), "refused", "percent", "moisture", "Inf"},
		{"too many digits", with(reading, "moisture", "14.123"), "refused", "percent", "moisture", "14.123"},
		{"a decimal comma", with(reading, "moisture", "14,2"), "new", "", "", "14.2"},
		{"a number that is no text", with(reading, "moisture", json.Number("14.2")), "new", "", "", "14.2"},
		{"a number beyond all", with(reading, "moisture", json.Number("1e99")), "refused", "percent", "moisture", "1e99"},
		{"an object in a box", with(reading, "moisture", map[string]string{"a": "b"}), "refused", "box.text", "moisture", ""},
		{"nothing in a box that is needed", with(reading, "moisture", nil), "refused", "box.missing", "moisture", ""},
		{"a field with a space too many", with(reading, "field", " creek-80 "), "new", "", "", "creek-80"},
		{"a field that nobody knows", with(reading, "field", "creek-08"), "refused", "name.unknown", "field", "creek-80"},
		{"a box that nobody knows", with(reading, "colour", "red"), "refused", "box.unknown", "colour", ""},
		{"an hour that the clock skipped", with(reading, "at", "2031-03-09 02:30"), "refused", "time.gap", "at", ""},
		{"a day in the future", with(reading, "at", "2062-10-11 08:00"), "refused", "time.window", "at", "2062"},
		{"a date that is none", with(reading, "at", "2031-02-30 08:00"), "refused", "", "at", ""},
		{"a note that a spreadsheet would run", with(reading, "note", `=HYPERLINK("http://evil.example")`), "new", "", "", ""},
		{"a note of a book's length", with(reading, "note", strings.Repeat("x", 5000)), "refused", "", "note", ""},
		{"a name that turns the line around", with(reading, "name", "shop\u202e meter\u0000"), "new", "", "", "shop meter"},

		{"gross and tare the wrong way round", with(load, "gross", "27480 lb", "tare", "61200 lb"), "refused", "load.weight-order", "tare", "61,200"},
		{"a negative weight", with(load, "gross", "-78420 lb"), "refused", "", "gross", ""},
		{"a weight without its unit", with(load, "gross", "78420"), "refused", "unit.missing", "gross", ""},
		{"digits missing in a group", with(load, "gross", "78,42 lb"), "refused", "", "gross", "78,42"},
		{"half a pound", with(load, "gross", "78420.5 lb"), "refused", "weight.whole", "gross", ""},
		{"more than a road carries", with(load, "gross", "784200000 lb"), "refused", "", "gross", ""},
		{"a test weight with the point shifted", with(load, "test_weight", "5.6"), "refused", "factor.range", "test_weight", "56"},
		{"shares that are no whole", with(load, "field", []string{"creek-80=50%", "home-quarter=30%", "pump-house=21%"}), "refused", "load.shares", "field", "101"},
		{"a crop that the field does not grow", with(load, "crop", "corn"), "doubt", "", "", ""},
		{"a crop that nobody grows", with(load, "crop", "kale"), "refused", "crop.unknown", "crop", "kale"},
		{"a ticket longer than a ticket", with(load, "ticket", strings.Repeat("9", 200)), "refused", "", "ticket", ""},
		{"leading zeros", with(load, "ticket", "004512"), "new", "", "", "004512"},

		{"a cheque of another century", with(cheque, "on", "1931-09-16"), "refused", "cheque.date", "on", "1931"},
		{"a cheque that pays for nothing", with(cheque, "lines", []string{}), "refused", "box.missing", "lines", ""},
		{"a cheque whose lines do not add up", with(cheque, "total", "$11.00"), "new", "cheque.sum", "total", "11.00"},
		{"a cheque over more than a farm", with(cheque, "total", "$999,999,999,999.00"), "refused", "", "total", ""},
		{"a sheet heavier than a truck", with(sheet, "net_lb", "5128000"), "refused", "sheet.range", "net_lb", "Did you mean 51,280"},
		{"a sheet with no figure", with(sheet, "net", ""), "refused", "sheet.empty", "", "no figure"},
		{"a price that no grain has", with(sheet, "price", "$9,872.00"), "refused", "sheet.range", "price", ""},

		{"an id that is none", map[string]any{"id": "17"}, "refused", "entry.id", "", "UUID"},
		{"an id in capitals", map[string]any{"id": strings.ToUpper(idOf(4000))}, "refused", "entry.id", "", ""},
		{"no time", map[string]any{"device_time": ""}, "refused", "entry.time", "", ""},
		{"a time without its offset", map[string]any{"device_time": "2031-09-16T06:25:00"}, "refused", "entry.time", "", "offset"},
		{"a clock three days behind", map[string]any{"device_time": "2031-09-13T06:25:00-05:00"}, "new", "", "", ""},
		{"a clock that runs years ahead", map[string]any{"device_time": "2062-09-16T06:25:00-05:00"}, "refused", "time.window", "", ""},
		{"a type that nobody knows", map[string]any{"type": "nonsense"}, "refused", "command.type", "", ""},
		{"a body that is a list", map[string]any{"body": []string{}}, "refused", "request.json", "", ""},
		{"a body that is a text", map[string]any{"body": "x"}, "refused", "request.json", "", ""},
		{"a key that no command has", map[string]any{"colour": "red"}, "400", "request.json", "", "colour"},
		{"a number that is a text", map[string]any{"seq": "one"}, "400", "request.json", "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			n := 1000 + i
			kind, body := reading, map[string]any{}
			if k, ok := c.change["of"].(string); ok {
				kind = k
			}
			text := sound[kind]
			if kind != reading {
				text = fmt.Sprintf(text, n)
			}
			must(t, json.Unmarshal([]byte(text), &body))
			whole := map[string]any{}
			must(t, json.Unmarshal([]byte(command(n, kind, "{}")), &whole))
			whole["body"] = body
			into := whole
			if _, inBody := c.change["of"]; inBody {
				into = body
			}
			for key, v := range c.change {
				if key != "of" {
					into[key] = v
				}
			}
			sent, err := json.Marshal(map[string]any{"commands": []any{whole}})
			must(t, err)
			c.held(t, s, string(sent))
		})
	}
}

// with is a command of a kind with boxes of its body changed.
func with(kind string, boxes ...any) map[string]any {
	out := map[string]any{"of": kind}
	for i := 0; i < len(boxes); i += 2 {
		out[boxes[i].(string)] = boxes[i+1]
	}
	return out
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// held sends the command and holds the answer against what the mistake asks for.
func (c mistake) held(t *testing.T, s *shop, sent string) {
	t.Helper()
	before := s.snapshot().Head.Seq
	g := s.ask("POST", "/api/commands", sent)
	var got entered
	if g.status == 200 {
		got = doc[struct{ Answers []entered }](t, g, 200).Answers[0]
	} else {
		f := doc[failure](t, g, g.status)
		got = entered{Status: fmt.Sprint(g.status), Findings: append(f.Findings, f.Error)}
	}
	if got.Status != c.status {
		t.Fatalf("%s, want %s: %s", got.Status, c.status, g.body)
	}
	all := got.Say
	found := c.rule == "" && c.where == ""
	for _, f := range got.Findings {
		found = found || (c.rule == "" || f.Rule == c.rule) && (c.where == "" || f.Where == c.where)
		all += " " + f.Say + " " + f.Next
	}
	if !found || !strings.Contains(all, c.say) || strings.TrimSpace(all) == "" {
		t.Errorf("nothing is said by %q at %q with %q: %s", c.rule, c.where, c.say, g.body)
	}
	stored := s.snapshot().Head.Seq - before
	if taken := got.Status == "new" || got.Status == "doubt"; taken != (stored == 1) {
		t.Errorf("answered %s, and %d entries came into the book", got.Status, stored)
	}
}
