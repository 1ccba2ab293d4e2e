package cli

import (
	"errors"
	"fmt"

	"threshday/internal/core/land"
	"threshday/internal/core/problem"
)

type areaCmd struct {
	File filename `arg:"" optional:"" need:"" help:"GeoJSON with the boundaries: polygons in degrees, longitude before latitude."`
}

type areaAnswer struct {
	Features    []areaFeature `json:"features"`
	Acres       figure        `json:"acres"` // of all features
	Hectares    figure        `json:"hectares"`
	PerimeterFt figure        `json:"perimeter_ft"`
	why
}

type areaFeature struct {
	Name        string `json:"name,omitempty"`
	Acres       figure `json:"acres"`
	Hectares    figure `json:"hectares"`
	PerimeterFt figure `json:"perimeter_ft"`
}

// Answer returns the JSON form.
func (areaCmd) Answer() any { return areaAnswer{} }

// Run answers.
func (c *areaCmd) Run(s *session) error {
	data, err := s.read(c.File)
	if err != nil {
		return err
	}
	boundaries, err := s.Files.Boundaries(string(c.File), data)
	if err != nil {
		return err
	}
	var a areaAnswer
	var all land.Measure
	var rows []row
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
		a.Features = append(a.Features, areaFeature{b.Name, figure(m.Area.Acres()), figure(m.Area.Hectares()), figure(m.Perimeter.Feet())})
		name := b.Name
		if name == "" {
			name = fmt.Sprintf("field %d", i+1)
		}
		rows = append(rows, row{name, s.acres(m) + ", around it " + s.around(m)})
	}
	if len(wrong) > 0 {
		return wrong
	}
	a.Acres, a.Hectares, a.PerimeterFt = figure(all.Area.Acres()), figure(all.Area.Hectares()), figure(all.Perimeter.Feet())
	a.Formula = []string{
		"the polygon of lines of sight on the WGS 84 ellipsoid, holes taken out; its edge by geodesics",
		"an acre = 43,560 ft² of the international foot = 4,046.8564224 m²",
	}
	a.Sources = s.sources("wgs-84", "karney-2013") // [wgs-84] [karney-2013]
	a.Cautions = []string{"Insured, program and deeded acres are legal figures of their own; this one stands beside them and replaces none."}
	return s.answer(a, s.acres(all), fmt.Sprintf("in %s, inside the boundaries and outside their holes", counted(len(boundaries), "field")), rows...)
}

func (s *session) acres(m land.Measure) string {
	return s.both(digits(m.Area.Acres(), 2)+" acres", digits(m.Area.Hectares(), 2)+" ha")
}

func (s *session) around(m land.Measure) string {
	return s.both(digits(m.Perimeter.Feet(), 0)+" ft", digits(m.Perimeter.Meters(), 0)+" m")
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
