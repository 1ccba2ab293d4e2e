package pencil

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/moisture"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
	"threshday/internal/document"
	"threshday/internal/flags"
	"threshday/internal/words"
)

type emcCmd struct {
	Crop  crop.Kind         `need:"" help:"The grain."`
	Temp  units.Temperature `need:"" low:"-40F" high:"140F" help:"Temperature of the air."`
	RH    flags.Percent     `name:"rh" need:"" low:"0" high:"100" placeholder:"65" help:"Relative humidity in percent."`
	Form  *moisture.Form    `help:"Which published curve; without it the one recommended for the grain."`
	Class *crop.WheatClass  `help:"Class of wheat; without it a hard wheat is taken, and said so."`
}

type emcAnswer struct {
	MoistureWBPct document.Figure `json:"moisture_wb_pct"`
	MoistureDBPct document.Figure `json:"moisture_db_pct"`
	Form          string          `json:"form"`
	Why
}

// Answer returns the JSON form.
func (emcCmd) Answer() any { return emcAnswer{} }

// Examples returns command lines to try.
func (emcCmd) Examples() []string {
	return []string{"pencil emc --crop soybean --temp 77F --rh 65", "pencil emc --crop corn --temp 10C --rh 80 --form henderson"}
}

// Explain says what the answer is good for.
func (emcCmd) Explain() string {
	return "Grain left long enough in air of one temperature and humidity comes to one moisture and stays there. " +
		"Standing grain chases it hour by hour; grain in a bin under a running fan comes to it slowly."
}

// Run answers.
func (c *emcCmd) Run(s *Desk) error {
	class := crop.AnyWheat
	if c.Class != nil {
		class = *c.Class
		if c.Crop != crop.Wheat {
			return ofCrop{"--class", true, []crop.Kind{crop.Wheat}}.check(c.Crop)
		}
	}
	curve, err := chooseCurve(c.Crop, class, c.Form)
	if err != nil {
		return err
	}
	at := curve.Equilibrium(c.Temp, float64(c.RH)/100)
	a := emcAnswer{MoistureWBPct: document.Figure(at.WetBasisPct()), MoistureDBPct: document.Figure(at.DryBasisPct()), Form: flags.FormName(curve.Form)}
	a.Formula = []string{
		fmt.Sprintf("%s: %s with A %s, B %s, C %s, T %s °C, h %s: M = %.2f %% dry basis",
			curve.Form, curveFormula(curve.Form), words.Short(curve.A, 9), words.Short(curve.B, 9), words.Short(curve.C, 9),
			words.Short(c.Temp.Celsius(), 2), words.Short(float64(c.RH)/100, 4), at.DryBasisPct()),
		fmt.Sprintf("wet basis = 100 × M ÷ (100 + M) = %.2f %%", at.WetBasisPct()),
	}
	a.Sources = s.sources(curve.Key)
	if curve.Note != "" {
		a.Cautions = append(a.Cautions, "This curve: "+curve.Note+".")
	}
	a.Cautions = append(a.Cautions,
		"Published curves are good to half a point to one point; grain that takes up water settles 1 to 2 points lower than grain that dries.")
	if t := c.Temp.Celsius(); c.RH < 20 || c.RH > 90 || t < 5 || t > 40 {
		a.Cautions = append(a.Cautions, "The curves were fitted at about 41 to 104 °F (5 to 40 °C) and 20 to 90 % humidity; this air lies outside, so the figure is drawn out beyond them.")
	}
	if c.Crop == crop.Wheat && c.Class == nil {
		a.Assumed = []string{"A hard wheat, because no class was given."}
	}
	return s.answer(a, fmt.Sprintf("%.1f %%", at.WetBasisPct()),
		fmt.Sprintf("moisture at which %s settles in air of %s and %s %% humidity", c.Crop, s.temperature(c.Temp), words.Short(float64(c.RH), 1)),
		Row{"dry basis", fmt.Sprintf("%.1f %%", at.DryBasisPct())})
}

// chooseCurve returns the curve of a grain: the recommended one, or the one of the form asked for.
func chooseCurve(k crop.Kind, class crop.WheatClass, form *moisture.Form) (moisture.Isotherm, error) {
	all := moisture.Isotherms(k, class)
	var names []string
	for _, curve := range all {
		if form != nil && curve.Form == *form {
			return curve, nil
		}
		names = append(names, flags.FormName(curve.Form))
	}
	if form != nil {
		return moisture.Isotherm{}, &problem.InputError{Rule: "form.crop", Label: "--form", Got: flags.FormName(*form), Want: words.OneOf(names) + " for " + k.String()}
	}
	if curve, ok := moisture.Recommended(k, class); ok {
		return curve, nil
	}
	return moisture.Isotherm{}, &problem.NoAnswer{
		Rule: "emc.curves-disagree",
		Say:  fmt.Sprintf("The published curves for %s lie further apart than any of them can be trusted, so none is taken unasked.", k),
		Next: "Choose one with --form " + strings.Join(names, " or --form ") + ".",
	}
}

