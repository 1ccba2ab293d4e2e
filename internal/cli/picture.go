package cli

import (
	"fmt"
	"math"
	"strings"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/drydown"
)

// A canvas is what a fan is drawn on, in points from the top left; all ink is black, grey is a share of it.
type canvas interface {
	size(width, height float64)
	path(points [][2]float64, pen pen)
	ring(x, y, radius float64)
	text(x, y, size float64, anchor anchor, text string)
	bytes() ([]byte, error)
}

// A pen draws lines.
type pen struct {
	width float64
	grey  float64 // 0 black, 1 white
	dash  float64 // length of dashes and gaps; 0: none
}

type anchor int

const (
	atStart anchor = iota
	atMiddle
	atEnd
)

// A fan is a field's moisture to come as a picture: eight tenths of the weathers hatched, the middle half closer, the median a
// line; readings as rings with stems to what the field was then taken for, the limit, and at the foot when each day opens and
// shuts and how likely it is fit.
type fan struct {
	o           *app.FieldOutlook
	in          *time.Location
	first, last float64 // hours
	low, high   float64 // % wet basis
}

// Sizes of the fan, points.
const (
	fanWidth, fanHeight = 1000.0, 540.0
	fanLeft, fanRight   = 52.0, 76.0
	fanTop, fanBottom   = 84.0, 104.0
	// How far back readings are shown, hours.
	fanBack = 96
	// Distances of the hatching.
	hatchWide, hatchClose = 4.0, 2.0
)

func newFan(o *app.FieldOutlook) *fan {
	f := &fan{o: o, in: o.AsOf.Location(), low: math.Inf(1), high: math.Inf(-1)}
	hours := o.Outlook.Hours
	now := float64(hours[0].Hour)
	f.first, f.last = now, float64(hours[len(hours)-1].Hour+1)
	hold := func(wb float64) { f.low, f.high = min(f.low, wb), max(f.high, wb) }
	for _, h := range hours {
		hold(h.P10)
		hold(h.P90)
	}
	for _, r := range f.readings() {
		f.first = min(f.first, math.Floor(hourAt(r.At))-6)
		hold(r.SaidPct)
		hold(r.After)
	}
	if room := 0.4 * (f.high - f.low); o.LimitPct > f.low-room && o.LimitPct < f.high+room {
		hold(o.LimitPct)
	}
	f.low, f.high = math.Floor(f.low-0.3), math.Ceil(f.high+0.3)
	return f
}

// readings returns those that are shown: recent, and of moisture.
func (f *fan) readings() []app.Evidence {
	var out []app.Evidence
	for _, r := range f.o.Readings {
		if r.Used && !math.IsNaN(r.SaidPct) && float64(f.o.Outlook.Hours[0].Hour)-hourAt(r.At) <= fanBack {
			out = append(out, r)
		}
	}
	return out
}

func hourAt(t time.Time) float64 { return float64(t.Unix()) / 3600 }

func (f *fan) x(hour float64) float64 {
	return fanLeft + (hour-f.first)/(f.last-f.first)*(fanWidth-fanLeft-fanRight)
}

func (f *fan) y(wb float64) float64 {
	return fanTop + (f.high-wb)/(f.high-f.low)*(fanHeight-fanTop-fanBottom)
}

// draw puts the fan on a canvas.
func (f *fan) draw(c canvas) {
	c.size(fanWidth, fanHeight)
	f.frame(c)
	f.days(c)
	f.bands(c)
	f.limit(c)
	for _, r := range f.readings() {
		x := f.x(hourAt(r.At))
		c.path([][2]float64{{x, f.y(r.SaidPct)}, {x, f.y(r.After)}}, pen{width: 1.2})
		c.path([][2]float64{{x - 4, f.y(r.After)}, {x + 4, f.y(r.After)}}, pen{width: 1.2})
		c.ring(x, f.y(r.SaidPct), 4.5)
	}
	f.legend(c)
}

