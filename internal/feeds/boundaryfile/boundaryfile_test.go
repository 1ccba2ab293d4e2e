package boundaryfile_test

import (
	"errors"
	"strings"
	"testing"

	"threshday/internal/core/problem"
	"threshday/internal/feeds/boundaryfile"
)

const square = `[[-93.5,42],[-93.495,42],[-93.495,42.005],[-93.5,42.005],[-93.5,42]]`

func TestReadTakesEveryFormOfPolygon(t *testing.T) {
	for name, c := range map[string]struct {
		text         string
		names        []string
		parts, rings []int // per feature; rings of its first part
	}{
		"bare polygon": {`{"type":"Polygon","coordinates":[` + square + `]}`, []string{""}, []int{1}, []int{1}},
		"feature with a name": {
			`{"type":"Feature","properties":{"name":"Creek 80"},"geometry":{"type":"Polygon","coordinates":[` + square + `]}}`,
			[]string{"Creek 80"},
			[]int{1},
			[]int{1},
		},
		"a hole, an id, a height": {
			`{"type":"Feature","id":7,"properties":null,"geometry":{"type":"Polygon","coordinates":[[[-93.5,42,250],[-93.49,42,250],[-93.49,42.01,250],[-93.5,42.01,250],[-93.5,42,250]],` +
				`[[-93.497,42.003],[-93.494,42.003],[-93.494,42.006],[-93.497,42.003]]]}}`,
			[]string{"7"},
			[]int{1},
			[]int{2},
		},
		"collection with a field in pieces": {
			`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"NAME":"A"},"geometry":{"type":"MultiPolygon","coordinates":[[` + square + `],[[[-93.4,42],[-93.39,42],[-93.39,42.01],[-93.4,42]]]]}},` +
				`{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[` + square + `]}}]}`,
			[]string{"A", ""},
			[]int{2, 1},
			[]int{1, 1},
		},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := boundaryfile.Read("fields.geojson", []byte(c.text))
			if err != nil {
				t.Fatal(err)
			}
			if len(got) != len(c.names) {
				t.Fatalf("%d boundaries, want %d", len(got), len(c.names))
			}
			for i, b := range got {
				if b.Name != c.names[i] || len(b.Parts) != c.parts[i] || len(b.Parts[0]) != c.rings[i] {
					t.Errorf("boundary %d: name %q, %d parts, %d rings", i, b.Name, len(b.Parts), len(b.Parts[0]))
				}
				if p := b.Parts[0][0][0]; p.Lat != 42 || p.Lon != -93.5 {
					t.Errorf("first point %+v, want 42 north, 93.5 west", p)
				}
			}
		})
	}
}

func TestReadSaysWhatCannotBeUsed(t *testing.T) {
	for name, c := range map[string]struct{ text, where, want string }{
		"empty":            {"", "fields.geojson", "empty file"},
		"cut off":          {"{\"type\":\n \"Polygon\"", "fields.geojson, line 2", "unexpected end"},
		"a line":           {`{"type":"FeatureCollection","features":[{"type":"Feature","geometry":{"type":"LineString","coordinates":[[0,0],[1,1]]}}]}`, "feature 1", "LineString"},
		"no geometry":      {`{"type":"Feature","properties":{}}`, "feature 1", "geometry is missing"},
		"no features":      {`{"type":"FeatureCollection","features":[]}`, "fields.geojson", "at least one feature"},
		"one number":       {`{"type":"Polygon","coordinates":[[[1],[2,3],[4,5]]]}`, "feature 1", "ring 1, point 1"},
		"text coordinates": {`{"type":"Polygon","coordinates":"here"}`, "feature 1", "rings of points"},
		"another kind":     {`{"type":"Topology"}`, "feature 1", "Topology"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := boundaryfile.Read("fields.geojson", []byte(c.text))
			var wrong problem.InputErrors
			if !errors.As(err, &wrong) {
				t.Fatalf("got %v", err)
			}
			if say := wrong[0].Error(); !strings.Contains(say, c.where) || !strings.Contains(say, c.want) {
				t.Errorf("says %q, want %q at %q", say, c.want, c.where)
			}
		})
	}
}

func FuzzRead(f *testing.F) {
	f.Add(`{"type":"Polygon","coordinates":[` + square + `]}`)
	f.Add(`{"type":"FeatureCollection","features":[{"type":"Feature","id":null,"geometry":{"type":"MultiPolygon","coordinates":[]}}]}`)
	f.Fuzz(func(t *testing.T, text string) {
		got, err := boundaryfile.Read("f", []byte(text))
		if err == nil && len(got) == 0 {
			t.Error("nothing read and nothing said")
		}
		for _, b := range got {
			for _, p := range b.Parts {
				_, _ = p.Measure() // whatever was read must be measurable or refused, never a panic
			}
		}
	})
}