// curveFormula returns the equation as people write it.
func curveFormula(f moisture.Form) string {
	switch f {
	case moisture.Halsey:
		return "M = [exp(A + B·T) ÷ (−ln h)]^(1/C)"
	case moisture.Henderson:
		return "M = [−ln(1 − h) ÷ (A·(T + C))]^(1/B)"
	case moisture.ChungPfost:
		return "M = −(1/B) · ln[−(T + C)·ln h ÷ A]"
	case moisture.Oswin:
		return "M = (A + B·T) · [h ÷ (1 − h)]^(1/C)"
	}
	return ""
}

type airCmd struct {
	Temp      units.Temperature  `need:"" low:"-40F" high:"140F" help:"Temperature of the air."`
	RH        *flags.Percent     `name:"rh" above:"0" high:"100" placeholder:"65" help:"Relative humidity in percent; this or --dew."`
	Dew       *units.Temperature `low:"-76F" high:"140F" placeholder:"60F" help:"Dew point; this or --rh."`
	Elevation *units.Length      `high:"36000ft" placeholder:"700ft" help:"Height above the sea, for the wet bulb; without it sea level."`
}

type airAnswer struct {
	RHPct         document.Figure `json:"rh_pct"`
	DewPointC     document.Figure `json:"dew_point_c"`
	VPDKPa        document.Figure `json:"vpd_kpa"`
	SaturationKPa document.Figure `json:"saturation_kpa"`
	VaporKPa      document.Figure `json:"vapor_kpa"`
	WetBulbC      document.Figure `json:"wet_bulb_c"`
	PressureKPa   document.Figure `json:"pressure_kpa"`
	Why
}

// Answer returns the JSON form.
func (airCmd) Answer() any { return airAnswer{} }

// Examples returns command lines to try.
func (airCmd) Examples() []string {
	return []string{"pencil air --temp 77F --rh 60", "pencil air --temp 20C --dew 12C --elevation 700ft"}
}

// Run answers.
func (c *airCmd) Run(s *Desk) error {
	dewC, err := c.dew()
	if err != nil {
		return err
	}
	tC := c.Temp.Celsius()
	pressure := weather.PressureKPa(0)
	if c.Elevation != nil {
		pressure = weather.PressureKPa(*c.Elevation)
	}
	rh := weather.RelativeHumidity(tC, dewC)
	a := airAnswer{
		RHPct: document.Figure(100 * rh), DewPointC: document.Figure(dewC), VPDKPa: document.Figure(weather.VaporDeficitKPa(tC, dewC)),
		SaturationKPa: document.Figure(weather.SaturationKPa(tC)), VaporKPa: document.Figure(weather.SaturationKPa(dewC)),
		WetBulbC: document.Figure(weather.WetBulbC(tC, dewC, pressure)), PressureKPa: document.Figure(pressure),
	}
	a.Formula = []string{
		fmt.Sprintf("saturation = 0.6108 × exp(17.27 × %s ÷ (%s + 237.3)) = %.3f kPa", words.Short(tC, 2), words.Short(tC, 2), float64(a.SaturationKPa)),
		fmt.Sprintf("vapor in the air = %.3f kPa; deficit = %.3f − %.3f = %.3f kPa", float64(a.VaporKPa), float64(a.SaturationKPa), float64(a.VaporKPa), float64(a.VPDKPa)),
		fmt.Sprintf("wet bulb: where saturation at it, less what the ventilated thermometer gives up at %.2f kPa, equals that vapor", pressure),
	}
	a.Sources = s.sources("fao-56", "wmo-8", "ashrae-2017") // [fao-56] [wmo-8] [ashrae-2017]
	if c.Elevation == nil {
		a.Assumed = []string{"Pressure 101.325 kPa, that of sea level; it moves the wet bulb alone. --elevation changes it."}
	}
	dew, wet := units.Celsius(dewC), units.Celsius(float64(a.WetBulbC))
	return s.answer(a, fmt.Sprintf("%.2f kPa", float64(a.VPDKPa)),
		fmt.Sprintf("drying power (vapor pressure deficit) of air at %s; above 0.4 kPa a wet stand dries off", s.temperature(c.Temp)),
		Row{"humidity", fmt.Sprintf("%.0f %%", 100*rh)},
		Row{"dew point", s.temperature(dew)},
		Row{"wet bulb", s.temperature(wet)},
		Row{"vapor", fmt.Sprintf("%.3f of %.3f kPa", float64(a.VaporKPa), float64(a.SaturationKPa))})
}

// dew returns the dew point from whichever of the two was given.
func (c *airCmd) dew() (float64, error) {
	switch {
	case c.RH != nil && c.Dew != nil:
		return 0, refuse("flag.either", "--rh", "--rh and --dew are given together; one of them is enough.", "Leave one of them out.")
	case c.RH != nil:
		return weather.DewPointC(weather.VaporKPa(c.Temp.Celsius(), float64(*c.RH)/100)), nil
	case c.Dew == nil:
		return 0, refuse("flag.missing", "--rh", "The air's water is missing.", "Give --rh in percent, or --dew such as 60F.")
	case c.Dew.Celsius() > c.Temp.Celsius():
		return 0, &problem.InputError{
			Rule: "dew.above-air", Label: "--dew", Got: fmt.Sprintf("%.1f °C", c.Dew.Celsius()),
			Want: fmt.Sprintf("at most the temperature of the air, %.1f °C", c.Temp.Celsius()),
		}
	}
	return c.Dew.Celsius(), nil
}

