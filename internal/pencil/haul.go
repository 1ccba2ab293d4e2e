package pencil

import (
	"errors"
	"fmt"

	"threshday/internal/core/capacity"
	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/document"
	"threshday/internal/feeds/quantity"
	"threshday/internal/flags"
	"threshday/internal/words"
)

type capacityCmd struct {
	Speed      units.Speed      `need:"" above:"0mph" high:"15mph" help:"Ground speed."`
	Width      units.Length     `need:"" above:"0ft" high:"100ft" placeholder:"30ft" help:"Working width: rows times spacing, or the platform less half a foot to a foot of overlap."`
	Efficiency flags.Efficiency `need:"" help:"Part of the time in the field that is spent cutting; turning, unloading and stops are the rest."`
	Yield      *quantity.Yield  `placeholder:"200bu/ac" help:"Yield in the tank, for bushels an hour."`
	Crop       *crop.Kind       `placeholder:"corn" help:"The crop, needed only for a yield by weight."`
	Ceiling    *flags.Number    `name:"ceiling-bu-per-hour" above:"0" placeholder:"2400" help:"Bushels an hour that the machine can thresh; asks for --yield."`
}

type capacityAnswer struct {
	AcresPerHour   document.Figure  `json:"acres_per_hour"`
	BushelsPerHour *document.Figure `json:"bushels_per_hour,omitempty"`
	LimitedBy      string           `json:"limited_by"`
	SpeedMPH       document.Figure  `json:"speed_mph"`
	Why
}

// Answer returns the JSON form.
func (capacityCmd) Answer() any { return capacityAnswer{} }

// Examples returns command lines to try.
func (capacityCmd) Examples() []string {
	return []string{
		"pencil capacity --speed 4mph --width 30ft --efficiency 70%",
		"pencil capacity --speed 5mph --width 30ft --efficiency 0.7 --yield 240bu/ac --ceiling-bu-per-hour 2400",
	}
}

// Run answers.
func (c *capacityCmd) Run(s *Desk) error {
	w := capacity.Work{Pass: capacity.Pass{Speed: c.Speed, Width: c.Width, Efficiency: float64(c.Efficiency)}}
	if c.Yield != nil {
		bu, err := c.buPerAcre()
		if err != nil {
			return err
		}
		w.BuPerAcre = bu
	}
	if c.Ceiling != nil {
		if c.Yield == nil {
			return &problem.InputError{Rule: "flag.missing", Label: "--yield", Want: "a yield with its unit, as 200bu/ac, because --ceiling-bu-per-hour is given"}
		}
		w.CeilingBuPerHour = float64(*c.Ceiling)
	}
	r := w.Rate()
	mph := r.Speed.MilesPerHour()
	a := capacityAnswer{AcresPerHour: document.Figure(r.AcresPerHour), LimitedBy: r.LimitedBy, SpeedMPH: document.Figure(mph)}
	a.Formula = []string{fmt.Sprintf("mph × ft × efficiency ÷ 8.25 = %s × %s × %s ÷ 8.25 = %.4f ac/h",
		words.Short(mph, 4), words.Short(c.Width.Feet(), 2), words.Short(float64(c.Efficiency), 4), r.AcresPerHour)}
	rows := []Row{}
	if c.Yield != nil {
		bu := document.Figure(r.BuPerHour)
		a.BushelsPerHour = &bu
		a.Formula = append(a.Formula, fmt.Sprintf("%.4f ac/h × %s bu/ac = %s bu/h", r.AcresPerHour, words.Short(w.BuPerAcre, 2), words.Digits(r.BuPerHour, 2)))
		rows = append(rows, Row{"bushels an hour", words.Digits(r.BuPerHour, 0)})
	}
	a.Sources = s.sources("asabe-ep496-text") // [asabe-ep496-text]
	rows = append(rows, Row{"speed", s.speed(r.Speed)})
	if r.LimitedBy == capacity.ByCeiling {
		rows = append(rows, Row{"held back by", fmt.Sprintf("what it can thresh: at %s it would be %.0f %% over", s.speed(c.Speed), 100*w.Overload())})
		a.Cautions = append(a.Cautions, "Driven faster than that, grain goes out of the back.")
	} else {
		rows = append(rows, Row{"held back by", "the speed you chose"})
	}
	a.Cautions = append(a.Cautions, "Efficiency is the guess in this sum: 65 to 80 % in books, nearer 60 % in practice. Your own acres and hours of two days beat it.")
	ha := r.AcresPerHour * units.Acre.Hectares()
	return s.answer(a, s.both(words.Digits(r.AcresPerHour, 1)+" acres an hour", words.Digits(ha, 2)+" hectares an hour"), "cut, turning and stops included", rows...)
}

