package pencil

import (
	"errors"
	"fmt"

	"threshday/internal/core/land"
	"threshday/internal/core/problem"
	"threshday/internal/document"
	"threshday/internal/flags"
	"threshday/internal/words"
)

type areaCmd struct {
	File flags.Filename `arg:"" optional:"" need:"" help:"GeoJSON with the boundaries: polygons in degrees, longitude before latitude."`
}

type areaAnswer struct {
	Features    []areaFeature   `json:"features"`
	Acres       document.Figure `json:"acres"` // of all features
	Hectares    document.Figure `json:"hectares"`
	PerimeterFt document.Figure `json:"perimeter_ft"`
	Why
}

type areaFeature struct {
	Name        string          `json:"name,omitempty"`
	Acres       document.Figure `json:"acres"`
	Hectares    document.Figure `json:"hectares"`
	PerimeterFt document.Figure `json:"perimeter_ft"`
}

// Answer returns the JSON form.
func (areaCmd) Answer() any { return areaAnswer{} }

// Run answers.
func (c *areaCmd) Run(s *Desk) error {
	data, err := s.Read(c.File)
	if err != nil {
		return err
	}
	boundaries, err := s.Boundaries(string(c.File), data)
	if err != nil {
		return err
	}
	var a areaAnswer
	var all land.Measure
	var rows []Row
	var wrong problem.InputErrors
	for i, b := range boundaries {
		var m land.Measure
		for _, part := range b.Parts {
			one, err := part.Measure()
			if err != nil {
				wrong = append(wrong, placed(err, b.Where))
				continue
			}
			m.Area += one.Area
			m.Perimeter += one.Perimeter
		}
		all.Area += m.Area
		all.Perimeter += m.Perimeter
		a.Features = append(a.Features, areaFeature{b.Name, document.Figure(m.Area.Acres()), document.Figure(m.Area.Hectares()), document.Figure(m.Perimeter.Feet())})
		name := b.Name
		if name == "" {
			name = fmt.Sprintf("field %d", i+1)
		}
		rows = append(rows, Row{name, s.acres(m) + ", around it " + s.around(m)})
	}
	if len(wrong) > 0 {
		return wrong
	}
	a.Acres, a.Hectares, a.PerimeterFt = document.Figure(all.Area.Acres()), document.Figure(all.Area.Hectares()), document.Figure(all.Perimeter.Feet())
	a.Formula = []string{
		"the polygon of lines of sight on the WGS 84 ellipsoid, holes taken out; its edge by geodesics",
		"an acre = 43,560 ft² of the international foot = 4,046.8564224 m²",
	}
	a.Sources = s.sources("wgs-84", "karney-2013") // [wgs-84] [karney-2013]
	a.Cautions = []string{"Insured, program and deeded acres are legal figures of their own; this one stands beside them and replaces none."}
	return s.answer(a, s.acres(all), fmt.Sprintf("in %s, inside the boundaries and outside their holes", counted(len(boundaries), "field")), rows...)
}

func (s *Desk) acres(m land.Measure) string {
	return s.both(words.Digits(m.Area.Acres(), 2)+" acres", words.Digits(m.Area.Hectares(), 2)+" ha")
}

func (s *Desk) around(m land.Measure) string {
	return s.both(words.Digits(m.Perimeter.Feet(), 0)+" ft", words.Digits(m.Perimeter.Meters(), 0)+" m")
}

// placed returns the complaint in err with the place it lacks.
func placed(err error, at problem.Place) *problem.InputError {
	var one *problem.InputError
	if !errors.As(err, &one) {
		return &problem.InputError{Rule: "boundary", Label: "boundary", Got: err.Error(), Where: at}
	}
	with := *one
	with.Where = at
	return &with
}