// frame draws title and scale.
func (f *fan) frame(c canvas) {
	now := f.o.Outlook.Hours[0]
	c.text(fanLeft, 26, 19, atStart, fmt.Sprintf("%s, %s: %.1f %% now", f.o.Field.Name, f.o.Field.Crop, now.MeanWB))
	c.text(fanLeft, 46, 13, atStart, fmt.Sprintf("Moisture of the field at the scale, %% wet basis. As of %s, over %d weathers.", f.o.AsOf.Format("Mon 2 Jan 2006 15:04"), f.o.Members))
	step := tick(f.high-f.low, 8)
	for wb := math.Ceil(f.low/step) * step; wb <= f.high+1e-9; wb += step {
		c.path([][2]float64{{fanLeft, f.y(wb)}, {fanWidth - fanRight, f.y(wb)}}, pen{width: 0.6, grey: 0.82})
		c.text(fanLeft-8, f.y(wb)+4.5, 13, atEnd, short(wb, 1))
	}
}

// days draws midnights, names of days, and at the foot when each opens and shuts and the odds of it being fit.
func (f *fan) days(c canvas) {
	foot := fanHeight - fanBottom
	day := calendar.DayOf(time.Unix(int64(f.first*3600), 0), f.in)
	for ; ; day = day.AddDays(1) {
		from, to := day.Hours(f.in)
		if float64(from) >= f.last {
			break
		}
		if float64(from) > f.first {
			c.path([][2]float64{{f.x(float64(from)), fanTop}, {f.x(float64(from)), foot}}, pen{width: 0.6, grey: 0.82})
		}
		left, right := max(float64(from), f.first), min(float64(to), f.last)
		if wide := f.x(right) - f.x(left); wide > 38 {
			c.text((f.x(left)+f.x(right))/2, foot+19, 13, atMiddle, day.Weekday().String()[:3]+" "+short(float64(day.Date), 0))
		}
	}
	c.path([][2]float64{{fanLeft, foot}, {fanWidth - fanRight, foot}}, pen{width: 1.2})
	open := foot + 40.0
	for _, d := range f.o.Outlook.Days {
		from, to := d.Day.Hours(f.in)
		left, right := max(float64(from), f.first), min(float64(to), f.last)
		if right-left >= 12 {
			c.text((f.x(left)+f.x(right))/2, open+26, 13, atMiddle, strings.TrimSpace(oddsWords(d.OddsFit)))
		}
		if !d.Fit || d.OddsFit < 0.1 {
			continue
		}
		a, b := f.x(float64(d.Opens)), f.x(float64(d.Closes))
		p := pen{width: 1.2, dash: 3}
		if d.OddsFit >= 0.5 {
			p = pen{width: 3.5}
		}
		c.path([][2]float64{{a, open}, {b, open}}, p)
		for _, x := range []float64{a, b} {
			c.path([][2]float64{{x, open - 6}, {x, open + 6}}, pen{width: 1.2})
		}
	}
	c.text(fanWidth-fanRight+8, open+4, 12, atStart, "open")
	c.text(fanWidth-fanRight+8, open+26, 12, atStart, "odds in 100")
	c.text(fanLeft, fanHeight-12, 12, atStart, "Open: from the median hour it opens to the one it shuts, dry outside, under the limit and on ground that bears; dashed where less than even. Odds that a day is fit.")
}

// bands hatches the weathers and draws their median.
func (f *fan) bands(c canvas) {
	f.hatch(c, hatchWide, pen{width: 0.7, grey: 0.25}, func(h *drydown.OutlookHour) (float64, float64) { return h.P10, h.P90 })
	f.hatch(c, hatchClose, pen{width: 0.9}, func(h *drydown.OutlookHour) (float64, float64) { return h.P25, h.P75 })
	for _, at := range []struct {
		of  func(h *drydown.OutlookHour) float64
		pen pen
	}{
		{func(h *drydown.OutlookHour) float64 { return h.P10 }, pen{width: 0.7}},
		{func(h *drydown.OutlookHour) float64 { return h.P90 }, pen{width: 0.7}},
		{func(h *drydown.OutlookHour) float64 { return h.P50 }, pen{width: 5, grey: 1}}, // so that the median stands clear of the hatching
		{func(h *drydown.OutlookHour) float64 { return h.P50 }, pen{width: 2.2}},
	} {
		var line [][2]float64
		for i := range f.o.Outlook.Hours {
			h := &f.o.Outlook.Hours[i]
			line = append(line, [2]float64{f.x(float64(h.Hour + 1)), f.y(at.of(h))})
		}
		c.path(line, at.pen)
	}
}