func (c *capacityCmd) buPerAcre() (float64, error) {
	if c.Yield.InBushels() {
		return c.Yield.BushelsPerAcre(0), nil
	}
	if c.Crop == nil {
		return 0, &problem.InputError{Rule: "flag.missing", Label: "--crop", Want: words.OneOf(flags.CropNames()), Next: "A yield by weight needs the crop, for the weight of its bushel."}
	}
	bushel, err := bushelOf("--crop", *c.Crop)
	return c.Yield.BushelsPerAcre(bushel), err
}

// bushelOf returns the trade bushel of k, or says that there is none.
func bushelOf(label string, k crop.Kind) (units.Mass, error) {
	bushel, ok := crop.Bushel(k)
	if !ok {
		return 0, &problem.InputError{Rule: "crop.no-bushel", Label: label, Got: k.String(), Want: "a crop that is traded by the bushel; this one goes by the hundredweight"}
	}
	return bushel, nil
}

type haulCmd struct {
	Miles     flags.Miles    `need:"" low:"0" high:"500" help:"Road miles from field to outlet, one way."`
	Rate      flags.Number   `name:"rate-bu-per-hour" need:"" above:"0" high:"100000" placeholder:"1934" help:"Bushels an hour that leave the field."`
	PayloadBu flags.Number   `need:"" above:"0" high:"5000" placeholder:"900" help:"Bushels a truck carries."`
	QueueMin  flags.Minutes  `need:"" low:"0" high:"1440" placeholder:"20" help:"Minutes in line at the outlet."`
	Loaded    *flags.MPH     `above:"0mph" high:"90mph" placeholder:"45mph" help:"Speed with a load."`
	Empty     *flags.MPH     `above:"0mph" high:"90mph" placeholder:"50mph" help:"Speed coming back."`
	LoadMin   *flags.Minutes `low:"0" high:"600" help:"Minutes to load."`
	ScaleMin  *flags.Minutes `low:"0" high:"600" placeholder:"5" help:"Minutes to weigh in and probe."`
	DumpMin   *flags.Minutes `low:"0" high:"600" placeholder:"6" help:"Minutes to dump."`
	TicketMin *flags.Minutes `low:"0" high:"600" placeholder:"3" help:"Minutes to weigh out and get the ticket."`
	PerMile   *trade.Price   `per:"mi" low:"$0" placeholder:"'$1.53'" help:"Running cost of the truck per mile, without the driver."`
	PerHour   *trade.Price   `per:"h" low:"$0" placeholder:"'$24'" help:"Cost of the driver per hour."`
}

type haulAnswer struct {
	CycleMin    document.Figure `json:"cycle_min"`
	TrucksExact document.Figure `json:"trucks_exact"`
	Trucks      int             `json:"trucks"`
	USDPerLoad  string          `json:"usd_per_load"`
	USDPerBu    string          `json:"usd_per_bu"`
	Why
}

// Answer returns the JSON form.
func (haulCmd) Answer() any { return haulAnswer{} }

