package app

import (
	"fmt"

	"threshday/internal/core/farm"
	"threshday/internal/core/units"
)

// OutlookAssumed says what stands in for what a day of the farm's own forecast does not say, and what its words are taken
// for, a sentence each.
func OutlookAssumed(d farm.OutlookDay) ([]string, error) {
	ahead, err := manualDay(d).Ahead()
	if err != nil {
		return nil, err
	}
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	switch {
	case d.RainPct == nil:
		say("Chance of rain not said: the usual one of the season.")
	case *d.RainPct > 0 && d.Amount == "":
		say("Amount of rain not said: as on the season's wet days.")
	case ahead.Amount != nil:
		say("%s rain: about %s in where it rains.", capital(d.Amount), trim(*ahead.Amount/25.4))
	}
	if d.RainPct != nil && *d.RainPct > 0 && d.When == "" {
		say("Time of the rain not said: any hour.")
	}
	if ahead.Dew != nil {
		say("%s dew: a mean dew point of %.0f °F.", capital(noneAsNo(d.Dew)), units.Celsius(*ahead.Dew).Fahrenheit())
	} else {
		say("Dew not said: it follows from high, low and rain as on other days of the season.")
	}
	if d.Wind == "" {
		say("Wind not said: as on other days of the season.")
	} else if wind, ok := (DayAhead{Ahead: ahead}).Wind10m(); ok {
		say("%s: a mean wind of %.0f mph.", capital(d.Wind), wind.MilesPerHour())
	}
	if d.Sky == "" {
		say("Sky not said: it follows from high, low and rain.")
	}
	say("It counts as a forecast a day older than it is, for most of us repeat last night's.")
	return out, nil
}

func noneAsNo(word string) string {
	if word == "none" {
		return "no"
	}
	return word
}