// hatch draws upright lines a distance apart between two percentiles, by the straight line between hours.
func (f *fan) hatch(c canvas, apart float64, p pen, of func(*drydown.OutlookHour) (low, high float64)) {
	hours := f.o.Outlook.Hours
	for x := f.x(float64(hours[0].Hour + 1)); x <= f.x(f.last); x += apart {
		at := f.first + (x-fanLeft)/(fanWidth-fanLeft-fanRight)*(f.last-f.first) - float64(hours[0].Hour+1)
		i := min(max(int(at), 0), len(hours)-1)
		j := min(i+1, len(hours)-1)
		part := min(max(at-float64(i), 0), 1)
		l0, h0 := of(&hours[i])
		l1, h1 := of(&hours[j])
		c.path([][2]float64{{x, f.y(l0 + part*(l1-l0))}, {x, f.y(h0 + part*(h1-h0))}}, p)
	}
}

func (f *fan) limit(c canvas) {
	wb := f.o.LimitPct
	label := "limit " + short(wb, 2) + " %"
	switch {
	case wb > f.high:
		c.text(fanWidth-fanRight+8, fanTop+6, 12, atStart, label+" ↑")
	case wb < f.low:
		c.text(fanWidth-fanRight+8, fanHeight-fanBottom-4, 12, atStart, label+" ↓")
	default:
		y := f.y(wb)
		c.path([][2]float64{{fanLeft, y}, {fanWidth - fanRight, y}}, pen{width: 3.6, grey: 1})
		c.path([][2]float64{{fanLeft, y}, {fanWidth - fanRight, y}}, pen{width: 1.8, dash: 8})
		c.text(fanWidth-fanRight+8, y+4, 12, atStart, label)
	}
}

func (f *fan) legend(c canvas) {
	x, y := fanLeft, 66.0
	swatch := func(apart float64, p pen, name string) {
		for i := 0.0; i <= 24; i += apart {
			c.path([][2]float64{{x + i, y - 6}, {x + i, y + 6}}, p)
		}
		c.text(x+32, y+4, 12, atStart, name)
		x += 32 + 7*float64(len(name)) + 14
	}
	swatch(hatchWide, pen{width: 0.7, grey: 0.25}, "8 in 10")
	swatch(hatchClose, pen{width: 0.9}, "half")
	c.path([][2]float64{{x, y}, {x + 24, y}}, pen{width: 2.2})
	c.text(x+32, y+4, 12, atStart, "median")
	x += 32 + 7*6 + 14
	if len(f.readings()) > 0 {
		c.path([][2]float64{{x + 5, y - 4}, {x + 5, y + 8}}, pen{width: 1.2})
		c.path([][2]float64{{x + 1, y + 8}, {x + 9, y + 8}}, pen{width: 1.2})
		c.ring(x+5, y-4, 4.5)
		c.text(x+18, y+4, 12, atStart, "a reading, and what the field was taken for after it")
	}
}

// canvasFor returns what draws the kind of file that a name ends in.
func canvasFor(name string) (canvas, error) {
	switch lower := strings.ToLower(name); {
	case strings.HasSuffix(lower, ".svg"):
		return &svgCanvas{}, nil
	case strings.HasSuffix(lower, ".png"):
		return &pngCanvas{}, nil
	default:
		return nil, &commandError{say: "--plot is " + name + "; accepted: a name that ends in .svg or .png", next: "SVG stays sharp at any size; PNG goes into a message."}
	}
}

// picture returns the fan as the kind of file that a name ends in.
func picture(o *app.FieldOutlook, name string) ([]byte, error) {
	c, err := canvasFor(name)
	if err != nil {
		return nil, err
	}
	newFan(o).draw(c)
	return c.bytes()
}
