package seasonfile

import (
	"fmt"
	"strings"
	"time"
	"unicode"

	"threshday/internal/core/farm"
)

// A writer builds the canonical text.
type writer struct {
	out  strings.Builder
	zone *time.Location
}

// Write returns s as the text of a season file. [Read] gives s back, with empty maps and lists as nil. The text is
// canonical: keys stand in the order of [Keys], records in their own order, names of crops and records in the order
// of the alphabet, quantities in the unit that needs the fewest digits, instants on the farm's clock. What a person
// wrote as comments is not part of a season and is not kept.
func Write(s *farm.Season) []byte {
	w := &writer{zone: time.UTC}
	if zone, err := time.LoadLocation(s.Farm.Zone); err == nil {
		w.zone = zone
	}
	for _, k := range season.keys {
		k.tables(w, k.name, s)
	}
	return []byte(w.out.String())
}

// WriteOutlook returns the farm's own forecast as it stands in a season file, with instants on the clock of zone: text to
// paste into one.
func WriteOutlook(days []farm.OutlookDay, zone *time.Location) []byte {
	w := &writer{zone: zone}
	for _, k := range season.keys {
		if k.name == "outlook" {
			k.tables(w, k.name, &farm.Season{Outlook: days})
		}
	}
	return []byte(w.out.String())
}

// writeTable writes a table under its header. One that is empty is left out unless it is a record.
func writeTable[T any](w *writer, header string, t *table[T], path string, from *T, record bool) {
	var body strings.Builder
	for _, k := range t.keys {
		if k.text == nil {
			continue
		}
		if text := k.text(w, from); text != "" {
			body.WriteString(k.name + " = " + text + "\n")
		}
	}
	if body.Len() > 0 || record {
		if w.out.Len() > 0 {
			header = "\n" + header
		}
		w.out.WriteString(header + "\n" + body.String())
	}
	for _, k := range t.keys {
		if k.tables != nil {
			k.tables(w, path+"."+k.name, from)
		}
	}
}

// quote returns s as a TOML string on one line.
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r < ' ' || r == 0x7f || !unicode.IsPrint(r) && r > 0xff:
			if r > 0xffff {
				fmt.Fprintf(&b, `\U%08X`, r)
			} else {
				fmt.Fprintf(&b, `\u%04X`, r)
			}
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// bareKey returns a key as it stands before "=": in quotes only where it must be.
func bareKey(s string) string {
	if idText(s) {
		return s
	}
	return quote(s)
}
