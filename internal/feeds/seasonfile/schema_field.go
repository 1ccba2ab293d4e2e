package seasonfile

import (
	"fmt"
	"math/big"
	"slices"
	"strconv"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/feeds/quantity"
)

var fieldKeys = table[farm.Field]{keys: slices.Concat([]key[farm.Field]{
	owed("id", identity("field"), func(f *farm.Field) *string { return &f.ID }, "Used by readings, stages, combines and the command line."),
	val("name", text(maxName), func(f *farm.Field) *string { return &f.Name }, "The name as the farm says it."),
	owed("crop", aCrop(), func(f *farm.Field) *crop.Kind { return &f.Crop }, "The crop."),
	val("class", wheatClass(), func(f *farm.Field) *string { return &f.Class }, "The class of wheat; no other crop has one."),
	val("variety", text(maxName), func(f *farm.Field) *string { return &f.Variety }, "The variety or hybrid."),
	val("acres", number(0.01, 20000, "acres"), func(f *farm.Field) *float64 { return &f.Acres }, "Stated acres; may be left out where a boundary is given."),
	val("cut_acres", number(0, 20000, "acres"), func(f *farm.Field) *float64 { return &f.CutAcres }, "Acres already cut."),
}, latLon(func(f *farm.Field) **farm.Point { return &f.At }, "a point in the field (left out, the farm's)"), []key[farm.Field]{
	opt("planted", aDay(), func(f *farm.Field) **calendar.Day { return &f.Planted }, "Day of planting."),
	opt("relative_maturity", number(0, 150, "days of corn or group of soybean"), func(f *farm.Field) **float64 { return &f.RelativeMaturity }, "Relative maturity: days of a corn hybrid, group of a soybean variety."),
	opt("mature", aDay(), func(f *farm.Field) **calendar.Day { return &f.Mature }, "Day on which the median plant is mature: R7 of soybean, black layer of corn, ripe of others."),
	opt("mature_sd", within(days, "0d", "60d"), func(f *farm.Field) **float64 { return &f.MatureSDDays }, "How sure that day is, one standard deviation."),
	val("evenness", choice("even", "some", "uneven"), func(f *farm.Field) *string { return &f.Evenness }, "How evenly the field ripens; left out, some unevenness is assumed."),
	yieldKey(),
	opt("yield_sd", within(percent, "0%", "100%"), func(f *farm.Field) **float64 { return &f.Yield.SDPct }, "How sure the yield is, one standard deviation; left out, by how it was estimated."),
	val("yield_how", choice("counts", "guess", "history"), func(f *farm.Field) *string { return &f.Yield.How }, "How the yield was estimated."),
	owed("base", within(printed, "5%", "25%"), func(f *farm.Field) *trade.Percent { return &f.Yield.Base }, "Moisture at which the yield is counted."),
	opt("limit", within(printed, "1%", "60%"), func(f *farm.Field) **trade.Percent { return &f.Limit }, "Wettest moisture at which this field is cut; left out, the limit under prefer."),
	opt("lodged", within(percent, "0%", "100%"), func(f *farm.Field) **float64 { return &f.LodgedPct }, "Plants lodged."),
	opt("green", within(percent, "0%", "100%"), func(f *farm.Field) **float64 { return &f.GreenPct }, "Plants still green-stemmed."),
	opt("immature", within(percent, "0%", "100%"), func(f *farm.Field) **float64 { return &f.ImmaturePct }, "Mass of grain that will not ripen."),
	parts("shares", &shareKeys, func(f *farm.Field) *[]farm.Share { return &f.Shares }, "Whose the crop is; the parts make exactly 1."),
	byName("miles", refNames("elevator", "outlet", "bin"), within(miles, "0mi", "2000mi"), func(f *farm.Field) *map[string]float64 { return &f.Miles }, "Road from this field to an outlet or bin; wins over the outlet's own."),
	byName("moves_to", refNames("creek80", "field"), within(minutes, "0min", "24h"), func(f *farm.Field) *map[string]float64 { return &f.MovesTo }, "Time to move a combine to another field."),
	boundaryKey(),
	sub("quality", &qualityKeys, func(f *farm.Field) *farm.Quality { return &f.Quality }, "What the owner expects on the ticket besides moisture."),
	sub("soil", &soilKeys, func(f *farm.Field) *farm.Soil { return &f.Soil }, "The ground, for whether it carries."),
	records("entrance", &entranceKeys, func(f *farm.Field) *[]farm.Entrance { return &f.Entrances }, "A way into the field."),
}), check: checkField}

