package device_test

import (
	"encoding/json"
	"os"
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
		if p.Summary == "" || len(p.Flags) == 0 {
			t.Errorf("%s has no summary or no boxes", p.Name)
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
