package cli

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/units"
)

type weatherShowCmd struct {
	fromFlags
	File    filename `name:"forecast" placeholder:"FORECAST.json" help:"Show what one forecast file says, and draw nothing."`
	Now     string   `placeholder:"2031-09-14T06:00:00-05:00" help:"As of this time, RFC 3339 with offset; left out: the season's as_of, or now."`
	Seed    uint64   `default:"1" help:"Seed of every draw, as in plan."`
	Members int      `default:"100" help:"How many weathers to draw."`
	Metric  bool     `help:"Degrees Celsius, millimetres."`
}

// Explain says what is shown.
func (weatherShowCmd) Explain() string {
	return "The days ahead as a plan takes them: of each day the high, the low, rain, hours that are dry enough to cut in, and when the dew is off, with the middle eight tenths over the drawn weathers; " +
		"who is believed about it and how old that is. Days nobody speaks of are as other years had them.\n\n" +
		"Hours to cut in are of the air alone: daylight, under 75 % humidity, leaves dry. Whether a crop can be cut is the outlook's to say."
}

// Examples are command lines that work as they stand.
func (weatherShowCmd) Examples() []string { return nil }

type weatherShowJSON struct {
	Farm     string             `json:"farm"`
	AsOf     string             `json:"as_of"`
	Days     []weatherDayJSON   `json:"days"`
	Sources  []answer.Forecast  `json:"sources"`
	Who      []string           `json:"who"`
	Stale    []string           `json:"stale"`
	Loud     []string           `json:"loud"`
	Station  string             `json:"station,omitempty"`
	Observed string             `json:"observed_until,omitempty"`
	Weather  string             `json:"weather,omitempty"`
	Members  int                `json:"members,omitempty"`
	Credit   string             `json:"credit,omitempty"`
	Findings []answer.Complaint `json:"findings"`
}

type weatherDayJSON struct {
	Day     string       `json:"day"`
	Said    *saidJSON    `json:"said"`    // by whoever is believed; null: nobody speaks of it
	Members *membersJSON `json:"members"` // null: none were drawn
}

type saidJSON struct {
	Source   string  `json:"source"`
	LateDays int     `json:"late_days"` // counts as so many lead days further ahead
	HighC    *figure `json:"high_c"`
	LowC     *figure `json:"low_c"`
	DewC     *figure `json:"dew_point_c"`
	WindMS   *figure `json:"wind_10m_m_per_s"`
	SkyPct   *figure `json:"sky_pct"`
	RainPct  *figure `json:"rain_pct"`
	AmountMM *figure `json:"rain_if_any_mm"`
	Part     string  `json:"rain_when,omitempty"`
	Dew      string  `json:"dew,omitempty"`
}

type membersJSON struct {
	HighC    bandJSON  `json:"high_c"`
	LowC     bandJSON  `json:"low_c"`
	DewC     bandJSON  `json:"dew_point_c"`
	RainOdds figure    `json:"rain_odds"`
	RainMM   figure    `json:"rain_if_any_mm"`
	CutHours bandJSON  `json:"dry_hours"`
	Window   figure    `json:"window_odds"`
	DewOdds  figure    `json:"dew_odds"`
	DewOff   *bandJSON `json:"dew_off_hour"` // mean is the median; null: hardly any dew
}

type bandJSON struct {
	Mean figure `json:"mean"`
	P10  figure `json:"p10"`
	P90  figure `json:"p90"`
}

// Answer returns the JSON form.
func (weatherShowCmd) Answer() any { return weatherShowJSON{} }

// Run shows the days ahead.
func (c weatherShowCmd) Run(s *session) error {
	r, err := c.request(s)
	if err != nil {
		return err
	}
	if r.Now, err = parseNow(c.Now); err != nil {
		return err
	}
	if c.Members < leastMembers || c.Members > mostMembers {
		return membersRange(c.Members)
	}
	r.Seed, r.Members = c.Seed, c.Members
	var got *app.DaysAhead
	if c.File != "" {
		got, err = c.oneFile(s, r)
	} else {
		got, err = s.App.ShowWeather(s.ctx, r)
	}
	if err != nil {
		return err
	}
	if s.json {
		return s.print(showAsJSON(got))
	}
	return s.printDaysAhead(got, c.Metric)
}

// oneFile shows what one forecast says, on the farm's clock.
func (c weatherShowCmd) oneFile(s *session, r app.PlanRequest) (*app.DaysAhead, error) {
	zone, err := s.App.SeasonZone(s.ctx, r)
	if err != nil {
		return nil, err
	}
	f, err := s.Open(string(c.File))
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }() // nothing was written
	const most = 32 << 20
	data, err := io.ReadAll(io.LimitReader(f, most))
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", c.File, err)
	}
	return s.App.ShowForecast(filepath.Base(string(c.File)), data, zone)
}

