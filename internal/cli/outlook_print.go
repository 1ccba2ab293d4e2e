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

// printOutlook shows a row per day: the band at three in the afternoon, the odds with the crop's and the ground's part, opening
// and closing, and the band drawn; then what it all stands on.
func (s *session) printOutlook(o *app.FieldOutlook, drawn bool, plotted string) error {
	p := s.printer()
	now := o.Outlook.Hours[0]
	p.line(p.bold(fmt.Sprintf("%s (%s): %.1f %% now, 8 in 10 between %.1f and %.1f", o.Field.Name, o.Field.Crop, now.MeanWB, now.P10, now.P90)))
	p.wrapped("", fmt.Sprintf("As of %s. Your limit is %s %%; %.0f %% of the crop is over it now. Loads cut now would test %.1f to %.1f (8 in 10), %s.",
		o.AsOf.Format("Mon 2 Jan 2006 15:04"), short(o.LimitPct, 2), 100*now.Over[0], now.LoadP10, now.LoadP90, loadsOver(o.Limits, now.LoadsOver)))
	for _, old := range o.Stale {
		p.wrapped("", "! "+old)
	}
	p.line("")
	if drawn {
		p.printPicture(o)
		p.line("")
	}
	p.outlookDays(o)
	p.line("")
	p.outlookBasis(o)
	if plotted != "" {
		p.section("Drawn", []string{plotted})
	}
	return p.Flush()
}

// loadsOver says how many loads in a hundred test over each limit.
func loadsOver(limits, shares []float64) string {
	var parts []string
	for k, share := range shares {
		parts = append(parts, fmt.Sprintf("%.0f in 100 over %s", 100*share, short(limits[k], 2)))
	}
	return strings.Join(parts, " and ")
}

func (p *printer) outlookDays(o *app.FieldOutlook) {
	in := o.AsOf.Location()
	scale := rangeOf(o.Outlook.Hours, o.LimitPct)
	last := len(o.Limits) - 1
	p.line(fmt.Sprintf("%-10s %-16s %-6s  %-16s", "", "mean (8 in 10),", "loads", "odds in 100"))
	p.line(p.bold(fmt.Sprintf("%-10s %-16s %-6s  %-16s %-11s  %s", "at 15:00", "% wet basis", ">"+short(o.Limits[last], 2), "fit: crop ground", "opens-shuts", scale.header())))
	for _, d := range o.Outlook.Days {
		h, ok := afternoonOf(o.Outlook.Hours, d.Day, in)
		if !ok {
			continue
		}
		window := "-"
		if d.Fit && d.OddsFit >= 0.1 {
			window = d.Opens.Start().In(in).Format("15:04") + "-" + d.Closes.Start().In(in).Format("15:04")
		}
		p.line(fmt.Sprintf("%-10s %4.1f (%4.1f-%4.1f) %5.0f  %s: %s %s    %-11s  %s", d.Day.Weekday().String()[:3]+" "+d.Day.String()[5:], h.MeanWB, h.P10, h.P90,
			100*h.LoadsOver[last], oddsWords(d.OddsFit), oddsWords(d.OddsCrop), oddsWords(d.OddsGround), window, scale.drawn(h)))
	}
	p.wrapped("", fmt.Sprintf("Fit: at least %d hours that day in which it is dry outside, under your limit and the ground bears; beside it what the crop alone and the ground alone would allow. "+
		"Drawn: 8 in 10 (-), half (=), median (o), your limit (|).", drydown.DefaultMinHours))
}

// oddsWords says odds in a hundred in three characters.
func oddsWords(odds float64) string { return fmt.Sprintf("%3s", inHundred(odds)) }

// outlookBasis prints what the outlook stands on and where it is weak.
func (p *printer) outlookBasis(o *app.FieldOutlook) {
	var readings []string
	for _, r := range o.Readings {
		text := readingWords(r.ReadingEffect)
		if r.Why != "" {
			text = strings.TrimSuffix(text, ".") + ". " + r.Why
		}
		readings = append(readings, text)
	}
	p.section("Readings", readings)
	var devices []string
	for _, d := range o.Devices {
		devices = append(devices, d.Say)
	}
	p.section("Devices", devices)
	if o.Sample != nil {
		p.section("Next", []string{o.Sample.Say})
	}
	p.section("Ground", append([]string{o.Ground.Say}, o.Ground.Notes...))
	p.section("Maturity", o.Maturity)
	p.section("Weather", []string{strings.Join(append([]string{o.Weather.Ensemble + "."}, o.Weather.Ahead...), " ")})
	p.section("Assumed", assumptions(o.Assumed))
	var mind []string
	for _, c := range o.Cautions {
		mind = append(mind, c.Say)
	}
	p.section("Mind", mind)
}

// A lineScale is the range of moisture that rows of the outlook are drawn over.
type lineScale struct{ low, high, limit float64 }

const lineWidth = 34

func rangeOf(hours []drydown.OutlookHour, limit float64) lineScale {
	low, high := math.Inf(1), math.Inf(-1)
	for _, h := range hours {
		low, high = min(low, h.P10), max(high, h.P90)
	}
	return lineScale{math.Floor(low), math.Ceil(high), limit}
}

func afternoonOf(hours []drydown.OutlookHour, day calendar.Day, in *time.Location) (drydown.OutlookHour, bool) {
	for _, h := range hours {
		if at := h.Hour.Start().In(in); at.Hour() == 15 && calendar.DayOf(at, in) == day {
			return h, true
		}
	}
	return drydown.OutlookHour{}, false
}

func (s lineScale) place(x float64) int {
	return int(math.Round((min(max(x, s.low), s.high) - s.low) / max(s.high-s.low, 1) * (lineWidth - 1)))
}

func (s lineScale) header() string {
	line := []rune(strings.Repeat(" ", lineWidth))
	copy(line, []rune(short(s.low, 0)))
	end := []rune(short(s.high, 0) + " %")
	copy(line[lineWidth-len(end):], end)
	if at := s.place(s.limit); s.limit >= s.low && s.limit <= s.high && at > 3 && at < lineWidth-8 {
		copy(line[at:], []rune(short(s.limit, 1)))
	}
	return string(line)
}

// drawn pictures one hour's band on a line.
func (s lineScale) drawn(h drydown.OutlookHour) string {
	line := []rune(strings.Repeat(" ", lineWidth))
	for i := s.place(h.P10); i <= s.place(h.P90); i++ {
		line[i] = '-'
	}
	for i := s.place(h.P25); i <= s.place(h.P75); i++ {
		line[i] = '='
	}
	if s.limit >= s.low && s.limit <= s.high {
		line[s.place(s.limit)] = '|'
	}
	line[s.place(h.P50)] = 'o'
	return strings.TrimRight(string(line), " ")
}
