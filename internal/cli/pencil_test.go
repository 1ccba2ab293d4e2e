package cli_test

import (
	"encoding/json"
	"strings"
	"testing"

	"threshday/test/published"
)

// Published values through the command line: the wiring, the units of flags and the names of keys. The formulas are
// tested where they live.
func TestPencilsGivePublishedValues(t *testing.T) {
	published.Each(t, "pencils", func(t *testing.T, r published.Row) {
		doc := document(t, "pencil "+r.Text("command"))
		got, ok := doc[r.Text("key")]
		if !ok {
			t.Fatalf("no key %s in %v", r.Text("key"), doc)
		}
		switch got := got.(type) {
		case float64:
			r.Check("want", got)
		case string:
			r.CheckText("want", got)
		default:
			t.Errorf("%s is a %T", r.Text("key"), got)
		}
	})
}

func TestEveryPencilShowsHowAndWhence(t *testing.T) {
	for line := range examples(t) {
		if !strings.HasPrefix(line, "pencil ") {
			continue
		}
		t.Run(line, func(t *testing.T) {
			doc := document(t, line)
			if f, _ := doc["formula"].([]any); len(f) == 0 {
				t.Errorf("no formula in %v", doc)
			}
			sources, _ := doc["sources"].([]any)
			if len(sources) == 0 {
				t.Errorf("no source in %v", doc)
			}
			for _, s := range sources {
				if title := s.(map[string]any)["title"]; title == "" || title == s.(map[string]any)["key"] {
					t.Errorf("source %v is not in the table of sources", s)
				}
			}
		})
	}
}

// The five-axle rig of the printed example: 51 ft over all carry 80,000 lb, the tandems 34,000 each. [fhwa-bridge-weights]
func TestAxleListsEveryAxleAndGroup(t *testing.T) {
	doc := document(t, "pencil axle --spacing 12ft,4ft,31ft,4ft --weights 12000lb,17000lb,17000lb,17000lb,17001lb")
	if doc["gross_lb"] != 80001.0 || doc["gross_limit_lb"] != 80000.0 || doc["legal"] != false {
		t.Errorf("gross %v of %v, legal %v", doc["gross_lb"], doc["gross_limit_lb"], doc["legal"])
	}
	axles, _ := doc["axles"].([]any)
	groups, _ := doc["groups"].([]any)
	if len(axles) != 5 || len(groups) != 10 {
		t.Fatalf("%d axles, %d groups; want 5 and 10", len(axles), len(groups))
	}
	find := func(from, to float64) map[string]any {
		for _, g := range groups {
			if g := g.(map[string]any); g["from"] == from && g["to"] == to {
				return g
			}
		}
		t.Fatalf("no group %v to %v", from, to)
		return nil
	}
	if g := find(1, 5); g["feet"] != 51.0 || g["limit_lb"] != 80000.0 || g["legal"] != false {
		t.Errorf("axles 1 to 5: %v", g)
	}
	if g := find(2, 3); g["limit_lb"] != 34000.0 || g["weight_lb"] != 34000.0 || g["legal"] != true {
		t.Errorf("axles 2 and 3: %v", g)
	}
	if g := find(4, 5); g["weight_lb"] != 34001.0 || g["legal"] != false {
		t.Errorf("axles 4 and 5: %v", g)
	}
	own := document(t, "pencil axle --spacing 12ft,4ft,31ft,4ft --weights 12000lb,17000lb,17000lb,17000lb,17000lb --gross-limit 78000lb")
	if own["gross_limit_lb"] != 78000.0 || own["legal"] != false {
		t.Errorf("with an own gross limit: %v, legal %v", own["gross_limit_lb"], own["legal"])
	}
}

func TestGradeNamesWhatHoldsItDownAndWhatWasNotMeasured(t *testing.T) {
	doc := document(t, "pencil grade --crop soybean --date 2031-10-01 --damage 3.4 --splits 12")
	if got := doc["limited_by"].([]any); len(got) != 1 || got[0] != "damage_total" {
		t.Errorf("limited by %v, want damage_total", got)
	}
	if got := doc["missing"].([]any); len(got) != 2 {
		t.Errorf("missing %v, want heat damage and foreign material", got)
	}
	if r := run("", words("pencil grade --crop soybean --date 2031-10-01 --damage 3.4 --splits 12")...); !strings.HasPrefix(r.stdout, "At best U.S. No. 3\n") {
		t.Errorf("says %.40q", r.stdout)
	}
}

func TestSwitchingToMetricChangesNoAnswer(t *testing.T) {
	for line := range examples(t) {
		if strings.HasPrefix(line, "pencil ") {
			plain, metric := run("", append(words(line), "--json")...), run("", append(words(line), "--json", "--metric")...)
			if metric.code != 0 || plain.stdout == "" {
				t.Errorf("%s: exit %d %s", line, metric.code, metric.stderr)
			}
			if !sameFigures(t, plain.stdout, metric.stdout) {
				t.Errorf("%s: figures differ with --metric", line)
			}
		}
	}
}

// sameFigures compares two documents without what they say in words.
func sameFigures(t *testing.T, a, b string) bool {
	t.Helper()
	strip := func(text string) string {
		var doc map[string]any
		if err := json.Unmarshal([]byte(text), &doc); err != nil {
			t.Fatal(err)
		}
		for _, key := range behind {
			delete(doc, key)
		}
		out, err := json.Marshal(doc)
		if err != nil {
			t.Fatal(err)
		}
		return string(out)
	}
	return strip(a) == strip(b)
}