// Examples returns command lines to try.
func (haulCmd) Examples() []string {
	return []string{"pencil haul --miles 18 --rate-bu-per-hour 1934.55 --payload-bu 964 --queue-min 20 --loaded 45mph --empty 50mph"}
}

// trip fills what was not given from the usual trip, and says so.
func (c *haulCmd) trip() (capacity.Trip, capacity.HaulRate, []string) {
	t, cost := capacity.DefaultTrip(), capacity.DefaultHaulRate()
	t.Distance, t.QueueMin = units.Length(c.Miles)*units.Mile, float64(c.QueueMin)
	var assumed []string
	setSpeed := func(at *units.Speed, given *flags.MPH, what string) {
		if given != nil {
			*at = units.Speed(*given) * units.MilePerHour
			return
		}
		assumed = append(assumed, fmt.Sprintf("%s mph %s", words.Short(at.MilesPerHour(), 1), what))
	}
	setMin := func(at *float64, given *flags.Minutes, what string) {
		if given != nil {
			*at = float64(*given)
			return
		}
		assumed = append(assumed, fmt.Sprintf("%s min %s", words.Short(*at, 1), what))
	}
	setPrice := func(at *float64, given *trade.Price, what string) {
		if given != nil {
			*at = given.Float()
			return
		}
		assumed = append(assumed, fmt.Sprintf("$%.2f %s", *at, what))
	}
	setSpeed(&t.Loaded, c.Loaded, "loaded")
	setSpeed(&t.Empty, c.Empty, "empty")
	setMin(&t.LoadMin, c.LoadMin, "to load from a cart")
	setMin(&t.ScaleMin, c.ScaleMin, "to weigh in and probe")
	setMin(&t.DumpMin, c.DumpMin, "to dump")
	setMin(&t.TicketMin, c.TicketMin, "to weigh out")
	setPrice(&cost.USDPerMile, c.PerMile, "a mile for the truck")
	setPrice(&cost.USDPerHour, c.PerHour, "an hour for the driver")
	return t, cost, assumed
}

