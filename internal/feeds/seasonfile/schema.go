package seasonfile

import (
	"fmt"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
)

// season is the whole file. Fences in the tables are what a farm can have at all; a narrower usual range is a matter
// for the answers. [judgement]
var season = table[farm.Season]{keys: []key[farm.Season]{
	sub("farm", &farmKeys, func(s *farm.Season) *farm.Farm { return &s.Farm }, "The farm and its year.").must(),
	sub("prefer", &preferKeys, func(s *farm.Season) *farm.Preferences { return &s.Prefer }, "The owner's own limits and wishes."),
	records("party", &partyKeys, func(s *farm.Season) *[]farm.Party { return &s.Parties }, "Somebody who owns grain, works or is paid."),
	records("field", &fieldKeys, func(s *farm.Season) *[]farm.Field { return &s.Fields }, "A piece of land under one crop."),
	records("reading", &readingKeys, func(s *farm.Season) *[]farm.Reading { return &s.Readings }, "A moisture found in a field."),
	records("stage", &stageKeys, func(s *farm.Season) *[]farm.Sighting { return &s.Stages }, "A stage of the crop seen in a field."),
	records("ground", &groundKeys, func(s *farm.Season) *[]farm.GroundNote { return &s.Grounds }, "What the ground of a field did under a machine."),
	records("anchor", &anchorKeys, func(s *farm.Season) *[]farm.Anchor { return &s.Anchors }, "A maturity date known in the neighbourhood, from which fields of the crop are dated."),
	records("combine", &combineKeys, func(s *farm.Season) *[]farm.Combine { return &s.Combines }, "A combine."),
	records("cart", &cartKeys, func(s *farm.Season) *[]farm.Cart { return &s.Carts }, "A grain cart."),
	records("truck", &truckKeys, func(s *farm.Season) *[]farm.Truck { return &s.Trucks }, "A truck, or several of a kind."),
	records("outlet", &outletKeys, func(s *farm.Season) *[]farm.Outlet { return &s.Outlets }, "A place that takes grain, except an own bin."),
	records("bid", &bidKeys, func(s *farm.Season) *[]farm.Bid { return &s.Bids }, "A price an outlet pays for delivery in a window."),
	records("premium", &premiumKeys, func(s *farm.Season) *[]farm.Premium { return &s.Premiums }, "What an outlet pays on top of its bid for a while."),
	records("contract", &contractKeys, func(s *farm.Season) *[]farm.Contract { return &s.Contracts }, "Grain already promised."),
	records("bin", &binKeys, func(s *farm.Season) *[]farm.Bin { return &s.Bins }, "An own bin."),
	records("dryer", &dryerKeys, func(s *farm.Season) *[]farm.Dryer { return &s.Dryers }, "A dryer on the farm."),
	records("outlook", &outlookKeys, func(s *farm.Season) *[]farm.OutlookDay { return &s.Outlook }, "The farm's own forecast of one day."),
}, check: checkOutlook}

var farmKeys = table[farm.Farm]{
	keys: append([]key[farm.Farm]{
		val("id", text(maxID), func(f *farm.Farm) *string { return &f.ID }, "What tells this farm from others in one database."),
		owed("name", text(maxName), func(f *farm.Farm) *string { return &f.Name }, "The name of the farm."),
		val("place", text(maxName), func(f *farm.Farm) *string { return &f.Place }, "Where it is, in words."),
		owed("zone", timeZone(), func(f *farm.Farm) *string { return &f.Zone }, "The time zone of the farm's clock."),
		owed("year", whole(minYear, maxYear, "the year of harvest"), func(f *farm.Farm) *int { return &f.Year }, "The crop year."),
		opt("as_of", anInstantOf(), func(f *farm.Farm) **time.Time { return &f.AsOf }, "The moment the file speaks of; left out, it is now."),
		sub("weather", &weatherKeys, func(f *farm.Farm) *farm.WeatherSettings { return &f.Weather }, "The weather record the forecast is made from."),
	}, latLon(func(f *farm.Farm) **farm.Point { return &f.At }, "the middle of the farm")...),
	check: func(r *reader, label string, n *node, _ *farm.Farm) { r.latLon(n, label) },
}

