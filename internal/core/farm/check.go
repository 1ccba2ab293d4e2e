package farm

import (
	"fmt"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// RecordName returns how messages call one record among its kind: by its ID, `field "creek80"`, or, where it has
// none, by its number from 1, `bid 3`.
func RecordName(kind, id string, number int) string {
	if id != "" {
		return fmt.Sprintf("%s %q", kind, id)
	}
	return fmt.Sprintf("%s %d", kind, number)
}

// Check returns what is doubtful between the records of s, each of which is usable by itself: a crop that nothing
// buys, an outlet without a schedule, a contract filled past its bushels. The path of each finding is the name of
// the record to open.
func Check(s *Season) []problem.Finding {
	c := checker{season: s}
	c.crops()
	c.fields()
	c.sightings()
	c.prices()
	c.contracts()
	c.bins()
	return c.found
}

// CheckDates returns what is doubtful in s at the moment now on the clock of zone: a bid or contract whose delivery
// is over, a reading or stage that is yet to come. The path of each finding is the name of the record to open.
func CheckDates(s *Season, now time.Time, zone *time.Location) []problem.Finding {
	c := checker{season: s}
	c.ahead(now, calendar.DayOf(now, zone))
	c.groundAhead(calendar.DayOf(now, zone))
	c.over(calendar.DayOf(now, zone))
	return c.found
}

type checker struct {
	season *Season
	found  []problem.Finding
}

func (c *checker) add(rule string, severity problem.Severity, record, label, got, say, next string) {
	c.found = append(c.found, problem.Finding{
		Rule: rule, Severity: severity, Where: problem.Place{Path: record},
		Label: label, Got: got, Say: say, Next: next,
	})
}

// grows reports whether a field has the crop.
func (c *checker) grows(k crop.Kind) bool {
	return slices.ContainsFunc(c.season.Fields, func(f Field) bool { return f.Crop == k })
}

// crops looks at each crop once, at the first field that grows it, and at the first field without a limit.
func (c *checker) crops() {
	s := c.season
	seen, unlimited := map[crop.Kind]bool{}, map[crop.Kind]bool{}
	for i, f := range s.Fields {
		record := RecordName("field", f.ID, i+1)
		if _, ok := s.Prefer.Limits[f.Crop]; !ok && f.Limit == nil && !unlimited[f.Crop] {
			unlimited[f.Crop] = true
			c.add("crop.no-limit", problem.Warning, record, "limit", "",
				fmt.Sprintf("No wettest moisture to cut %s at is given.", f.Crop), "Add it to the limits under prefer.")
		}
		if seen[f.Crop] {
			continue
		}
		seen[f.Crop] = true
		sold := slices.ContainsFunc(s.Bids, func(b Bid) bool { return b.Crop == f.Crop }) ||
			slices.ContainsFunc(s.Contracts, func(k Contract) bool { return k.Crop == f.Crop }) ||
			slices.ContainsFunc(s.Bins, func(b Bin) bool { return b.Crop == f.Crop })
		if !sold {
			c.add("crop.unsold", problem.Warning, record, "crop", f.Crop.String(),
				fmt.Sprintf("Nothing buys or stores %s.", f.Crop), "Add a bid, a contract or a bin for it.")
		}
		cut := slices.ContainsFunc(s.Combines, func(m Combine) bool {
			return slices.ContainsFunc(m.Heads, func(h Head) bool { return slices.Contains(h.Crops, f.Crop) })
		})
		if len(s.Combines) > 0 && !cut {
			c.add("crop.no-head", problem.Warning, record, "crop", f.Crop.String(),
				fmt.Sprintf("No combine has a head for %s.", f.Crop), "Add the head, or the combine of whoever cuts it.")
		}
	}
}

// summer are the crops that are never sown in the fall before their year.
var summer = []crop.Kind{crop.Soybean, crop.Corn, crop.Sorghum, crop.Sunflower}

// fields looks at dates against the crop year.
func (c *checker) fields() {
	year := c.season.Farm.Year
	for i, f := range c.season.Fields {
		record := RecordName("field", f.ID, i+1)
		earliest := year
		if !slices.Contains(summer, f.Crop) {
			earliest--
		}
		if d := f.Planted; d != nil && (d.Year > year || d.Year < earliest) {
			c.add("date.year", problem.Warning, record, "planted", d.String(),
				fmt.Sprintf("It was planted %s, but the crop year is %d.", d, year), "Correct one of them.")
		}
		if d := f.Mature; d != nil && d.Year != year {
			c.add("date.year", problem.Warning, record, "mature", d.String(),
				fmt.Sprintf("It is mature %s, but the crop year is %d.", d, year), "Correct one of them.")
		}
	}
}

// stages are the sightings that make sense for a crop. R6 to R8 of soybean are those of Fehr and Caviness, R6 of
// corn is black layer; the rest are plain words.
var stages = map[crop.Kind][]string{
	crop.Soybean:   {"R5", "R6", "R7", "R8", "ripe", "brown", "green"},
	crop.Corn:      {"R5", "R6", "dent", "black-layer", "ripe", "green"},
	crop.Sorghum:   {"black-layer", "ripe", "green"},
	crop.Wheat:     {"ripe", "green"},
	crop.Canola:    {"ripe", "green"},
	crop.Sunflower: {"ripe", "green"},
	crop.Barley:    {"ripe", "green"},
	crop.Oats:      {"ripe", "green"},
}

// driestReading is below what grain reaches in any field air; a smaller figure is a fraction of 1. [judgement]
const driestReading trade.Percent = 300

// sightings looks at readings and stages against the field.
func (c *checker) sightings() {
	s := c.season
	for i, sight := range s.Stages {
		record := RecordName("stage", sight.ID, i+1)
		for _, f := range s.Fields {
			if f.ID == sight.Field && !slices.Contains(stages[f.Crop], sight.Stage) {
				c.add("stage.crop", problem.Warning, record, "stage", sight.Stage,
					fmt.Sprintf("%s has no stage %s.", f.Crop, sight.Stage), "Correct the stage or the field.")
			}
		}
	}
	for i, reading := range s.Readings {
		if reading.Moisture < driestReading {
			c.add("reading.fraction", problem.Warning, RecordName("reading", reading.ID, i+1), "moisture", reading.Moisture.String(),
				fmt.Sprintf("%s %% is drier than any grain in a field.", reading.Moisture), "If it was written as a fraction, write it in percent.")
		}
	}
}

// prices looks at bids, premiums and contracts: do they matter, can a load there be settled.
func (c *checker) prices() {
	type asked struct {
		outlet string
		crop   crop.Kind
	}
	scheduled := map[asked]bool{}
	for _, o := range c.season.Outlets {
		for k := range o.Schedules {
			scheduled[asked{o.ID, k}] = true
		}
	}
	look := func(record, outlet string, k crop.Kind) {
		if !c.grows(k) {
			c.add("crop.not-grown", problem.Note, record, "crop", k.String(), fmt.Sprintf("No field grows %s.", k), "")
			return
		}
		if at := (asked{outlet, k}); !scheduled[at] {
			scheduled[at] = true // said once
			c.add("schedule.missing", problem.Warning, record, "outlet", outlet,
				fmt.Sprintf("Outlet %q has no schedule for %s, so a load there cannot be settled.", outlet, k),
				"Add the posted schedule to the outlet.")
		}
	}
	for i, b := range c.season.Bids {
		look(RecordName("bid", b.ID, i+1), b.Outlet, b.Crop)
	}
	for i, p := range c.season.Premiums {
		look(RecordName("premium", p.ID, i+1), p.Outlet, p.Crop)
	}
	for i, k := range c.season.Contracts {
		look(RecordName("contract", k.ID, i+1), k.Outlet, k.Crop)
	}
}

// contracts looks at what is owed.
func (c *checker) contracts() {
	for i, k := range c.season.Contracts {
		if k.AppliedBu > k.Bu {
			c.add("contract.over", problem.Warning, RecordName("contract", k.ID, i+1), "applied", k.AppliedBu.String(),
				fmt.Sprintf("%s bu are applied to a contract of %s bu.", k.AppliedBu, k.Bu), "Move the surplus to another contract or to the bid.")
		}
	}
}

// bins looks at bins against the dryer that feeds them.
func (c *checker) bins() {
	for i, b := range c.season.Bins {
		for _, d := range c.season.Dryers {
			target, ok := d.Target[b.Crop]
			if b.Dryer == d.ID && ok && target > b.MaxMoisture {
				c.add("bin.target", problem.Warning, RecordName("bin", b.ID, i+1), "max_moisture", b.MaxMoisture.String(),
					fmt.Sprintf("Its dryer stops at %s %%, wetter than the %s %% that may go in.", target, b.MaxMoisture), "Correct one of them.")
			}
		}
	}
}

// ahead looks at what is said to have been seen and cannot have been yet.
func (c *checker) ahead(now time.Time, today calendar.Day) {
	for i, r := range c.season.Readings {
		if r.At.After(now) {
			c.add("date.ahead", problem.Warning, RecordName("reading", r.ID, i+1), "at", "",
				"It is dated after the moment of the answer.", "Correct its time.")
		}
	}
	for i, sight := range c.season.Stages {
		if sight.On.After(today) {
			c.add("date.ahead", problem.Warning, RecordName("stage", sight.ID, i+1), "on", sight.On.String(),
				fmt.Sprintf("It is dated %s, which is yet to come.", sight.On), "Correct the date.")
		}
	}
}

// groundAhead looks at notes of the ground that are yet to come.
func (c *checker) groundAhead(today calendar.Day) {
	for i, note := range c.season.Grounds {
		if note.On.After(today) {
			c.add("date.ahead", problem.Warning, RecordName("ground", note.ID, i+1), "on", note.On.String(),
				fmt.Sprintf("It is dated %s, which is yet to come.", note.On), "Correct the date.")
		}
	}
}

// over looks at windows whose last day has passed.
func (c *checker) over(today calendar.Day) {
	for i, b := range c.season.Bids {
		if b.Until != nil && b.Until.Before(today) {
			c.add("window.over", problem.Warning, RecordName("bid", b.ID, i+1), "until", b.Until.String(),
				fmt.Sprintf("Its last day of delivery was %s.", b.Until), "Take it out, or enter today's bid.")
		}
	}
	for i, p := range c.season.Premiums {
		if p.Until.Before(today) {
			c.add("window.over", problem.Note, RecordName("premium", p.ID, i+1), "until", p.Until.String(),
				fmt.Sprintf("Its last day was %s.", p.Until), "")
		}
	}
	for i, k := range c.season.Contracts {
		if k.Open() && k.PriceBy != nil && k.PriceBy.Before(today) {
			c.add("contract.price-by", problem.Warning, RecordName("contract", k.ID, i+1), "price_by", k.PriceBy.String(),
				fmt.Sprintf("Its price is still open, and the last day to fix it was %s.", k.PriceBy), "Ask the buyer today how it is priced, and enter the price.")
		}
		if k.Left() > 0 && k.Until.Before(today) {
			c.add("contract.late", problem.Warning, RecordName("contract", k.ID, i+1), "until", k.Until.String(),
				fmt.Sprintf("Its last day of delivery was %s and it is not filled.", k.Until), "Ask the buyer to extend it, and enter the new date.")
		}
	}
}
