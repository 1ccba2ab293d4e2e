package cli

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/farm"
)

// pictured is three days that wave between 12 and 16 %, with one reading the evening before.
func pictured() *app.FieldOutlook {
	zone := time.FixedZone("CST", -6*3600)
	at := time.Date(2031, 10, 1, 6, 0, 0, 0, zone)
	o := &app.FieldOutlook{Field: &farm.Field{Name: "North & Bottom <40>", Crop: crop.Soybean}, AsOf: at, Members: 50, LimitPct: 13.5, Limits: []float64{13.5}}
	start := calendar.HourOf(at)
	for h := range 72 {
		m := 14 + 2*math.Cos(2*math.Pi*float64(h)/24)
		o.Outlook.Hours = append(o.Outlook.Hours, drydown.OutlookHour{
			Hour: start + calendar.Hour(h), MeanWB: m, P10: m - 1, P25: m - 0.5, P50: m, P75: m + 0.5, P90: m + 1, Over: []float64{0.5}, LoadsOver: []float64{0.5},
		})
	}
	for d := range 3 {
		noon := start + calendar.Hour(24*d+6)
		o.Outlook.Days = append(o.Outlook.Days, drydown.OutlookDay{Day: calendar.DayOf(at, zone).AddDays(d), OddsFit: 0.9 - 0.3*float64(d), Fit: true, Opens: noon, Closes: noon + 6})
	}
	o.Readings = []app.Evidence{{ReadingEffect: app.ReadingEffect{Used: true, SaidPct: 15.2, Before: 14, After: 14.8}, At: at.Add(-12 * time.Hour)}}
	return o
}

func TestTheFanIsWellFormedAndHoldsEveryReading(t *testing.T) {
	text, err := picture(pictured(), "north.SVG")
	if err != nil {
		t.Fatal(err)
	}
	rings := 0
	for d := xml.NewDecoder(bytes.NewReader(text)); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not XML: %v", err)
		}
		if e, ok := token.(xml.StartElement); ok && e.Name.Local == "circle" {
			rings++
		}
	}
	if rings != 2 { // one in the legend
		t.Errorf("%d rings", rings)
	}
	for _, want := range []string{"North &amp; Bottom &lt;40&gt;", "limit 13.5 %", "Wed 1", ">90<", ">30<"} {
		if !strings.Contains(string(text), want) {
			t.Errorf("the picture does not say %q", want)
		}
	}
	if strings.Contains(string(text), "NaN") || strings.Contains(string(text), "Inf") {
		t.Error("something is drawn nowhere")
	}
}

// The limit's y is a dashed line: black dashes and white gaps; far above the band there is paper.
func TestTheImageIsDrawnWhereTheScaleSays(t *testing.T) {
	o := pictured()
	data, err := picture(o, "north.png")
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	if b := img.Bounds(); b.Dx() != 2*fanWidth || b.Dy() != 2*fanHeight {
		t.Fatalf("size %v", b)
	}
	f := newFan(o)
	dark := func(y float64) (share float64) {
		from, to := int(2*fanLeft), int(2*f.x(float64(o.Outlook.Hours[0].Hour)))-20 // before the band begins
		for x := from; x < to; x++ {
			if r, _, _, _ := img.At(x, int(2*y)).RGBA(); r < 0x8000 {
				share += 1 / float64(to-from)
			}
		}
		return share
	}
	if got := dark(f.y(o.LimitPct)); got < 0.3 || got > 0.7 {
		t.Errorf("%.0f in 100 of the limit are ink", 100*got)
	}
	if got := dark(f.y(o.LimitPct + 0.3)); got > 0.1 {
		t.Errorf("%.0f in 100 of the paper are ink", 100*got)
	}
	again, _ := picture(o, "north.png")
	if !bytes.Equal(data, again) {
		t.Error("two pictures of one outlook differ")
	}
}

func TestAPictureOfAnotherKindIsRefused(t *testing.T) {
	var input *commandError
	if _, err := picture(pictured(), "north.gif"); !errors.As(err, &input) || !strings.Contains(err.Error(), ".svg or .png") {
		t.Errorf("%v", err)
	}
}

func TestLettersDrawTheMedianOnItsRow(t *testing.T) {
	var out bytes.Buffer
	s := &session{Env: &Env{Stdout: &out, Width: 100}}
	p := s.printer()
	p.printPicture(pictured())
	if err := p.Flush(); err != nil {
		t.Fatal(err)
	}
	rows := strings.Split(out.String(), "\n")
	// 11 to 17 %: the first hour's median of 16 is two and a half rows under the top of sixteen.
	if top, at := rows[0], rows[3]; strings.Contains(top, "o") || !strings.Contains(at[:9], "o") {
		t.Errorf("the median of the first hour is not on its row:\n%s", out.String())
	}
	if !strings.Contains(out.String(), "|We 1") || !strings.Contains(out.String(), "|Fr 3") {
		t.Errorf("days are missing:\n%s", out.String())
	}
}

func BenchmarkPicture(b *testing.B) {
	o := pictured()
	for _, name := range []string{"north.svg", "north.png"} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := picture(o, name); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
