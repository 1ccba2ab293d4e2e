package cli

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"threshday/internal/app"
)

// loads prints the day's loads for their drivers: when each leaves, is weighed and is back, and what to know on the way.
func (p *printer) loads(d *app.DaySheet) {
	h := d.Hauling
	if h == nil {
		return
	}
	p.line(p.bold("Loads for " + d.OrdersFor.Weekday().String() + " " + d.OrdersFor.String()))
	p.line(p.bold("   #  leaves (8 in 10)    truck          from             to                       bu  at the scale        back"))
	for _, l := range h.Loads {
		to := strings.Replace(l.ToName, " contract ", " ", 1)
		if l.Overnight {
			p.line(fmt.Sprintf("  %2d  %-19s %-14s %-16s %-20s %6s", l.Number, "stays overnight", cut(l.TruckName, 14), cut(l.FieldName, 16), cut(to, 20), digits(l.Bushels, 0)))
			continue
		}
		p.line(fmt.Sprintf("  %2d  %-19s %-14s %-16s %-20s %6s  %-19s %s", l.Number, within(l.Leaves, l.LeavesIn), cut(l.TruckName, 14), cut(l.FieldName, 16), cut(to, 20),
			digits(l.Bushels, 0), within(l.Scale, l.ScaleIn), l.Back.Format("15:04")))
	}
	for _, note := range driverNotes(h.Loads) {
		p.hung("      ", note)
	}
	for _, say := range h.Say {
		p.hung("  ", say)
	}
	p.line("")
}

// within says a time with its middle eight tenths, where they differ.
func within(at time.Time, in [2]time.Time) string {
	text := at.Format("15:04")
	if in[0].Equal(at) && in[1].Equal(at) {
		return text
	}
	return fmt.Sprintf("%s (%s-%s)", text, in[0].Format("15:04"), in[1].Format("15:04"))
}

// driverNotes says once for each field and place what its drivers must know.
func driverNotes(loads []app.TruckLoad) []string {
	var out []string
	add := func(note string) {
		if !slices.Contains(out, note) {
			out = append(out, note)
		}
	}
	for _, l := range loads {
		if l.Entrance != "" {
			add(strings.TrimSpace(l.FieldName + ": in by " + l.Entrance + ". " + l.Road))
		}
		if l.Tell != "" {
			add(l.ToName + ": " + l.Tell)
		}
	}
	return out
}