func showAsJSON(d *app.DaysAhead) weatherShowJSON {
	out := weatherShowJSON{
		Farm: d.Farm, AsOf: stamp(d.AsOf), Days: []weatherDayJSON{}, Sources: answer.OfForecasts(d.Sources, d.AsOf), Who: list(d.Who), Stale: list(d.Stale), Loud: list(d.Loud), Station: d.Station,
		Weather: d.Ensemble, Members: d.Members, Credit: d.Credit, Findings: []answer.Complaint{},
	}
	if d.Observed != nil {
		out.Observed = stamp(d.Observed.In(d.AsOf.Location()))
	}
	for _, row := range d.Rows() {
		out.Days = append(out.Days, weatherDayJSON{row.On.String(), saidAsJSON(row.Said), bandAsJSON(row.Band)})
	}
	for _, f := range d.Findings {
		out.Findings = append(out.Findings, answer.OfFinding(f))
	}
	return out
}

func saidAsJSON(d *app.DayAhead) *saidJSON {
	if d == nil {
		return nil
	}
	known := func(x *float64, times float64) *figure {
		if x == nil {
			return nil
		}
		f := figure(*x * times)
		return &f
	}
	out := &saidJSON{
		Source: d.Source.Name, LateDays: d.Late, HighC: known(d.High, 1), LowC: known(d.Low, 1), DewC: known(d.Dew, 1), SkyPct: known(d.Sky, 100),
		RainPct: known(d.Rain, 100), AmountMM: known(d.Amount, 1), Part: string(d.Part), Dew: string(d.DewWord()),
	}
	if wind, ok := d.Wind10m(); ok {
		x := wind.MetersPerSecond()
		out.WindMS = known(&x, 1)
	}
	return out
}

func bandAsJSON(b *app.DayBand) *membersJSON {
	if b == nil {
		return nil
	}
	band := func(x app.Band) bandJSON { return bandJSON{figure(x.Mean), figure(x.P10), figure(x.P90)} }
	out := &membersJSON{
		HighC: band(b.High), LowC: band(b.Low), DewC: band(b.Dew), RainOdds: figure(b.RainOdds), RainMM: figure(b.RainMM),
		CutHours: band(b.CutHours), Window: figure(b.Window), DewOdds: figure(b.DewOdds),
	}
	if b.DewOff != nil {
		out.DewOff = &bandJSON{figure(b.DewOff[1]), figure(b.DewOff[0]), figure(b.DewOff[2])}
	}
	return out
}

// printDaysAhead prints a row a day, with temperatures drawn over a common scale.
func (s *session) printDaysAhead(d *app.DaysAhead, metric bool) error {
	p := s.printer()
	p.line(p.bold(d.Farm + ": the days ahead, as of " + d.AsOf.Format("Mon 2 Jan 2006 15:04")))
	for _, old := range append(append([]string{}, d.Loud...), d.Stale...) {
		p.wrapped("", "! "+old)
	}
	if len(d.Days) == 0 && len(d.Loud) == 0 {
		p.wrapped("", "! Nobody has said anything of the days ahead: all below is what other years had. threshday weather fetch asks a service; threshday weather enter takes your own.")
	}
	p.line("")
	rows := d.Rows()
	degrees := func(c float64) float64 { return units.Celsius(c).Fahrenheit() }
	unit := "°F"
	if metric {
		degrees, unit = func(c float64) float64 { return c }, "°C"
	}
	scale := degreeScale(rows, degrees)
	p.line(p.bold(fmt.Sprintf("%-10s %-12s %-12s %-5s %-11s %-9s %s", "", "high "+unit, "low "+unit, "rain", "dry hours", "dew off", scale.header())))
	for _, r := range rows {
		p.line(strings.TrimRight(fmt.Sprintf("%-10s %-12s %-12s %-5s %-11s %-9s %s%s", r.On.Weekday().String()[:3]+" "+dayMonth(r.On),
			degreesWords(r, degrees, true), degreesWords(r, degrees, false), rainWords(r), dryWords(r), dewWords(r), pad(scale.drawn(r, degrees), degreeWidth), markOf(d, r)), " "))
	}
	p.line("")
	if d.Members > 0 {
		p.wrapped("", "In parentheses 8 in 10 of the drawn weathers; rain in a hundred. Dry hours: daylight under 75 % humidity on dry leaves. Dew off: the hour, 8 in 10. Drawn: lows (-), highs (=), means (o).")
	}
	var who []string
	for i, w := range d.Who {
		who = append(who, fmt.Sprintf("%s %s", sourceMark(i), w))
	}
	if d.Members > 0 && len(rows) > len(d.Days) {
		who = append(who, "(no mark) Nobody: as other years had it.")
	}
	p.section("Says who", who)
	if d.Ensemble != "" {
		p.section("Weather", []string{d.Ensemble + "."})
	}
	p.section("Errors", []string{learnedWords(d.Learned)})
	if d.Observed != nil {
		p.section("Observed", []string{"up to " + d.Observed.In(d.AsOf.Location()).Format(momentLayout) + ", " + ageWords(d.AsOf.Sub(*d.Observed)) + " ago"})
	}
	if d.Station != "" {
		p.section("Station", []string{sentence(d.Station)})
	}
	if d.Credit != "" {
		p.section("Credit", []string{d.Credit})
	}
	p.section("Look at", lookAt(d.Findings))
	return p.Flush()
}