var qualityKeys = table[farm.Quality]{keys: []key[farm.Quality]{
	opt("test_weight", within(weight, "20lb/bu", "80lb/bu"), func(q *farm.Quality) **trade.Percent { return &q.TestWeight }, "Test weight."),
	opt("foreign_material", within(printed, "0%", "100%"), func(q *farm.Quality) **trade.Percent { return &q.ForeignMaterial }, "Foreign material."),
	opt("damage", within(printed, "0%", "100%"), func(q *farm.Quality) **trade.Percent { return &q.Damage }, "Total damage."),
	opt("heat", within(printed, "0%", "100%"), func(q *farm.Quality) **trade.Percent { return &q.Heat }, "Heat damage."),
	opt("splits", within(printed, "0%", "100%"), func(q *farm.Quality) **trade.Percent { return &q.Splits }, "Splits."),
	opt("bcfm", within(printed, "0%", "100%"), func(q *farm.Quality) **trade.Percent { return &q.BCFM }, "Broken corn and foreign material."),
	opt("dockage", within(printed, "0%", "100%"), func(q *farm.Quality) **trade.Percent { return &q.Dockage }, "Dockage."),
	opt("protein", within(printed, "0%", "60%"), func(q *farm.Quality) **trade.Percent { return &q.Protein }, "Protein."),
}}

var soilKeys = table[farm.Soil]{keys: []key[farm.Soil]{
	val("texture", choice("sand", "loamy sand", "sandy loam", "loam", "silt loam", "silty clay loam", "clay loam", "silty clay", "clay"), func(s *farm.Soil) *string { return &s.Texture }, "Texture of the topsoil."),
	opt("tiled", truth(), func(s *farm.Soil) **bool { return &s.Tiled }, "Whether the field is tiled."),
	val("drainage", choice("good", "poor"), func(s *farm.Soil) *string { return &s.Drainage }, "How the field drains."),
	val("below", choice("dry", "normal", "wet"), func(s *farm.Soil) *string { return &s.Below }, "The subsoil at the start of harvest."),
}}

var entranceKeys = table[farm.Entrance]{
	keys: slices.Concat([]key[farm.Entrance]{
		val("name", text(maxName), func(e *farm.Entrance) *string { return &e.Name }, "What the farm calls it."),
		opt("width", within(length, "3ft", "200ft"), func(e *farm.Entrance) **units.Length { return &e.Width }, "Width of gate, lane or crossing; left out, not known."),
		opt("height", within(length, "3ft", "100ft"), func(e *farm.Entrance) **units.Length { return &e.Height }, "Height under wires or trees; left out, not known."),
		opt("limit", within(mass, "1000lb", "200000lb"), func(e *farm.Entrance) **units.Mass { return &e.Limit }, "Weight posted or stated for bridge or crossing."),
		val("note", text(maxNote), func(e *farm.Entrance) *string { return &e.Note }, "Told to the driver."),
	}, latLon(func(e *farm.Entrance) **farm.Point { return &e.At }, "the entrance")),
	check: func(r *reader, label string, n *node, _ *farm.Entrance) { r.latLon(n, label) },
}

