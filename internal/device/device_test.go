package device_test

import (
	"encoding/json"
	"os"
	"reflect"
	"strings"
	"testing"

	"threshday/docs"
	"threshday/internal/device"
	"threshday/internal/pencil"
)

type said struct {
	OK    json.RawMessage
	Error *struct{ Rule, Label, Say string }
	Code  int
}

func ask(t *testing.T, text string) said {
	t.Helper()
	var s said
	if err := json.Unmarshal([]byte(text), &s); err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return s
}

func fresh() *device.Device {
	all := docs.Sources()
	return device.New("test", func(key string) (pencil.Source, bool) {
		s, ok := all[key]
		return pencil.Source{Key: s.Key, Title: s.Title, Publisher: s.Publisher, Year: s.Year, How: s.How}, ok
	})
}

func TestEveryPencilIsListedAndItsExamplesReckon(t *testing.T) {
	d := fresh()
	var all []device.Pencil
	if err := json.Unmarshal(ask(t, d.Pencils()).OK, &all); err != nil {
		t.Fatal(err)
	}
	if len(all) < 20 {
		t.Fatalf("%d pencils", len(all))
	}
	for _, p := range all {
		if p.Title == "" || p.Shelf == "" || p.Summary == "" || len(p.Flags) == 0 {
			t.Errorf("%s has no title, shelf, summary or boxes", p.Name)
		}
		for _, f := range p.Flags {
			if f.Help == "" || (f.Accepts == "" && !f.Switch) {
				t.Errorf("%s %s says too little: %+v", p.Name, f.Name, f)
			}
		}
		for _, line := range p.Examples {
			s := ask(t, d.Pencil(words(strings.TrimPrefix(line, "pencil "))...))
			if s.Error != nil {
				t.Errorf("%s: %+v", line, s.Error)
			}
			if !strings.Contains(string(s.OK), `"lead":`) {
				t.Errorf("%s: nothing to read first in %s", line, s.OK)
			}
		}
	}
}

// words parts a command line as a shell does, single quotes kept together.
func words(line string) []string {
	var out []string
	for i, part := range strings.Split(line, "'") {
		if i%2 == 1 {
			out = append(out, part)
		} else {
			out = append(out, strings.Fields(part)...)
		}
	}
	return out
}

func TestWhatIsWrongIsSaid(t *testing.T) {
	d := fresh()
	for _, c := range []struct {
		args []string
		rule string
		code int
	}{
		{[]string{"emc", "--crop", "soybean"}, "flag.missing", 2},
		{[]string{"emc", "--crop", "kale", "--temp", "77F", "--rh", "65"}, "crop.unknown", 2},
		{[]string{"emc", "--crop", "corn", "--temp", "77", "--rh", "65"}, "unit.missing", 2},
		{[]string{"queue", "--arrivals-per-hour", "20", "--served-per-hour", "10", "--pits", "1"}, "queue.unbounded", 1},
		{[]string{"nothing"}, "command.usage", 2},
	} {
		s := ask(t, d.Pencil(c.args...))
		if s.Error == nil || s.Error.Rule != c.rule && c.rule != "queue.unbounded" || s.Code != c.code {
			t.Errorf("%v: %+v, code %d; want %s, %d", c.args, s.Error, s.Code, c.rule, c.code)
		}
	}
}

func TestALoadSettlesAsOnTheCommandLine(t *testing.T) {
	schedule, err := os.ReadFile("../demo/farm/schedules/ossing-soybean.json")
	if err != nil {
		t.Fatal(err)
	}
	ticket := `{"crop":"soybean","gross_lb":78460,"tare_lb":27180,"moisture":"13.8","test_weight":"56.5","foreign_material":"1.2","damage_total":"1","heat_damage":"0","splits":"8"}`
	s := ask(t, fresh().Settle(string(schedule), ticket, "9.8725"))
	if s.Error != nil {
		t.Fatalf("%+v", s.Error)
	}
	var doc struct {
		Net   string `json:"net_usd"`
		Lb    string `json:"net_lb"`
		Lines []json.RawMessage
	}
	if err := json.Unmarshal(s.OK, &doc); err != nil {
		t.Fatal(err)
	}
	if doc.Lb != "51280" || len(doc.Lines) < 3 || doc.Net == "" {
		t.Errorf("%s", s.OK)
	}
	if s := ask(t, fresh().Settle("{}", ticket, "9.87")); s.Error == nil {
		t.Error("an empty schedule settles")
	}
}