func dayMonth(d calendar.Day) string { return fmt.Sprintf("%02d-%02d", int(d.Month), d.Date) }

// sourceMark is the letter of a source in the table.
func sourceMark(i int) string { return string(rune('a' + i%26)) }

func markOf(d *app.DaysAhead, r app.DayRow) string {
	if r.Said == nil {
		return ""
	}
	for i := range d.Sources {
		if &d.Sources[i] == r.Said.Source {
			return "  " + sourceMark(i)
		}
	}
	return ""
}

// degreesWords says a high or low with its band, or as it was said where no members were drawn.
func degreesWords(r app.DayRow, degrees func(float64) float64, high bool) string {
	switch {
	case r.Band != nil && high:
		return bandWords(r.Band.High, degrees)
	case r.Band != nil:
		return bandWords(r.Band.Low, degrees)
	case r.Said == nil:
		return "-"
	}
	x := r.Said.Low
	if high {
		x = r.Said.High
	}
	if x == nil {
		return "-"
	}
	return fmt.Sprintf("%.0f", degrees(*x))
}

func bandWords(b app.Band, degrees func(float64) float64) string {
	return fmt.Sprintf("%.0f (%.0f-%.0f)", degrees(b.Mean), degrees(b.P10), degrees(b.P90))
}

func rainWords(r app.DayRow) string {
	switch {
	case r.Band != nil:
		return oddsWords(r.Band.RainOdds)
	case r.Said != nil && r.Said.Rain != nil:
		return fmt.Sprintf("%.0f", 100**r.Said.Rain)
	}
	return "-"
}

func dryWords(r app.DayRow) string {
	if r.Band == nil {
		return "-"
	}
	return fmt.Sprintf("%.0f (%.0f-%.0f)", r.Band.CutHours.Mean, r.Band.CutHours.P10, r.Band.CutHours.P90)
}

func dewWords(r app.DayRow) string {
	switch {
	case r.Band == nil && r.Said != nil && r.Said.DewWord() != "":
		return string(r.Said.DewWord())
	case r.Band == nil:
		return "-"
	case r.Band.DewOff == nil:
		return "hardly"
	case r.Band.DewOff[0] == r.Band.DewOff[2]:
		return fmt.Sprintf("%02.0f", r.Band.DewOff[1])
	}
	return fmt.Sprintf("%02.0f-%02.0f", r.Band.DewOff[0], r.Band.DewOff[2])
}

// A tempScale is what temperatures are drawn over.
type tempScale struct{ low, high float64 }

const degreeWidth = 28

func degreeScale(rows []app.DayRow, degrees func(float64) float64) tempScale {
	low, high := math.Inf(1), math.Inf(-1)
	take := func(x float64) { low, high = min(low, degrees(x)), max(high, degrees(x)) }
	for _, r := range rows {
		if r.Band != nil {
			take(r.Band.Low.P10)
			take(r.Band.High.P90)
		} else if r.Said != nil && r.Said.High != nil && r.Said.Low != nil {
			take(*r.Said.High)
			take(*r.Said.Low)
		}
	}
	return tempScale{math.Floor(low), math.Ceil(high)}
}

func (s tempScale) place(x float64) int {
	return int(math.Round((min(max(x, s.low), s.high) - s.low) / max(s.high-s.low, 1) * (degreeWidth - 1)))
}

func (s tempScale) header() string {
	if s.low > s.high {
		return ""
	}
	end := short(s.high, 0)
	return pad(short(s.low, 0), degreeWidth-len(end)) + end
}

// drawn pictures a day's lows and highs on one line.
func (s tempScale) drawn(r app.DayRow, degrees func(float64) float64) string {
	line := []rune(strings.Repeat(" ", degreeWidth))
	put := func(b app.Band, mark rune) {
		for i := s.place(degrees(b.P10)); i <= s.place(degrees(b.P90)); i++ {
			line[i] = mark
		}
	}
	switch {
	case r.Band != nil:
		put(r.Band.Low, '-')
		put(r.Band.High, '=')
		line[s.place(degrees(r.Band.Low.Mean))] = 'o'
		line[s.place(degrees(r.Band.High.Mean))] = 'o'
	case r.Said != nil && r.Said.High != nil && r.Said.Low != nil:
		line[s.place(degrees(*r.Said.Low))] = 'o'
		line[s.place(degrees(*r.Said.High))] = 'o'
	}
	return string(line)
}

// parseNow reads --now.
func parseNow(text string) (*time.Time, error) {
	if text == "" {
		return nil, nil //nolint:nilnil // nothing was said
	}
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return nil, &commandError{say: "--now is " + text + "; accepted: a time with offset, as 2031-09-14T06:00:00-05:00", next: "The offset says whose clock it is."}
	}
	return &at, nil
}

func membersRange(n int) error {
	return &commandError{say: "--members is " + digits(float64(n), 0) + "; accepted: 10 to 1,000", next: "100 gives odds to the nearest few in a hundred."}
}
