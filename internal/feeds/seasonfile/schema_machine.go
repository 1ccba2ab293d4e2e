package seasonfile

import (
	"fmt"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

var combineKeys = table[farm.Combine]{keys: []key[farm.Combine]{
	owed("id", identity("combine"), func(c *farm.Combine) *string { return &c.ID }, "Used in the plan."),
	val("name", text(maxName), func(c *farm.Combine) *string { return &c.Name }, "The name as the farm says it."),
	opt("efficiency", number(0.1, 1, "a share of the time in the field"), func(c *farm.Combine) **float64 { return &c.Efficiency }, "Field efficiency; left out, a published one is assumed."),
	owed("tank", within(room, "1bu", "2000bu"), func(c *farm.Combine) *float64 { return &c.TankBu }, "What the grain tank holds."),
	owed("unload", within(secondly, "0.1bu/s", "20bu/s"), func(c *farm.Combine) *float64 { return &c.UnloadBuS }, "How fast it unloads."),
	opt("width", within(length, "3ft", "60ft"), func(c *farm.Combine) **units.Length { return &c.Width }, "Width on the road, head off."),
	opt("height", within(length, "3ft", "25ft"), func(c *farm.Combine) **units.Length { return &c.Height }, "Height on the road."),
	opt("weight", within(mass, "1000lb", "200000lb"), func(c *farm.Combine) **units.Mass { return &c.Weight }, "Weight on the road, tank empty."),
	opt("out_until", aDay(), func(c *farm.Combine) **calendar.Day { return &c.OutUntil }, "Not available before this day."),
	val("service_due", text(maxNote), func(c *farm.Combine) *string { return &c.ServiceDue }, "What must be done before the first field."),
	val("starts_in", ref("field"), func(c *farm.Combine) *string { return &c.StartsIn }, "The field it stands in."),
	val("tracks", truth(), func(c *farm.Combine) *bool { return &c.Tracks }, "Whether it runs on tracks; left out, on wheels."),
	records("head", &headKeys, func(c *farm.Combine) *[]farm.Head { return &c.Heads }, "A head and the crops it cuts.").must(),
}}

var headKeys = table[farm.Head]{keys: []key[farm.Head]{
	many("crops", aCrop(), func(h *farm.Head) *[]crop.Kind { return &h.Crops }, "The crops it cuts.").must(),
	val("name", text(maxName), func(h *farm.Head) *string { return &h.Name }, "What the farm calls it."),
	owed("width", within(length, "3ft", "80ft"), func(h *farm.Head) *units.Length { return &h.Width }, "Working width."),
	owed("speed", within(speed, "0.5mph", "15mph"), func(h *farm.Head) *units.Speed { return &h.Speed }, "Fastest in a good stand."),
	opt("ceiling", within(hourly, "10bu/h", "20000bu/h"), func(h *farm.Head) **float64 { return &h.Ceiling }, "What the machine can thresh; left out, that of its class is assumed."),
	opt("transfer", within(duration, "0min", "24h"), func(h *farm.Head) **time.Duration { return &h.Transfer }, "Time to change to this head."),
}, check: func(r *reader, label string, n *node, h *farm.Head) {
	if c := n.child("crops"); c != nil && c.form == aList && len(c.items) == 0 {
		r.refuse(c, refusal{"list.empty", join(label, "crops"), "[]", "at least one crop", "Name what the head cuts."})
	}
}}

var cartKeys = table[farm.Cart]{keys: []key[farm.Cart]{
	owed("id", identity("cart"), func(c *farm.Cart) *string { return &c.ID }, "Used in the plan."),
	val("name", text(maxName), func(c *farm.Cart) *string { return &c.Name }, "The name as the farm says it."),
	owed("holds", within(room, "1bu", "5000bu"), func(c *farm.Cart) *float64 { return &c.Bu }, "What it holds."),
	owed("unload", within(secondly, "0.1bu/s", "30bu/s"), func(c *farm.Cart) *float64 { return &c.UnloadBuS }, "How fast it unloads."),
}}

var truckKeys = table[farm.Truck]{keys: []key[farm.Truck]{
	owed("id", identity("truck"), func(t *farm.Truck) *string { return &t.ID }, "Used in the plan."),
	val("name", text(maxName), func(t *farm.Truck) *string { return &t.Name }, "The name as the farm says it."),
	owed("count", whole(1, 200, "trucks"), func(t *farm.Truck) *int { return &t.Count }, "How many of this kind."),
	opt("gross", within(mass, "1000lb", "300000lb"), func(t *farm.Truck) **units.Mass { return &t.Gross }, "The owner's limit for the loaded truck; the law of the road may set a lower one."),
	opt("tare", within(mass, "500lb", "100000lb"), func(t *farm.Truck) **units.Mass { return &t.Tare }, "Weight empty."),
	opt("per_mile", money("mi", "$0", "$100"), func(t *farm.Truck) **trade.Price { return &t.PerMile }, "Cost of a mile."),
	opt("per_hour", money("h", "$0", "$1000"), func(t *farm.Truck) **trade.Price { return &t.PerHour }, "Cost of an hour, driver included."),
	opt("loaded_speed", within(road, "1mph", "85mph"), func(t *farm.Truck) **float64 { return &t.LoadedMPH }, "Usual speed loaded."),
	opt("empty_speed", within(road, "1mph", "85mph"), func(t *farm.Truck) **float64 { return &t.EmptyMPH }, "Usual speed empty."),
	opt("width", within(length, "3ft", "20ft"), func(t *farm.Truck) **units.Length { return &t.Width }, "Width."),
	opt("height", within(length, "3ft", "20ft"), func(t *farm.Truck) **units.Length { return &t.Height }, "Height."),
}, check: func(r *reader, label string, n *node, t *farm.Truck) {
	if n.all("gross", "tare") && *t.Tare >= *t.Gross {
		tare := n.child("tare")
		r.refuse(tare, refusal{"weight.order", join(label, "tare"), tare.text, fmt.Sprintf("less than gross, %s", n.child("gross").text), "Were the two swapped?"})
	}
}}
