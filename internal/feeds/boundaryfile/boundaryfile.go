// Package boundaryfile reads field boundaries from GeoJSON: a feature collection, a feature or a bare geometry whose
// shapes are polygons. Positions are longitude, then latitude, in degrees on WGS 84; a third number, height, is left
// aside. [rfc-7946]
//
// It measures nothing and keeps no properties but a name. Everything that cannot be used is refused in one answer, by
// feature and by place in the file.
package boundaryfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"threshday/internal/core/land"
	"threshday/internal/core/problem"
)

// A Boundary is the outline of one feature.
type Boundary struct {
	Name  string         // the feature's property name, Name or NAME, else its id; empty when it has none
	Parts []land.Polygon // one, or several for a field in pieces
	Where problem.Place
}

// maxBytes bounds what is read: a county of detailed field outlines stays below it.
const maxBytes = 32 << 20

// Read returns the boundaries of a GeoJSON text, at least one. The error is problem.InputErrors.
func Read(file string, data []byte) ([]Boundary, error) {
	r := reader{file: file}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if len(data) > maxBytes {
		r.fail("", "the file", fmt.Sprintf("%d bytes", len(data)), fmt.Sprintf("at most %d bytes", maxBytes), "")
		return nil, r.errs
	}
	var top object
	if err := json.Unmarshal(data, &top); err != nil {
		r.malformed(data, err)
		return nil, r.errs
	}
	var out []Boundary
	switch top.Type {
	case "FeatureCollection":
		for i, f := range top.Features {
			out = append(out, r.feature(f, fmt.Sprintf("feature %d", i+1)))
		}
		if len(top.Features) == 0 {
			r.fail("", "features", "none", "at least one feature", "Export the field boundaries again.")
		}
	case "Feature":
		out = append(out, r.feature(top, "feature 1"))
	default:
		out = append(out, r.feature(object{Type: "Feature", Geometry: &geometry{Type: top.Type, Coordinates: top.Coordinates}}, "feature 1"))
	}
	if err := r.errs.Or(); err != nil {
		return nil, err
	}
	return out, nil
}

// An object is a feature collection, a feature or a bare geometry.
type object struct {
	Type        string          `json:"type"`
	Features    []object        `json:"features"`
	ID          json.RawMessage `json:"id"`
	Properties  map[string]any  `json:"properties"`
	Geometry    *geometry       `json:"geometry"`
	Coordinates json.RawMessage `json:"coordinates"`
}

type geometry struct {
	Type        string          `json:"type"`
	Coordinates json.RawMessage `json:"coordinates"`
}

type reader struct {
	file string
	errs problem.InputErrors
}

func (r *reader) fail(path, label, got, want, next string) {
	r.errs = append(r.errs, &problem.InputError{
		Rule: "boundary.file", Label: label, Got: got, Want: want, Next: next, Where: problem.Place{File: r.file, Path: path},
	})
}

// malformed says where the text stops being JSON.
func (r *reader) malformed(data []byte, err error) {
	place := problem.Place{File: r.file}
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		before := data[:min(int(syntax.Offset), len(data))]
		place.Line = bytes.Count(before, []byte("\n")) + 1
		place.Column = len(before) - bytes.LastIndexByte(before, '\n') - 1
	case errors.As(err, &kind):
		place.Path = kind.Field
	}
	got := "a mistake (" + strings.TrimPrefix(err.Error(), "json: ") + ")"
	if len(bytes.TrimSpace(data)) == 0 {
		got = "an empty file"
	}
	r.errs = append(r.errs, &problem.InputError{Rule: "json.form", Label: "GeoJSON", Got: got, Want: "a GeoJSON feature collection, feature or polygon", Where: place})
}

func (r *reader) feature(f object, path string) Boundary {
	b := Boundary{Name: name(f), Where: problem.Place{File: r.file, Path: path}}
	if b.Name != "" {
		b.Where.Path += " (" + b.Name + ")"
	}
	switch {
	case f.Type != "Feature":
		r.fail(path, "type", f.Type, "Feature", "")
	case f.Geometry == nil:
		r.fail(path, "geometry", "", "a Polygon or a MultiPolygon", "Draw the boundary of this field, or take the feature out.")
	case f.Geometry.Type == "Polygon":
		if p, ok := decode[rings](r, f.Geometry.Coordinates, path); ok {
			b.Parts = []land.Polygon{r.polygon(p, path)}
		}
	case f.Geometry.Type == "MultiPolygon":
		if parts, ok := decode[[]rings](r, f.Geometry.Coordinates, path); ok {
			for i, p := range parts {
				b.Parts = append(b.Parts, r.polygon(p, fmt.Sprintf("%s part %d", path, i+1)))
			}
			if len(parts) == 0 {
				r.fail(path, "coordinates", "no parts", "at least one polygon", "")
			}
		}
	default:
		r.fail(path, "geometry", f.Geometry.Type, "a Polygon or a MultiPolygon: only these have an area", "Take points and lines out of the file.")
	}
	return b
}

// rings are the coordinates of a polygon.
type rings [][][]float64

func decode[T any](r *reader, text json.RawMessage, path string) (out T, ok bool) {
	if len(text) == 0 || bytes.Equal(text, []byte("null")) {
		r.fail(path, "coordinates", "", "lists of longitude and latitude", "")
		return out, false
	}
	if err := json.Unmarshal(text, &out); err != nil {
		r.fail(path, "coordinates", "something else", "rings of points, each a list of longitude and latitude", "")
		return out, false
	}
	return out, true
}

func (r *reader) polygon(p rings, path string) land.Polygon {
	out := make(land.Polygon, len(p))
	for i, ring := range p {
		for j, at := range ring {
			if len(at) < 2 {
				r.fail(path, fmt.Sprintf("ring %d, point %d", i+1, j+1), fmt.Sprintf("%d numbers", len(at)), "longitude and latitude", "")
				continue
			}
			out[i] = append(out[i], land.Point{Lat: at[1], Lon: at[0]})
		}
	}
	return out
}

// name returns what a feature calls itself.
func name(f object) string {
	for _, key := range []string{"name", "Name", "NAME"} {
		if s, ok := f.Properties[key].(string); ok && s != "" {
			return s
		}
	}
	id := strings.Trim(string(f.ID), `"`)
	if id == "null" {
		return ""
	}
	return id
}