var shareKeys = table[farm.Share]{keys: []key[farm.Share]{
	owed("party", ref("party"), func(s *farm.Share) *string { return &s.Party }, "Who."),
	{
		name: "part", about: "How much of the crop.", want: wantPart, need: true, form: aText,
		read: func(r *reader, label, _ string, n *node, s *farm.Share) {
			num, den, ok := part(n.text)
			if n.form != aText || !ok {
				r.refuse(n, refusal{"share.form", label, n.shown(), wantPart, ""})
				return
			}
			s.Num, s.Den = num, den
		},
		text: func(_ *writer, s *farm.Share) string { return quote(fmt.Sprintf("%d/%d", s.Num, s.Den)) },
	},
}}

const wantPart = "a part of 1 as 1/3, both numbers whole and at most 10000, in quotes"

// part reads "1/3". It is as written, not reduced.
func part(s string) (num, den int64, ok bool) {
	a, b, slash := strings.Cut(s, "/")
	const most = 10000 // parts of a farm are halves, thirds and shares out of 100 or 1000
	for _, p := range []struct {
		text string
		into *int64
	}{{a, &num}, {b, &den}} {
		n, err := strconv.Atoi(p.text)
		if err != nil || n < 1 || n > most || p.text[0] == '+' {
			return 0, 0, false
		}
		*p.into = int64(n)
	}
	return num, den, slash && num <= den
}

// yieldKey is the yield in bushels; a weight per area needs the crop, which was read before.
func yieldKey() key[farm.Field] {
	const want = "a yield from 1bu/ac to 600bu/ac, as 55bu/ac or 3.7t/ha"
	return key[farm.Field]{
		name: "yield", about: "Expected crop standing at maturity, at the moisture in base.", want: want, need: true, form: aText,
		read: func(r *reader, label, _ string, n *node, f *farm.Field) {
			if n.form != aText && n.form != aNumber {
				r.wrongForm(n, label, want, aText)
				return
			}
			y, err := quantity.ParseYield(label, strings.ReplaceAll(n.text, "_", ""))
			if err != nil {
				r.refuseWith(n, label, want, err)
				return
			}
			bushel, ok := crop.Bushel(f.Crop)
			if !ok && !y.InBushels() {
				return // without a crop there is no bushel; the crop has been refused
			}
			f.Yield.BuPerAcre = y.BushelsPerAcre(bushel)
			if f.Yield.BuPerAcre < 1 || f.Yield.BuPerAcre > 600 {
				r.refuse(n, refusal{"number.range", label, n.text, want, ""})
			}
		},
		text: func(_ *writer, f *farm.Field) string {
			bushel, _ := crop.Bushel(f.Crop)
			return quote(quantity.FormatYield(f.Yield.BuPerAcre, bushel))
		},
	}
}

// boundaryKey is the outline: rings of points, the outer one first.
func boundaryKey() key[farm.Field] {
	const want = "rings of points, the outer first, each [[lat, lon], [lat, lon], …] in degrees"
	lat, lon := number(-90, 90, "degrees"), number(-180, 180, "degrees")
	return key[farm.Field]{
		name: "boundary", about: "The outline of the field.", want: want, form: aText,
		read: func(r *reader, label, _ string, n *node, f *farm.Field) {
			if n.form != aList || n.headed || len(n.items) == 0 {
				r.wrongForm(n, label, want, aList)
				return
			}
			if first := n.items[0]; first.form == aList && len(first.items) > 0 && first.items[0].form == aNumber {
				r.refuse(n, refusal{"boundary.ring", label, "a single ring", want, "Put one more pair of brackets around it."})
				return
			}
			for i, ring := range n.items {
				where := fmt.Sprintf("%s ring %d", label, i+1)
				if ring.form != aList || len(ring.items) < 3 {
					r.refuse(ring, refusal{"boundary.ring", where, ring.shown(), "at least three points, each [lat, lon]", ""})
					continue
				}
				var points []farm.Point
				for j, p := range ring.items {
					at := fmt.Sprintf("%s point %d", where, j+1)
					if p.form != aList || len(p.items) != 2 {
						r.refuse(p, refusal{"boundary.point", at, p.shown(), "a point [lat, lon] in degrees", ""})
						continue
					}
					y, _ := lat.read(r, at+" lat", p.items[0])
					x, _ := lon.read(r, at+" lon", p.items[1])
					points = append(points, farm.Point{Lat: y, Lon: x})
				}
				f.Boundary = append(f.Boundary, points)
			}
		},
		text: func(_ *writer, f *farm.Field) string {
			if len(f.Boundary) == 0 {
				return ""
			}
			var b strings.Builder
			b.WriteString("[\n")
			for _, ring := range f.Boundary {
				b.WriteString("  [\n")
				for _, p := range ring {
					fmt.Fprintf(&b, "    [%s, %s],\n", lat.text(p.Lat), lon.text(p.Lon))
				}
				b.WriteString("  ],\n")
			}
			b.WriteString("]")
			return b.String()
		},
	}
}

