package web

import (
	"encoding/json"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/journal"
)

// A cause is an entry that came between two plans, with what it can change: the season as a whole where neither field nor
// crop is named.
type cause struct {
	say         string
	field, crop string
	all         bool
}

func (c cause) touches(field, crop string) bool {
	return c.all || c.field == field || c.field == "" && c.crop == crop
}

// causesOf returns what was entered between two plans that plans are made from. Loads are books, not reasons.
func causesOf(lines []app.Line, until int64, zone *time.Location) []cause {
	var out []cause
	for _, l := range lines {
		subject, act, ok := journal.Kind(l.Kind).Split()
		if !ok || l.Seq > until || subject == journal.LoadSubject || subject == journal.BookSubject || act == journal.Kept {
			continue
		}
		c := cause{say: answer.ActSaid(l.Kind)}
		if act == journal.Recorded {
			c.say = sentenceCase(answer.BodySaid(subject, l.Body, zone))
		}
		var about struct {
			Field, Crop string
			To          struct{ Field, Crop string }
		}
		if json.Unmarshal([]byte(l.Body), &about) == nil {
			c.field, c.crop = about.Field+about.To.Field, about.Crop+about.To.Crop
		}
		c.all = c.field == "" && c.crop == ""
		out = append(out, c)
	}
	return out
}
