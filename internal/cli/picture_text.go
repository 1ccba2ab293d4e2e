package cli

import (
	"fmt"
	"math"
	"strings"

	"threshday/internal/app"
	"threshday/internal/core/calendar"
)

// textRows is how high the picture in letters is.
const textRows = 16

// printPicture draws the fan in letters: eight tenths of the weathers (.), half (:), median (o), the limit (-), readings are left
// to the list; below it the hours that are open in at least every second weather (=), and the days.
func (p *printer) printPicture(o *app.FieldOutlook) {
	hours := o.Outlook.Hours
	scale := rangeOf(hours, o.LimitPct)
	low, high := scale.low, scale.high
	if o.LimitPct > high && o.LimitPct < high+3 {
		high = math.Ceil(o.LimitPct)
	}
	if o.LimitPct < low && o.LimitPct > low-3 {
		low = math.Floor(o.LimitPct)
	}
	const margin = 6
	wide := p.width - margin - 1
	columns := min(wide, len(hours))
	row := func(wb float64) int { return int(math.Round((high - wb) / max(high-low, 1) * (textRows - 1))) }
	grid := make([][]byte, textRows)
	for r := range grid {
		grid[r] = []byte(strings.Repeat(" ", columns))
	}
	if r := row(o.LimitPct); r >= 0 && r < textRows {
		copy(grid[r], strings.Repeat("-", columns))
	}
	foot, days := []byte(strings.Repeat(" ", columns)), []byte(strings.Repeat(" ", columns+8))
	in := o.AsOf.Location()
	var last calendar.Day
	for x := range columns {
		h := &hours[x*len(hours)/columns]
		for r := row(h.P90); r <= row(h.P10); r++ {
			grid[r][x] = '.'
		}
		for r := row(h.P75); r <= row(h.P25); r++ {
			grid[r][x] = ':'
		}
		grid[row(h.P50)][x] = 'o'
		if h.Workable >= 0.5 {
			foot[x] = '='
		}
		if day := calendar.DayOf(h.Hour.Start(), in); day != last {
			last = day
			copy(days[x:], fmt.Sprintf("|%s %d", day.Weekday().String()[:2], day.Date))
		}
	}
	for r := range grid {
		wb := high - float64(r)/(textRows-1)*(high-low)
		label := ""
		if r%3 == 0 {
			label = digits(wb, 1)
		}
		p.line(strings.TrimRight(fmt.Sprintf("%*s |%s", margin-1, label, grid[r]), " "))
	}
	p.line(strings.TrimRight(fmt.Sprintf("%*s |%s", margin-1, "open", foot), " "))
	p.line(strings.TrimRight(fmt.Sprintf("%*s  %s", margin-1, "", days[:columns]), " "))
	p.wrapped("", fmt.Sprintf("Moisture, %% wet basis: 8 in 10 weathers (.), half (:), median (o), your limit of %s %% (-). Open in at least every second weather (=).", short(o.LimitPct, 2)))
}