// checkField looks at what must hold between the keys of a field.
func checkField(r *reader, label string, n *node, f *farm.Field) {
	r.latLon(n, label)
	if n.child("acres") == nil && n.child("boundary") == nil {
		r.missing(n, label, "acres", number(0.01, 20000, "acres").want, "Give acres, or the boundary.")
	}
	if n.all("acres", "cut_acres") && f.CutAcres > f.Acres {
		cut := n.child("cut_acres")
		r.refuse(cut, refusal{"acres.cut", join(label, "cut_acres"), cut.text, fmt.Sprintf("at most the acres of the field, %s", n.child("acres").text), "Correct one of them."})
	}
	if n.all("class", "crop") && f.Crop != crop.Wheat {
		c := n.child("class")
		r.refuse(c, refusal{"class.crop", join(label, "class"), c.text, "no class, since the crop is " + f.Crop.String(), "Take it out, or correct the crop."})
	}
	if n.all("planted", "mature") && f.Mature.Before(*f.Planted) {
		m := n.child("mature")
		r.refuse(m, refusal{"window.order", join(label, "mature"), m.text, fmt.Sprintf("a day after planting, %s", f.Planted), "Correct one of them."})
	}
	r.shares(n.child("shares"), join(label, "shares"), f.Shares)
}

// shares reports parts that do not make exactly 1, and a party that has two.
func (r *reader) shares(n *node, label string, shares []farm.Share) {
	if n == nil || n.form != aList || len(n.items) == 0 {
		return
	}
	sum := new(big.Rat)
	for i, item := range n.items {
		if item.form != aTable || !item.all("party", "part") || i >= len(shares) {
			return
		}
		for _, s := range shares[:i] {
			if s.Party == shares[i].Party {
				party := item.child("party")
				r.refuse(party, refusal{"share.twice", fmt.Sprintf("%s %d party", label, i+1), party.text, "each party once", "Add its parts together."})
				return
			}
		}
		sum.Add(sum, big.NewRat(shares[i].Num, shares[i].Den))
	}
	if one := big.NewRat(1, 1); sum.Cmp(one) != 0 {
		r.refuse(n, refusal{"share.sum", label, sum.RatString() + " together", "parts that make exactly 1", "Correct the parts; the farm's own part counts too."})
	}
}

