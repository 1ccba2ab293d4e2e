package seasonfile_test

import (
	"fmt"
	"time"
	"unicode"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// A generator draws seasons that a file can hold. When full, everything that may be left out is there.
type generator struct {
	t    *rapid.T
	full bool
}

// seasons draws seasons; full ones have no empty corner.
func seasons(full bool) *rapid.Generator[*farm.Season] {
	return rapid.Custom(func(t *rapid.T) *farm.Season {
		g := generator{t, full}
		return g.season()
	})
}

// has decides whether something that may be left out is there.
func (g generator) has() bool { return g.full || rapid.Bool().Draw(g.t, "has") }

// count draws how many records there are.
func (g generator) count(least, most int) int {
	if g.full {
		least = max(least, 1)
	}
	return rapid.IntRange(least, most).Draw(g.t, "count")
}

func (g generator) float(low, high float64) float64 {
	if rapid.Bool().Draw(g.t, "round") {
		step := (high - low) / 64
		return low + step*float64(rapid.IntRange(1, 63).Draw(g.t, "steps"))
	}
	return max(rapid.Float64Range(low, high).Draw(g.t, "float"), low+(high-low)*1e-6)
}

func (g generator) text() string {
	runes := rapid.RuneFrom([]rune("\"\\#=[]{}'\t é—漢🌽 "), unicode.L, unicode.N, unicode.P, unicode.S)
	return rapid.StringOfN(runes, 1, 80, -1).Draw(g.t, "text")
}

func (g generator) note() string { return g.text() + "\n" + g.text() }

func (g generator) id(kind string, i int) string {
	return fmt.Sprintf("%s-%d_%s", kind, i, rapid.StringMatching(`[A-Za-z0-9]{1,8}`).Draw(g.t, "id"))
}

func (g generator) word(words ...string) string { return rapid.SampledFrom(words).Draw(g.t, "word") }

func (g generator) crop() crop.Kind { return rapid.SampledFrom(crop.Kinds()).Draw(g.t, "crop") }

func (g generator) percent(low, high int64) trade.Percent {
	return trade.Percent(rapid.Int64Range(max(low, 1), high).Draw(g.t, "percent"))
}

func (g generator) price(low, high int64) trade.Price {
	p := trade.Price(rapid.Int64Range(low, high).Draw(g.t, "price"))
	if p == 0 {
		return 1
	}
	return p
}

func (g generator) day(from, until calendar.Day) calendar.Day {
	return from.AddDays(rapid.IntRange(0, until.DaysSince(from)).Draw(g.t, "day"))
}

var firstDay, lastDay = calendar.MustDay("1901-01-01"), calendar.MustDay("2198-12-31")

func (g generator) instant() time.Time {
	t := time.Unix(rapid.Int64Range(-2_100_000_000, 7_200_000_000).Draw(g.t, "second"), 0)
	if rapid.Bool().Draw(g.t, "fine") {
		t = t.Add(time.Duration(rapid.IntRange(0, 999_999_999).Draw(g.t, "nanosecond")))
	}
	return t.UTC()
}

func (g generator) point() *farm.Point {
	return &farm.Point{Lat: g.float(-90, 90), Lon: g.float(-180, 180)}
}

func (g generator) length(low, high units.Length) *units.Length {
	return ptr(units.Length(g.float(float64(low), float64(high))))
}

func (g generator) mass(low, high units.Mass) *units.Mass {
	return ptr(units.Mass(g.float(float64(low), float64(high))))
}

func (g generator) hours() [2]calendar.Clock {
	from := rapid.IntRange(1, 1439).Draw(g.t, "from")
	return [2]calendar.Clock{calendar.Clock(from), calendar.Clock(rapid.IntRange(from+1, 1440).Draw(g.t, "until"))}
}

func ptr[V any](v V) *V { return &v }

// opt draws a value or nothing.
func opt[V any](g generator, draw func() V) *V {
	if !g.has() {
		return nil
	}
	return ptr(draw())
}

// some draws a value or its zero.
func some[V any](g generator, draw func() V) V {
	if !g.has() {
		return *new(V)
	}
	return draw()
}

// list draws records.
func list[V any](g generator, least int, draw func(i int) V) []V {
	var out []V
	for i := range g.count(least, 3) {
		out = append(out, draw(i))
	}
	return out
}

// byKey draws a map over some of the keys.
func byKey[K comparable, V any](g generator, keys []K, draw func() V) map[K]V {
	var out map[K]V
	for _, k := range keys {
		if g.has() {
			if out == nil {
				out = map[K]V{}
			}
			out[k] = draw()
		}
	}
	return out
}

func ids[V any](records []V, id func(V) string) []string {
	var out []string
	for _, r := range records {
		out = append(out, id(r))
	}
	return out
}
