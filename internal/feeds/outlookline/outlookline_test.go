package outlookline_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/feeds/outlookline"
	"threshday/internal/feeds/seasonfile"
)

// A Monday.
var now = time.Date(2031, 9, 15, 6, 30, 0, 0, time.FixedZone("farm", -5*3600))

func ExampleParse() {
	days, err := outlookline.Parse("82/61, 40 % rain Thursday, heavy dew", now)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %.0f/%.0f °F, %.0f %%, %s\n", days[0].On, days[0].High.Fahrenheit(), days[0].Low.Fahrenheit(), *days[0].RainPct, days[0].Dew)
	// Output: 2031-09-18: 82/61 °F, 40 %, heavy
}

// Each line, and the TOML it means.
func TestLinesAsPeopleSayThem(t *testing.T) {
	const entered = "entered = 2031-09-15T06:30:00-05:00"
	for line, want := range map[string]string{
		"82/61, 40 % rain Thursday, heavy dew":                          `on = 2031-09-18|high = "82F"|low = "61F"|rain = "40%"|dew = "heavy"`,
		"Thu 82F/61F":                                                   `on = 2031-09-18|high = "82F"|low = "61F"`,
		"monday 27C/16C, no rain, clear":                                `on = 2031-09-15|high = "27C"|low = "16C"|rain = "0%"|sky = "clear"`,
		"today 75/55F, light wind, part cloudy":                         `on = 2031-09-15|high = "75F"|low = "55F"|wind = "light"|sky = "part"`,
		"tomorrow 11°C/-2°C, windy, no dew":                             `on = 2031-09-16|high = "11C"|low = "-2C"|dew = "none"|wind = "windy"`,
		"on 2031-09-20 70/50, 70% chance of medium rain in the evening": `on = 2031-09-20|high = "70F"|low = "50F"|rain = "70%"|amount = "medium"|when = "evening"`,
		"SUNDAY 90/70, Rain 12.5 % at night":                            `on = 2031-09-21|high = "90F"|low = "70F"|rain = "12.5%"|when = "night"`,
	} {
		days, err := outlookline.Parse(line, now)
		if err != nil {
			t.Errorf("%s: %v", line, err)
			continue
		}
		got := strings.TrimSpace(string(seasonfile.WriteOutlook(days, now.Location())))
		if want := "[[outlook]]\n" + strings.ReplaceAll(want, "|", "\n") + "\n" + entered; got != want {
			t.Errorf("%s:\n%s\nwant\n%s", line, got, want)
		}
	}
}

func TestLinesThatAreNotUnderstood(t *testing.T) {
	for line, rule := range map[string]string{
		"":                                      "outlook.empty",
		" ; ":                                   "outlook.empty",
		"82/61, heavy dew":                      "outlook.day",
		"Thursday, heavy dew":                   "outlook.temperatures",
		"Thursday 30/20":                        "outlook.unit",
		"Thursday eighty/61":                    "outlook.unit",
		"Thursday 82K/61K":                      "outlook.unit",
		"Thursday 182/61":                       "outlook.temperatures",
		"Thursday 82/":                          "outlook.temperatures",
		"Thursday 61/82":                        "outlook.order",
		"Thursday Friday 82/61":                 "outlook.again",
		"Thursday 82/61, heavy dew, light dew":  "outlook.again",
		"Thursday 82/61, 40% rain, 50% rain":    "outlook.again",
		"Thursday 82/61, wet dew":               "outlook.word",
		"Thursday 82/61, lots of clouds":        "outlook.word",
		"Thursday 82/61, rain":                  "outlook.rain",
		"Thursday 82/61, 140 % rain":            "outlook.rain",
		"Thursday 82/61, -4 % rain":             "outlook.rain",
		"Thursday 82/61, 40 % light heavy rain": "outlook.rain",
		"Thursday 82/61, 40 % 50 % rain":        "outlook.rain",
		"Thursday 82/61, 40 % rain for sure":    "outlook.rain",
		"Thu 82/61; Thursday 80/60":             "outlook.twice",
		strings.Repeat("Thu 82/61;", 20):        "outlook.twice",
	} {
		days, err := outlookline.Parse(line, now)
		var e *problem.InputError
		if days != nil || !errors.As(err, &e) || e.Rule != rule || e.Want == "" {
			t.Errorf("%q: %v, %v; want %s", line, days, err, rule)
		}
	}
}

// What is understood can be pasted: the season file reads it back as it was meant.
func FuzzParse(f *testing.F) {
	f.Add("82/61, 40 % rain Thursday, heavy dew")
	f.Add("today 27C/16C, no rain, clear; tue 70F/40F, breezy")
	f.Fuzz(func(t *testing.T, line string) {
		days, err := outlookline.Parse(line, now)
		if err != nil {
			var e *problem.InputError
			if days != nil || !errors.As(err, &e) || e.Want == "" {
				t.Fatalf("%v, %v", days, err)
			}
			return
		}
		text := "[farm]\nname = \"x\"\nzone = \"America/Chicago\"\nyear = 2031\n\n" + string(seasonfile.WriteOutlook(days, now.Location()))
		s, _, err := seasonfile.Read("season.toml", []byte(text))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if len(s.Outlook) != len(days) {
			t.Fatalf("%d days, want %d", len(s.Outlook), len(days))
		}
		for i, d := range s.Outlook {
			if !same(d, days[i]) {
				t.Fatalf("%+v, want %+v", d, days[i])
			}
		}
	})
}

func same(a, b farm.OutlookDay) bool {
	return a.On == b.On && a.On != (calendar.Day{}) && a.High == b.High && a.Low == b.Low && a.Amount == b.Amount && a.When == b.When && a.Dew == b.Dew && a.Wind == b.Wind &&
		a.Sky == b.Sky && (a.RainPct == nil) == (b.RainPct == nil) && (a.RainPct == nil || *a.RainPct == *b.RainPct) && a.Entered.Equal(*b.Entered)
}