var weatherKeys = table[farm.WeatherSettings]{keys: []key[farm.WeatherSettings]{
	val("record", filePath(), func(w *farm.WeatherSettings) *string { return &w.Record }, "The file with the station's hourly record."),
	val("station", choice("rural", "airport"), func(w *farm.WeatherSettings) *string { return &w.StationKind }, "Where the station stands; an airport hides dew."),
	opt("wind_height", within(meters, "1m", "50m"), func(w *farm.WeatherSettings) **float64 { return &w.WindHeight }, "Height above ground of the record's wind; left out, 10 m is assumed."),
	val("stamp", choice("start", "middle", "end"), func(w *farm.WeatherSettings) *string { return &w.Stamp }, "What the time of a row marks of its hour; left out, the start."),
	val("note", text(maxNote), func(w *farm.WeatherSettings) *string { return &w.Note }, "Credit for the record, shown beside the answer."),
	val("contact", contact(), func(w *farm.WeatherSettings) *string { return &w.Contact }, "Where the national forecast service may reach you; nothing is asked of it without."),
	sub("ensemble", &ensembleKeys, func(w *farm.WeatherSettings) *farm.Ensemble { return &w.Ensemble }, "A service of ensemble forecasts for which you have a licence; left out, none is asked."),
}}

var ensembleKeys = table[farm.Ensemble]{keys: []key[farm.Ensemble]{
	val("url", webPage(), func(e *farm.Ensemble) *string { return &e.URL }, "The page to ask, without place and key."),
	val("key_file", filePath(), func(e *farm.Ensemble) *string { return &e.KeyFile }, "A file that holds nothing but your licence key; it is not copied with the season."),
	val("credit", text(maxNote), func(e *farm.Ensemble) *string { return &e.Credit }, "The attribution that the licence asks for, shown beside the answer; needed with url."),
}, check: func(r *reader, label string, n *node, _ *farm.Ensemble) {
	if n.child("url") == nil {
		r.missing(n, label, "url", webPage().want, "Say which page to ask, or take the table out.")
	}
	if n.child("credit") == nil {
		r.missing(n, label, "credit", text(maxNote).want, "Copy the attribution from the terms of the service.")
	}
}}

var preferKeys = table[farm.Preferences]{keys: []key[farm.Preferences]{
	byName("limits", cropNames(), within(printed, "1%", "60%"), func(p *farm.Preferences) *map[crop.Kind]trade.Percent { return &p.Limits }, "Wettest moisture, mean of the field, at which each crop is cut."),
	{
		name: "work", about: "Earliest start and latest end of cutting on the farm's clock.", want: wantHours, form: aText,
		read: func(r *reader, label, _ string, n *node, p *farm.Preferences) {
			if h, ok := r.hours(n, label); ok {
				p.WorkFrom, p.WorkUntil = h[0], h[1]
			}
		},
		text: func(_ *writer, p *farm.Preferences) string {
			if p.WorkFrom == 0 && p.WorkUntil == 0 {
				return ""
			}
			return hoursText([2]calendar.Clock{p.WorkFrom, p.WorkUntil})
		},
	},
	many("days_off", weekday(), func(p *farm.Preferences) *[]time.Weekday { return &p.DaysOff }, "Days of the week on which nothing is cut."),
	val("season_end", aDay(), func(p *farm.Preferences) *calendar.Day { return &p.SeasonEnd }, "Crop still standing after this day is worth nothing."),
	opt("combine_cost", money("h", "$0", "$5000"), func(p *farm.Preferences) **trade.Price { return &p.CombineUSD }, "Running cost of a combine per separator hour."),
	byName("loss_factors", cropNames(), number(0, 10, "a multiple of the published loss"), func(p *farm.Preferences) *map[crop.Kind]float64 { return &p.LossFactors }, "How this farm's standing losses compare with the published ones; left out, 1 with the published spread."),
}}