// Run answers.
func (c *haulCmd) Run(s *Desk) error {
	t, cost, assumed := c.trip()
	cycle := t.CycleMin()
	exact, whole := capacity.TrucksNeeded(float64(c.Rate), cycle, float64(c.PayloadBu))
	usd := cost.LoadUSD(t.Distance, cycle)
	perBu := usd / float64(c.PayloadBu)
	a := haulAnswer{
		CycleMin: document.Figure(cycle), TrucksExact: document.Figure(exact), Trucks: whole,
		USDPerLoad: fmt.Sprintf("%.2f", usd), USDPerBu: fmt.Sprintf("%.4f", perBu),
	}
	m := words.Short(float64(c.Miles), 2)
	a.Formula = []string{
		fmt.Sprintf("round trip = %s + 60 × %s ÷ %s + %s + %s + %s + 60 × %s ÷ %s + %s = %.3f min (load, drive, line, scale, dump, drive back, ticket)",
			words.Short(t.LoadMin, 2), m, words.Short(t.Loaded.MilesPerHour(), 2), words.Short(t.QueueMin, 2), words.Short(t.ScaleMin, 2), words.Short(t.DumpMin, 2),
			m, words.Short(t.Empty.MilesPerHour(), 2), words.Short(t.TicketMin, 2), cycle),
		fmt.Sprintf("trucks = %s bu/h × %.3f min ÷ (60 × %s bu) = %.4f", words.Short(float64(c.Rate), 2), cycle, words.Short(float64(c.PayloadBu), 2), exact),
		fmt.Sprintf("cost = 2 × %s mi × $%.4g + $%.4g × %.3f ÷ 60 = $%.2f a load, $%.4f a bushel", m, cost.USDPerMile, cost.USDPerHour, cycle, usd, perBu),
	}
	a.Assumed = assumed
	keys := []string{"common-practice-1"} // the sums are plain arithmetic
	if c.PerMile == nil {
		keys = append(keys, "atri-2023") // [atri-2023]
	}
	if len(assumed) > 0 {
		keys = append(keys, "judgement")
	}
	a.Sources = s.sources(keys...)
	a.Cautions = []string{"What a combine loses by standing for want of the truck is not in the cost."}
	for _, caution := range capacity.Cautions(capacity.AtDispatch) {
		a.Cautions = append(a.Cautions, caution.Say)
	}
	rows := []Row{
		{"round trip", fmt.Sprintf("%.1f min", cycle)},
		{"needed exactly", fmt.Sprintf("%.2f trucks", exact)},
	}
	if whole > 1 {
		fewer := capacity.KeptBy(whole-1, exact)
		rows = append(rows, Row{fmt.Sprintf("with %d", whole-1), fmt.Sprintf("%.0f %% of the output gets away", 100*fewer)})
	}
	rows = append(rows, Row{"cost", fmt.Sprintf("$%.2f a load, %.2f cents a bushel", usd, 100*perBu)})
	return s.answer(a, counted(whole, "truck"), fmt.Sprintf("keep up with %s bushels an hour over %s", words.Short(float64(c.Rate), 0), s.both(m+" miles", words.Short(float64(c.Miles)*units.Mile.Meters()/1000, 1)+" km")), rows...)
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

type queueCmd struct {
	Arrivals flags.Number `name:"arrivals-per-hour" need:"" above:"0" high:"10000" placeholder:"16" help:"Trucks that come in an hour."`
	Served   flags.Number `name:"served-per-hour" need:"" above:"0" high:"10000" placeholder:"10" help:"Trucks one pit takes in an hour."`
	Pits     flags.Count  `need:"" low:"1" high:"100" placeholder:"2" help:"Pits that take them."`
}

type queueAnswer struct {
	Utilisation document.Figure `json:"utilisation"`
	WaitMin     document.Figure `json:"wait_min"`
	InLine      document.Figure `json:"in_line"`
	AtOutlet    document.Figure `json:"at_outlet"`
	Why
}

// Answer returns the JSON form.
func (queueCmd) Answer() any { return queueAnswer{} }

// Examples returns command lines to try.
func (queueCmd) Examples() []string {
	return []string{"pencil queue --arrivals-per-hour 16 --served-per-hour 10 --pits 2"}
}

// Run answers.
func (c *queueCmd) Run(s *Desk) error {
	line := capacity.Line{ArrivalsPerHour: float64(c.Arrivals), ServedPerHour: float64(c.Served), Pits: int(c.Pits)}
	q, err := line.Steady()
	var unbounded *capacity.UnboundedQueueError
	if errors.As(err, &unbounded) {
		return &problem.NoAnswer{
			Rule: "queue.unbounded",
			Say: fmt.Sprintf("The line has no steady length: %s trucks come in an hour and %s take %s.", words.Short(float64(c.Arrivals), 2),
				counted(int(c.Pits), "pit"), words.Short(float64(c.Served)*float64(c.Pits), 2)),
			Next: "More pits, faster pits or fewer trucks would give it one; for a rush of some hours, count how many come over what is taken.",
		}
	}
	if err != nil {
		return err
	}
	a := queueAnswer{Utilisation: document.Figure(q.Utilisation), WaitMin: document.Figure(q.WaitMin), InLine: document.Figure(q.InLine), AtOutlet: document.Figure(q.AtOutlet)}
	a.Formula = []string{
		fmt.Sprintf("pits busy = %s ÷ (%d × %s) = %.1f %%", words.Short(float64(c.Arrivals), 2), c.Pits, words.Short(float64(c.Served), 2), 100*q.Utilisation),
		fmt.Sprintf("Erlang's formula: a truck finds every pit taken with odds of %.3f; in line = %.3f × %.4f ÷ (1 − %.4f) = %.3f", q.MustWait, q.MustWait, q.Utilisation, q.Utilisation, q.InLine),
		fmt.Sprintf("wait = 60 × %.3f ÷ %s = %.2f min", q.InLine, words.Short(float64(c.Arrivals), 2), q.WaitMin),
	}
	a.Sources = s.sources("queue-theory") // [queue-theory]
	a.Cautions = []string{
		"The mean of a steady hour, with trucks that come and unload at random. A line at harvest is a peak: with the day's mean arrivals this answer is too short.",
		"Your own tickets, time in to time out, tell more than this sum.",
	}
	return s.answer(a, fmt.Sprintf("%.1f minutes", q.WaitMin), "mean wait before the pit",
		Row{"in line", fmt.Sprintf("%.2f trucks", q.InLine)},
		Row{"at the outlet", fmt.Sprintf("%.2f trucks, waiting or dumping", q.AtOutlet)},
		Row{"pits busy", fmt.Sprintf("%.0f %% of the time", 100*q.Utilisation)})
}

type breakevenCmd struct {
	Gain    trade.Price  `name:"gain-per-bu" per:"bu" need:"" placeholder:"10c" help:"How much more the farther outlet nets per bushel of the load, after its discounts."`
	LoadBu  flags.Number `need:"" above:"0" high:"5000" placeholder:"900" help:"Bushels a truck carries."`
	PerMile trade.Price  `per:"mi" need:"" low:"$0" placeholder:"'$2.15'" help:"Running cost of the truck per mile."`
	PerHour trade.Price  `per:"h" need:"" low:"$0" placeholder:"'$62'" help:"Cost of truck and driver per hour."`
	Speed   units.Speed  `need:"" above:"0mph" high:"90mph" placeholder:"42mph" help:"Speed on the road, mean of both ways."`
}

type breakevenAnswer struct {
	ExtraMiles document.Figure `json:"extra_miles"`
	Why
}

// Answer returns the JSON form.
func (breakevenCmd) Answer() any { return breakevenAnswer{} }

// Examples returns command lines to try.
func (breakevenCmd) Examples() []string {
	return []string{"pencil breakeven --gain-per-bu 10c --load-bu 900 --per-mile '$2.15' --per-hour '$62' --speed 42mph"}
}

// Run answers.
func (c *breakevenCmd) Run(s *Desk) error {
	rate := capacity.HaulRate{USDPerMile: c.PerMile.Float(), USDPerHour: c.PerHour.Float()}
	if rate.USDPerMile == 0 && rate.USDPerHour == 0 {
		return &problem.NoAnswer{Rule: "breakeven.free", Say: "A truck that costs nothing pays at any distance.", Next: "Give what it costs with --per-mile and --per-hour."}
	}
	if c.Gain < 0 {
		return &problem.NoAnswer{Rule: "breakeven.no-gain", Say: fmt.Sprintf("A farther outlet that nets %s less per bushel pays for no miles at all.", quantity.FormatPrice(-c.Gain)), Next: "Compare the two the other way round."}
	}
	extra := rate.BreakEvenMiles(c.Gain.Float(), float64(c.LoadBu), c.Speed)
	a := breakevenAnswer{ExtraMiles: document.Figure(extra)}
	a.Formula = []string{fmt.Sprintf("$%s × %s bu ÷ (2 × ($%s + $%s ÷ %s)) = %.3f miles", c.Gain, words.Short(float64(c.LoadBu), 2), c.PerMile, c.PerHour, words.Short(c.Speed.MilesPerHour(), 2), extra)}
	a.Sources = s.sources("common-practice-1")
	a.Cautions = []string{"Time in line and what the combine loses while the truck is away are not in it; they can cost more than the road."}
	return s.answer(a, s.both(fmt.Sprintf("%.1f miles", extra), fmt.Sprintf("%.1f km", extra*units.Mile.Meters()/1000)),
		"extra one-way distance at which the better price is used up",
		Row{"the gain", fmt.Sprintf("$%.2f a load", c.Gain.Float()*float64(c.LoadBu))})
}
