package docs_test

import (
	"testing"

	"threshday/docs"
)

func TestSourcesHoldTheRowsOfEveryTable(t *testing.T) {
	all := docs.Sources()
	for key, s := range all {
		if key == "" || s.Title == "" || s.How == "" {
			t.Errorf("row %+v lacks a key, a title or how it is known", s)
		}
	}
	got, ok := all["fao-56"]
	if !ok || got.Publisher != "FAO" || got.Year != "1998" || got.How != "read" {
		t.Errorf("fao-56 = %+v, %v", got, ok)
	}
	if s := all["judgement"]; s.How != "judgement" || s.Section != "" {
		t.Errorf("judgement = %+v", s)
	}
	for _, heading := range []string{"key", "---", ""} {
		if _, ok := all[heading]; ok {
			t.Errorf("the heading %q passes for a source", heading)
		}
	}
}
