// Package outlookline reads a day's forecast as a person says it in one line: "82/61, 40 % rain Thursday, heavy dew".
//
// It is strict: a word it does not know is refused with those it knows, and nothing is taken twice. Temperatures may
// stand without a unit only where no other could be meant. It knows the words of the season file's [[outlook]] and no
// others.
package outlookline

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
	"threshday/internal/feeds/quantity"
)

// MaxDays is the most days that one text may hold.
const MaxDays = 14

// Parse reads days parted by semicolons. now, on the farm's own clock, says which day a weekday means and when the
// forecast was entered. The error is a [problem.InputError].
func Parse(text string, now time.Time) ([]farm.OutlookDay, error) {
	var out []farm.OutlookDay
	for i, line := range strings.Split(text, ";") {
		if strings.TrimSpace(line) == "" {
			continue
		}
		if len(out) == MaxDays {
			return nil, refuse("outlook.days", "outlook", fmt.Sprintf("more than %d days", MaxDays), fmt.Sprintf("at most %d days", MaxDays))
		}
		p := &parser{now: now, label: fmt.Sprintf("day %d", i+1)}
		d, err := p.line(line)
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(out, func(o farm.OutlookDay) bool { return o.On == d.On }) {
			return nil, refuse("outlook.twice", p.label, d.On.String(), "each day once")
		}
		out = append(out, d)
	}
	if len(out) == 0 {
		return nil, refuse("outlook.empty", "outlook", "", example)
	}
	return out, nil
}

const example = "a line as: Thursday 82F/61F, 40 % light rain in the evening, heavy dew, breezy, cloudy"

func refuse(rule, label, got, want string) *problem.InputError {
	return &problem.InputError{Rule: rule, Label: label, Got: shown(got), Want: want}
}

func shown(s string) string {
	const most = 60
	s = strings.Join(strings.Fields(strings.ToValidUTF8(s, "?")), " ")
	if len(s) > most {
		s = strings.ToValidUTF8(s[:most], "") + "…"
	}
	return s
}

// A parser carries one line.
type parser struct {
	now   time.Time
	label string
	out   farm.OutlookDay
	said  map[string]bool
}

func (p *parser) line(line string) (farm.OutlookDay, error) {
	p.said = map[string]bool{}
	for _, phrase := range strings.Split(line, ",") {
		words := strings.Fields(strings.ToLower(strings.ReplaceAll(phrase, "%", " % ")))
		words, err := p.takeDay(words)
		if err != nil {
			return p.out, err
		}
		if len(words) == 0 {
			continue
		}
		if words, err = p.takeTemperatures(words); err != nil {
			return p.out, err
		}
		if len(words) == 0 {
			continue
		}
		if err := p.phrase(words); err != nil {
			return p.out, err
		}
	}
	switch {
	case !p.said["day"]:
		return p.out, refuse("outlook.day", p.label, "", "a weekday, today, tomorrow or a date as 2031-09-15")
	case !p.said["temperatures"]:
		return p.out, refuse("outlook.temperatures", p.label, "", "the high and the low, as 82F/61F")
	}
	entered := p.now.Truncate(time.Second)
	p.out.Entered = &entered
	return p.out, nil
}

// once notes that something was said, and refuses it a second time.
func (p *parser) once(what, got string) error {
	if p.said[what] {
		return refuse("outlook.again", p.label, got, what+" once")
	}
	p.said[what] = true
	return nil
}

// takeDay takes the word that names the day out of a phrase, and an "on" before it.
func (p *parser) takeDay(words []string) ([]string, error) {
	for i, w := range words {
		day, ok := p.day(w)
		if !ok {
			continue
		}
		if err := p.once("day", w); err != nil {
			return nil, err
		}
		p.out.On = day
		rest := slices.Concat(words[:i], words[i+1:])
		if i > 0 && words[i-1] == "on" {
			rest = slices.Delete(rest, i-1, i)
		}
		return p.takeDay(rest)
	}
	return words, nil
}

// day returns the day a word means: a weekday is the next one, today included.
func (p *parser) day(word string) (calendar.Day, bool) {
	today := calendar.DayOf(p.now, p.now.Location())
	switch word {
	case "today":
		return today, true
	case "tomorrow":
		return today.AddDays(1), true
	}
	if d, err := calendar.ParseDay(word); err == nil && d.Year >= 1900 && d.Year < 2200 {
		return d, true
	}
	for i := range 7 {
		name := strings.ToLower(today.AddDays(i).Weekday().String())
		if word == name || word == name[:3] {
			return today.AddDays(i), true
		}
	}
	return calendar.Day{}, false
}

// surelyF is the high, in whatever unit, from which only °F can be meant: the air never was that hot in °C.
const surelyF = 60

