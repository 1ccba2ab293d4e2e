package weather

import (
	"math"
	"time"

	"threshday/internal/core/calendar"
)

// RankBins is how many bins a rank histogram has.
const RankBins = 10

// A MemberScore is how members around forecasts did on one quantity, beside members of the climate alone.
type MemberScore struct {
	N             int
	CRPS, Climate float64 // mean score of either, in the quantity's unit
	Covered       float64 // share of what came true within the middle eight tenths
	Ranks         [RankBins]int
	P             float64 // probability of ranks as uneven as these, were all equally likely
}

// Skill returns how much better than the climate the members are: 1 perfect, 0 no better. ok is false where nothing was
// scored.
func (m MemberScore) Skill() (skill float64, ok bool) {
	if m.N == 0 || m.Climate == 0 {
		return 0, false
	}
	return 1 - m.CRPS/m.Climate, true
}

// An EventScore is how odds taken from the members did.
type EventScore struct {
	Chances []Chance
	Brier   float64
	Climate float64 // Brier score of odds taken from the climate's members
}

// A MemberLead is how members did at one lead day.
type MemberLead struct {
	High, Low, Dew MemberScore // °C
	Wind           MemberScore // m/s at 2 m
	CutHours       MemberScore // hours of dry air on dry leaves
	DryFrom        MemberScore // hour of the day from which leaves are dry
	Rain, Window   EventScore  // a wet day; four hours in a row to cut in
}

// A MemberTrial says which members are tried.
type MemberTrial struct {
	Climate *Climate // not fitted to the days that are scored
	Errors  *ErrorTable
	At      Spot
	Zone    *time.Location
	Root    [32]byte
	Members int                // one less than a multiple of [RankBins]
	Done    func(done, of int) // is told how far it is; nil: nobody is
	Stop    func() bool        // whether to stop before all are tried; nil: never
}

// VerifyMembers draws members as they would have been drawn at the first issue of each date and compares them with what
// was observed, lead day by lead day; index 0 is the day of the issue. Days on which an hour is missing are passed over.
// Panics where ranks would not fill the bins.
func VerifyMembers(issues []Issue, observed *Series, o MemberTrial) (*[LongestLead]MemberLead, error) {
	if o.Members < 2 || (o.Members+1)%RankBins != 0 {
		panic("weather: ranks do not fill the bins evenly")
	}
	var leads [LongestLead]memberErrors
	first := firstOfDays(issues, o.Zone)
	for i, issue := range first {
		if o.Stop != nil && o.Stop() {
			break
		}
		if err := o.score(&leads, issue, observed); err != nil {
			return nil, err
		}
		if o.Done != nil {
			o.Done(i+1, len(first))
		}
	}
	var out [LongestLead]MemberLead
	for i := range leads {
		out[i] = leads[i].score(o.Members)
	}
	return &out, nil
}

// The quantities that members are scored on.
const (
	trialHigh = iota
	trialLow
	trialDew
	trialWind
	trialCut
	trialDry
	trials
)

// memberErrors gathers what members of one lead day did.
type memberErrors struct {
	of    [trials]MemberScore
	ranks [trials][]int
	event [2][]Chance // wet, window
	usual [2][]Chance // the same by the climate
}

// score compares the members of one issue.
func (o *MemberTrial) score(leads *[LongestLead]memberErrors, issue Issue, observed *Series) error {
	today := calendar.DayOf(issue.At.Start(), o.Zone)
	start, _ := today.Hours(o.Zone)
	_, end := today.AddDays(LongestLead - 1).Hours(o.Zone)
	days := Days(start, end, o.Zone)
	known := o.known(days, observed)
	if known == 0 {
		return nil
	}
	set := GenerateOptions{Start: start, Hours: int(end - start), Members: o.Members, At: o.At}
	members, err := o.Climate.Generate(set, LeadIn{Now: issue.At, Zone: o.Zone, Observed: observed, Days: issue.Days, Root: o.Root, Errors: o.Errors})
	if err != nil {
		return err
	}
	usual, err := o.Climate.Generate(set, LeadIn{Now: start, Zone: o.Zone, Root: o.Root})
	if err != nil {
		return err
	}
	truth := observed.between(start, end).HarvestDays(days)
	said, season := trialDays(members, days), trialDays(usual, days)
	for l, day := range days {
		air := observed.Summary(day.First, day.End)
		if !air.Known || math.IsNaN(air.SolarMJ) {
			continue
		}
		chance := NewStream(o.Root, 0, today.AddDays(l), rankTies)
		leads[l].take(trialDay(air, truth[l]), said[l], season[l], &chance)
	}
	return nil
}