func demoSchedule(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("../demo/farm/schedules/ossing-soybean.json")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

type draft struct {
	Settles  bool
	Profile  []string
	Rows     []struct{ Say string }
	Curve    []struct{ Reading string }
	Errors   []struct{ Rule, Where string }
	Schedule json.RawMessage
	TOML     string
}

func readBack(t *testing.T, args ...string) draft {
	t.Helper()
	s := ask(t, fresh().Schedule(args...))
	if s.Error != nil {
		t.Fatalf("%+v", s.Error)
	}
	var d draft
	if err := json.Unmarshal(s.OK, &d); err != nil {
		t.Fatal(err)
	}
	return d
}

func TestAScheduleIsReadBackAlikeInBothForms(t *testing.T) {
	first := readBack(t, demoSchedule(t), "9.8725")
	if !first.Settles || len(first.Rows) == 0 || len(first.Profile) == 0 || len(first.Curve) == 0 || len(first.Errors) > 0 {
		t.Fatalf("%+v", first)
	}
	for name, text := range map[string]string{"TOML": first.TOML, "JSON": string(first.Schedule)} {
		if again := readBack(t, text, "9.8725"); !reflect.DeepEqual(again, first) {
			t.Errorf("from %s:\n%+v\nwant\n%+v", name, again, first)
		}
	}
}

// A draft whose bands leave a gap still says what its rows do, and that it settles nothing yet.
func TestADraftSaysWhatKeepsItFromSettling(t *testing.T) {
	got := readBack(t, `{"crop":"soybean","lb_per_bu":"60","bu_decimals":2,"style":"net_price","pct_base":"cash_no_premium","average":"load","rows":[
		{"seq":10,"factor":"moisture","kind":"price","direction":"above","from":"13","to":"14","step":"0.5","step_mode":"ceil","unit":"pct_price","amount":"1.25","qty":"net_bu"},
		{"seq":20,"factor":"moisture","kind":"price","direction":"above","from":"15","to":"16","step":"0.5","step_mode":"ceil","unit":"pct_price","amount":"2","qty":"net_bu"}]}`, "9.87")
	if got.Settles || len(got.Errors) == 0 || !strings.HasPrefix(got.Errors[0].Rule, "S") || len(got.Rows) != 2 || len(got.Curve) != 0 {
		t.Errorf("%+v", got)
	}
	if s := ask(t, fresh().Schedule("crop = \"soybean\"\n[[moisture]]\nover = ")); s.Error == nil {
		t.Error("half a line is read")
	}
}

// 23,260 kg / 0.45359237 = 51,279.5 lb, so 51,280 lb net: the scale's kilograms settle as those pounds do.
func TestATicketInKilogramsSettles(t *testing.T) {
	rest := `"moisture":"13.8","test_weight":"56.5","foreign_material":"1.2","damage_total":"1","heat_damage":"0","splits":"8"}`
	kg := ask(t, fresh().Settle(demoSchedule(t), `{"crop":"soybean","gross_kg":35589,"tare_kg":12329,`+rest, "9.8725"))
	lb := ask(t, fresh().Settle(demoSchedule(t), `{"crop":"soybean","gross_lb":78460,"tare_lb":27180,`+rest, "9.8725"))
	if kg.Error != nil || string(kg.OK) != string(lb.OK) {
		t.Errorf("%+v\n%s\n%s", kg.Error, kg.OK, lb.OK)
	}
	for _, bad := range []string{`"gross_kg":35589,"tare_lb":27180,`, `"gross_kg":35589,`} {
		if s := ask(t, fresh().Settle(demoSchedule(t), `{"crop":"soybean",`+bad+rest, "9.8725")); s.Error == nil {
			t.Errorf("%s settles", bad)
		}
	}
}

func TestATableIsPastedAndEveryExampleSettles(t *testing.T) {
	s := ask(t, fresh().Paste("Moisture, discount percent of price\n13.1 - 13.5  1.25%\n13.6 - 14.0  2.5%\nover 18.0  rejected", "soybean"))
	if s.Error != nil || !strings.Contains(string(s.OK), "[[moisture]]") {
		t.Errorf("%+v %s", s.Error, s.OK)
	}
	var all []struct{ Name, TOML string }
	if err := json.Unmarshal(ask(t, fresh().Examples()).OK, &all); err != nil || len(all) == 0 {
		t.Fatal(err, len(all))
	}
	for _, e := range all {
		if got := readBack(t, e.TOML); !got.Settles {
			t.Errorf("%s: %+v", e.Name, got.Errors)
		}
	}
}