// takeTemperatures takes "82/61", "82F/61F" or "27C/16C" out of a phrase.
func (p *parser) takeTemperatures(words []string) ([]string, error) {
	at := slices.IndexFunc(words, func(w string) bool { return strings.Contains(w, "/") })
	if at < 0 {
		return words, nil
	}
	pair := words[at]
	if err := p.once("temperatures", pair); err != nil {
		return nil, err
	}
	high, low, _ := strings.Cut(strings.ReplaceAll(strings.ToUpper(pair), "°", ""), "/")
	unit := unitOf(low)
	if unit == "" {
		unit = unitOf(high)
	}
	if unit == "" {
		x, err := quantity.ParseNumber(p.label, high)
		if err != nil || x < surelyF {
			e := refuse("outlook.unit", p.label, pair, "the high and the low with their unit, as 52F/41F or 11C/5C")
			e.Next = "Both units would make sense here."
			if err != nil {
				e.Next = ""
			}
			return nil, e
		}
		unit = "F"
	}
	for _, part := range []struct {
		text string
		into *units.Temperature
	}{{high, &p.out.High}, {low, &p.out.Low}} {
		text := part.text
		if unitOf(text) == "" {
			text += unit
		}
		t, err := quantity.ParseTemperature(p.label, text)
		if err != nil || t.Celsius() < -51.2 || t.Celsius() > 57.3 {
			return nil, refuse("outlook.temperatures", p.label, pair, "the high and the low, -60 to 135 °F, as 82F/61F")
		}
		*part.into = t
	}
	if p.out.High.Celsius() < p.out.Low.Celsius() {
		return nil, refuse("outlook.order", p.label, pair, "the high first, then the low")
	}
	return slices.Delete(slices.Clone(words), at, at+1), nil
}

func unitOf(s string) string {
	if strings.HasSuffix(s, "F") || strings.HasSuffix(s, "C") {
		return s[len(s)-1:]
	}
	return ""
}

// Words of the season file, and the phrases that say them.
var (
	amounts = []string{"trace", "light", "medium", "heavy"}
	whens   = []string{"night", "morning", "afternoon", "evening"}
	dews    = map[string]string{"no": "none", "none": "none", "light": "light", "heavy": "heavy"}
	winds   = map[string]string{"calm": "calm", "light wind": "light", "breezy": "breezy", "windy": "windy"}
	skies   = map[string]string{"clear": "clear", "part cloudy": "part", "partly cloudy": "part", "cloudy": "cloudy"}
)

// phrase reads what is left of a phrase: rain, dew, wind or sky.
func (p *parser) phrase(words []string) error {
	whole := strings.Join(words, " ")
	switch {
	case slices.Contains(words, "rain"):
		return p.rain(words, whole)
	case words[len(words)-1] == "dew":
		word, ok := dews[strings.TrimSuffix(whole, " dew")]
		if !ok {
			return refuse("outlook.word", p.label, whole, "no dew, light dew or heavy dew")
		}
		p.out.Dew = word
		return p.once("dew", whole)
	case winds[whole] != "":
		p.out.Wind = winds[whole]
		return p.once("wind", whole)
	case skies[whole] != "":
		p.out.Sky = skies[whole]
		return p.once("sky", whole)
	}
	return refuse("outlook.word", p.label, whole, "rain as 40 % light rain in the evening; no, light or heavy dew; calm, light wind, breezy or windy; clear, part cloudy or cloudy")
}

// rain reads "40 % rain", "rain 40 %", "40 % chance of light rain in the evening", "no rain".
func (p *parser) rain(words []string, whole string) error {
	if err := p.once("rain", whole); err != nil {
		return err
	}
	wrong := refuse("outlook.rain", p.label, whole, "the chance of rain as 40 % rain, with trace, light, medium or heavy, and in the night, morning, afternoon or evening")
	for i, w := range words {
		switch {
		case slices.Contains([]string{"rain", "chance", "of", "in", "the", "at", "%"}, w):
		case slices.Contains(amounts, w) && p.out.Amount == "":
			p.out.Amount = w
		case slices.Contains(whens, w) && p.out.When == "":
			p.out.When = w
		case p.out.RainPct == nil && i+1 < len(words) && words[i+1] == "%":
			x, err := quantity.ParsePercent(p.label, w)
			if err != nil || x < 0 || x > 100 {
				return wrong
			}
			p.out.RainPct = &x
		case w == "no" && whole == "no rain":
			none := 0.0
			p.out.RainPct = &none
		default:
			return wrong
		}
	}
	if p.out.RainPct == nil || strings.Count(whole, "%") > 1 || strings.Count(whole, "rain") > 1 {
		return wrong
	}
	return nil
}
