package cli_test

import (
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