type sunCmd struct {
	Lat  flags.Number   `need:"" low:"-90" high:"90" placeholder:"40.05" help:"Latitude in degrees, north positive."`
	Lon  flags.Number   `need:"" low:"-180" high:"180" placeholder:"-88.37" help:"Longitude in degrees, east positive: west is negative."`
	Date calendar.Day   `need:"" help:"The date."`
	Zone flags.ZoneName `need:"" help:"Time zone by its name in the public list."`
}

type sunAnswer struct {
	Sunrise string `json:"sunrise"`
	Sunset  string `json:"sunset"`
	Why
}

// Answer returns the JSON form.
func (sunCmd) Answer() any { return sunAnswer{} }

// Examples returns command lines to try.
func (sunCmd) Examples() []string {
	return []string{"pencil sun --lat 40.05 --lon -88.37 --date 2031-10-01 --zone America/Chicago"}
}

// Run answers.
func (c *sunCmd) Run(s *Desk) error {
	zone, err := s.zone("--zone", string(c.Zone))
	if err != nil {
		return err
	}
	sun := weather.SunOn(c.Date, weather.Spot{Lat: float64(c.Lat), Lon: float64(c.Lon)})
	if sun.NeverRises || sun.NeverSets {
		say := "stays up all day"
		if sun.NeverRises {
			say = "does not rise"
		}
		return &problem.NoAnswer{
			Rule: "sun.no-crossing", Say: fmt.Sprintf("The sun %s at latitude %s on %s.", say, words.Short(float64(c.Lat), 2), c.Date),
			Next: "Check --lat and --date; nearer the equator it rises and sets.",
		}
	}
	rise, set := sun.Rise.In(zone), sun.Set.In(zone)
	a := sunAnswer{Sunrise: rise.Format(time.RFC3339), Sunset: set.Format(time.RFC3339)}
	a.Formula = []string{"the instants at which the sun's upper edge, lifted by 34 minutes of arc of refraction, crosses a level horizon"}
	a.Sources = s.sources("noaa-solar") // [noaa-solar]
	a.Cautions = []string{"Within a minute of almanacs over level ground; hills and trees shift it. After sunset, slow-moving emblem and lights on the road."}
	return s.answer(a, rise.Format("15:04")+" to "+set.Format("15:04"),
		fmt.Sprintf("sunrise to sunset on %s, %s", c.Date, rise.Format("MST")),
		Row{"daylight", fmt.Sprintf("%d h %d min", int(set.Sub(rise).Hours()), int(set.Sub(rise).Minutes())%60)})
}

// zone loads a time zone by name.
func (s *Desk) zone(label, name string) (*time.Location, error) {
	zone, err := s.Zone(name)
	if err != nil {
		var wrong *problem.InputError
		if errors.As(err, &wrong) {
			wrong.Label = label
			return nil, wrong
		}
		return nil, &problem.InputError{Rule: "zone.unknown", Label: label, Got: name, Want: "a name of the public time-zone list, as America/Chicago"}
	}
	return zone, nil
}

type heatCmd struct {
	Max units.Temperature `need:"" low:"-60F" high:"140F" placeholder:"88F" help:"Highest temperature of the day."`
	Min units.Temperature `need:"" low:"-60F" high:"140F" placeholder:"58F" help:"Lowest temperature of the day."`
}

type heatAnswer struct {
	GDDF document.Figure `json:"gdd_f"`
	Why
}

// Answer returns the JSON form.
func (heatCmd) Answer() any { return heatAnswer{} }

// Examples returns command lines to try.
func (heatCmd) Examples() []string { return []string{"pencil heat --max 88F --min 58F"} }

// Run answers.
func (c *heatCmd) Run(s *Desk) error {
	if c.Max.Celsius() < c.Min.Celsius() {
		return refuse("heat.order", "--max", "--max lies under --min.", "Look whether the two are swapped.")
	}
	gdd := drydown.HeatUnits(c.Max, c.Min)
	a := heatAnswer{GDDF: document.Figure(gdd)}
	hold := func(t units.Temperature) string { return words.Short(min(max(t.Fahrenheit(), 50), 86), 2) }
	a.Formula = []string{fmt.Sprintf("(%s + %s) ÷ 2 − 50 = %s, each temperature held in 50 to 86 °F", hold(c.Max), hold(c.Min), words.Short(gdd, 2))}
	a.Sources = s.sources("purdue-gdd") // [purdue-gdd]
	return s.answer(a, words.Short(gdd, 1)+" heat units", fmt.Sprintf("for corn, in °F (%s in °C), from %s and %s", words.Short(gdd/1.8, 1), s.temperature(c.Max), s.temperature(c.Min)))
}