var partyKeys = table[farm.Party]{keys: []key[farm.Party]{
	owed("id", identity("party"), func(p *farm.Party) *string { return &p.ID }, "Used by shares and contracts."),
	val("name", text(maxName), func(p *farm.Party) *string { return &p.Name }, "The name."),
	val("role", choice("owner", "family", "driver", "landlord", "bookkeeper"), func(p *farm.Party) *string { return &p.Role }, "What the party is to the farm."),
}}

// latLon returns the two keys of a point.
func latLon[T any](at func(*T) **farm.Point, what string) []key[T] {
	one := func(name, about string, most float64, part func(*farm.Point) *float64) key[T] {
		c := number(-most, most, "degrees")
		return key[T]{
			name: name, about: about, want: c.want, form: aText,
			read: func(r *reader, label, _ string, n *node, into *T) {
				if v, ok := c.read(r, label, n); ok {
					if *at(into) == nil {
						*at(into) = new(farm.Point)
					}
					*part(*at(into)) = v
				}
			},
			text: func(_ *writer, from *T) string {
				if p := *at(from); p != nil {
					return c.text(*part(p))
				}
				return ""
			},
		}
	}
	return []key[T]{
		one("lat", "Latitude of "+what+", north positive; lat and lon go together.", 90, func(p *farm.Point) *float64 { return &p.Lat }),
		one("lon", "Longitude of "+what+", east positive, so negative in the Americas.", 180, func(p *farm.Point) *float64 { return &p.Lon }),
	}
}

// latLon reports a point of which only one half was given.
func (r *reader) latLon(n *node, label string) {
	lat, lon := n.child("lat"), n.child("lon")
	switch {
	case lat != nil && lon == nil:
		r.missing(n, label, "lon", "degrees, as lat has them", "Add lon, or take lat out.")
	case lon != nil && lat == nil:
		r.missing(n, label, "lat", "degrees, as lon has them", "Add lat, or take lon out.")
	}
}

// window reports a window that ends before it begins.
func (r *reader) window(n *node, label, from, until string, begin, end calendar.Day) {
	if n.all(from, until) && end.Before(begin) {
		last := n.child(until)
		r.refuse(last, refusal{"window.order", join(label, until), last.text, fmt.Sprintf("%s, which is %s, or later", from, begin), "Correct one of them."})
	}
}

const wantHours = "two times of day as 07:00-19:00, the later one second, 24:00 at most, in quotes"

// hours reads "07:00-19:00".
func (r *reader) hours(n *node, label string) (open [2]calendar.Clock, ok bool) {
	if n.form != aText {
		r.wrongForm(n, label, wantHours, aText)
		return open, false
	}
	from, until, _ := strings.Cut(n.text, "-")
	begin, err := calendar.ParseClock(strings.TrimSpace(from))
	if err == nil {
		var end calendar.Clock
		if end, err = calendar.ParseClock(strings.TrimSpace(until)); err == nil && begin < end {
			return [2]calendar.Clock{begin, end}, true
		}
	}
	why := refusal{"hours.form", label, n.shown(), wantHours, ""}
	if err == nil {
		why.rule, why.next = "hours.order", "Closing must come after opening on the same day."
	}
	r.refuse(n, why)
	return open, false
}

func hoursText(h [2]calendar.Clock) string { return quote(h[0].String() + "-" + h[1].String()) }

// week is the days in the order the trade posts hours.
var week = []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday, time.Saturday, time.Sunday}

// dayWord returns "mon".
func dayWord(d time.Weekday) string { return strings.ToLower(d.String()[:3]) }

// dayWords returns "mon" to "sun".
func dayWords() []string {
	var words []string
	for _, d := range week {
		words = append(words, dayWord(d))
	}
	return words
}

// weekday returns the codec of a day of the week.
func weekday() codec[time.Weekday] {
	word := choice(dayWords()...)
	return codec[time.Weekday]{
		want: word.want, text: func(d time.Weekday) string { return quote(dayWord(d)) },
		read: func(r *reader, label string, n *node) (time.Weekday, bool) {
			w, ok := word.read(r, label, n)
			for _, d := range week {
				if ok && dayWord(d) == w {
					return d, true
				}
			}
			return 0, false
		},
	}
}