var readingKeys = table[farm.Reading]{keys: []key[farm.Reading]{
	val("id", identity("reading"), func(m *farm.Reading) *string { return &m.ID }, "What tells it from others."),
	owed("field", ref("field"), func(m *farm.Reading) *string { return &m.Field }, "Where."),
	owed("at", anInstantOf(), func(m *farm.Reading) *time.Time { return &m.At }, "When."),
	owed("moisture", within(printed, "0%", "60%"), func(m *farm.Reading) *trade.Percent { return &m.Moisture }, "The moisture found, wet basis."),
	owed("device", choice("meter", "bite", "combine", "ticket"), func(m *farm.Reading) *string { return &m.Device }, "How it was found."),
	val("name", text(maxName), func(m *farm.Reading) *string { return &m.Name }, "Which meter, or whose bite."),
	val("spots", whole(1, 1000, "spots"), func(m *farm.Reading) *int { return &m.Spots }, "Spots sampled into the figure; left out, one."),
	val("zone", choice("whole", "low", "knob", "load"), func(m *farm.Reading) *string { return &m.Zone }, "Part of the field, or a load cut in it; left out, the whole."),
	val("load", text(maxName), func(m *farm.Reading) *string { return &m.Load }, "The load it was read of: its ticket, or any name that readings of the same load share."),
	val("by", text(maxName), func(m *farm.Reading) *string { return &m.By }, "Who took it."),
	val("note", text(maxNote), func(m *farm.Reading) *string { return &m.Note }, "Anything else."),
}}

var stageKeys = table[farm.Sighting]{keys: []key[farm.Sighting]{
	val("id", identity("stage"), func(s *farm.Sighting) *string { return &s.ID }, "What tells it from others."),
	owed("field", ref("field"), func(s *farm.Sighting) *string { return &s.Field }, "Where."),
	owed("on", aDay(), func(s *farm.Sighting) *calendar.Day { return &s.On }, "When."),
	owed("stage", choice("R5", "R6", "R7", "R8", "dent", "black-layer", "ripe", "brown", "green"), func(s *farm.Sighting) *string { return &s.Stage }, "The stage seen; brown is of pods, green says that it is not ripe yet."),
	opt("plants", within(percent, "0%", "100%"), func(s *farm.Sighting) **float64 { return &s.Pct }, "Plants at the stage or past it, or pods that are brown; left out, half."),
	val("zone", choice("whole", "low", "knob"), func(s *farm.Sighting) *string { return &s.Zone }, "Part of the field; left out, the whole."),
	val("by", text(maxName), func(s *farm.Sighting) *string { return &s.By }, "Who saw it."),
	val("note", text(maxNote), func(s *farm.Sighting) *string { return &s.Note }, "Anything else."),
}}

var groundKeys = table[farm.GroundNote]{keys: []key[farm.GroundNote]{
	val("id", identity("ground"), func(g *farm.GroundNote) *string { return &g.ID }, "What tells it from others."),
	owed("field", ref("field"), func(g *farm.GroundNote) *string { return &g.Field }, "Where."),
	owed("on", aDay(), func(g *farm.GroundNote) *calendar.Day { return &g.On }, "When."),
	owed("found", choice("carried", "too soft"), func(g *farm.GroundNote) *string { return &g.Found }, "Whether it bore a loaded combine or cart."),
	val("by", text(maxName), func(g *farm.GroundNote) *string { return &g.By }, "Who drove."),
	val("note", text(maxNote), func(g *farm.GroundNote) *string { return &g.Note }, "Anything else."),
}}

var anchorKeys = table[farm.Anchor]{keys: []key[farm.Anchor]{
	owed("crop", aCrop(), func(a *farm.Anchor) *crop.Kind { return &a.Crop }, "The crop."),
	owed("relative_maturity", number(0, 150, "days of corn or group of soybean"), func(a *farm.Anchor) *float64 { return &a.RelativeMaturity }, "Its relative maturity."),
	owed("planted", aDay(), func(a *farm.Anchor) *calendar.Day { return &a.Planted }, "When it was planted."),
	owed("mature", aDay(), func(a *farm.Anchor) *calendar.Day { return &a.Mature }, "When it was mature."),
	val("note", text(maxNote), func(a *farm.Anchor) *string { return &a.Note }, "Where it was seen."),
}, check: func(r *reader, label string, n *node, a *farm.Anchor) {
	r.window(n, label, "planted", "mature", a.Planted, a.Mature)
}}
