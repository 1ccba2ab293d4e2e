package device_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"threshday/internal/device"
)

// FuzzSchedule reads whatever is being typed: nothing breaks, every answer is JSON, and a schedule that is read is read alike from
// both of its forms.
func FuzzSchedule(f *testing.F) {
	for _, pattern := range []string{"../demo/farm/schedules/*.json", "../feeds/scheduletoml/families/*.toml"} {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			f.Fatal(pattern, err)
		}
		for _, name := range names {
			text, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(string(text), "9.8725", "test_weight")
		}
	}
	f.Add(`{"crop":"wheat","rows":[{"seq":1,"factor":"moisture","kind":"weight","direction":"flag","amount":"-1/3","group":"max"}]}`, "-1", "")
	f.Add("crop = \"corn\"\n[[moisture]]\nover = 9e9\ntakes = \"1c a bu\"", "0.00001", "glass")
	d := device.New("fuzz", nil)
	f.Fuzz(func(t *testing.T, text, price, factor string) {
		first := asked(t, d.Schedule(text, price, factor))
		asked(t, d.Paste(text, "soybean"))
		if first.OK == nil {
			return
		}
		var forms struct {
			Schedule json.RawMessage
			TOML     string
		}
		if err := json.Unmarshal(first.OK, &forms); err != nil {
			t.Fatal(err)
		}
		for _, form := range []string{string(forms.Schedule), forms.TOML} {
			if again := asked(t, d.Schedule(form, price, factor)); string(again.OK) != string(first.OK) && settles(first) {
				t.Errorf("read back from\n%s\nit is\n%s\nand was\n%s %+v", form, again.OK, first.OK, again.Error)
			}
		}
	})
}

func settles(s said) bool {
	var doc struct{ Settles bool }
	return json.Unmarshal(s.OK, &doc) == nil && doc.Settles
}

// asked reads an answer of the device, which is JSON and no bug.
func asked(t *testing.T, text string) said {
	t.Helper()
	s := ask(t, text)
	if s.OK == nil && (s.Error == nil || s.Error.Say == "" || strings.Contains(s.Error.Say, "broke")) {
		t.Fatalf("it broke: %s", text)
	}
	return s
}