// known counts the days that were observed whole.
func (o *MemberTrial) known(days []DayView, observed *Series) (n int) {
	for _, d := range days {
		n += statusOf(observed.Summary(d.First, d.End).Known)
	}
	return n
}

// between returns the hours from start to end; those outside the series are missing.
func (s *Series) between(start, end calendar.Hour) *Series {
	out := NewSeries(start, int(end-start))
	for v := range s.V {
		for h := max(start, s.Start); h < min(end, s.End()); h++ {
			out.V[v][h-start], out.From[v][h-start] = s.V[v][h-s.Start], s.From[v][h-s.Start]
		}
	}
	return out
}

// A trialOf is one day in the quantities that are scored, and whether it was wet and had a window.
type trialOf struct {
	x    [trials]float64
	came [2]bool
}

func trialDay(air DayAir, h HarvestDay) trialOf {
	return trialOf{
		x:    [trials]float64{air.High, air.Low, air.Dew, air.Wind, float64(h.Hours), h.DryFrom()},
		came: [2]bool{air.Wet(), h.Window},
	}
}

// trialDays returns the days of all members, day by day.
func trialDays(e *Ensemble, days []DayView) [][]trialOf {
	out := make([][]trialOf, len(days))
	for m := range e.Members {
		harvest := e.HarvestDays(m, days)
		for l, d := range days {
			air := e.Summary(m, int(d.First-e.Start), int(d.End-e.Start))
			out[l] = append(out[l], trialDay(air, harvest[l]))
		}
	}
	return out
}

func (e *memberErrors) take(truth trialOf, said, usual []trialOf, chance *Stream) {
	own, season := make([]float64, len(said)), make([]float64, len(usual))
	for k := range trials {
		for m := range said {
			own[m], season[m] = said[m].x[k], usual[m].x[k]
		}
		q := &e.of[k]
		q.N++
		q.CRPS += CRPS(own, truth.x[k], true)
		q.Climate += CRPS(season, truth.x[k], true)
		if Covers(own, truth.x[k], 0.8) {
			q.Covered++
		}
		e.ranks[k] = append(e.ranks[k], Rank(own, truth.x[k], chance.Uniform()))
	}
	for k := range truth.came {
		p, u := 0.0, 0.0
		for m := range said {
			p += float64(statusOf(said[m].came[k])) / float64(len(said))
			u += float64(statusOf(usual[m].came[k])) / float64(len(usual))
		}
		e.event[k] = append(e.event[k], Chance{p, truth.came[k]})
		e.usual[k] = append(e.usual[k], Chance{u, truth.came[k]})
	}
}

func (e *memberErrors) score(members int) (out MemberLead) {
	for k, into := range [trials]*MemberScore{&out.High, &out.Low, &out.Dew, &out.Wind, &out.CutHours, &out.DryFrom} {
		q := e.of[k]
		if q.N == 0 {
			return out
		}
		n := float64(q.N)
		q.CRPS, q.Climate, q.Covered = q.CRPS/n, q.Climate/n, q.Covered/n
		for _, r := range e.ranks[k] {
			q.Ranks[r*RankBins/(members+1)]++
		}
		q.P = RankTest(e.ranks[k], members, RankBins)
		*into = q
	}
	for k, into := range [2]*EventScore{&out.Rain, &out.Window} {
		*into = EventScore{e.event[k], Brier(e.event[k]), Brier(e.usual[k])}
	}
	return out
}
