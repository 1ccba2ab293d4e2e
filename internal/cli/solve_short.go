package cli

import (
	"fmt"
	"slices"
	"strings"

	"threshday/internal/app"
	"threshday/internal/core/scenario"
)

type solveShortJSON struct {
	Field     int              `json:"field"`
	LeftAcres figure           `json:"left_acres"`
	Because   []solveLackJSON  `json:"because"`
	Relief    *solveReliefJSON `json:"relief"`
}

type solveLackJSON struct {
	Limit       string  `json:"limit"`
	Destination *int    `json:"destination,omitempty"`
	Hours       *figure `json:"missing_hours,omitempty"`
	Bushels     *figure `json:"missing_bu,omitempty"`
	Acres       *figure `json:"missing_acres,omitempty"`
	USD         figure  `json:"usd"`
}

type solveReliefJSON struct {
	Limit       string `json:"limit"`
	Destination *int   `json:"destination,omitempty"`
	MorePct     figure `json:"more_pct"`
	LeftAcres   figure `json:"left_acres"`
	GainUSD     figure `json:"gain_usd"`
}

func destinationOf(d int) *int {
	if d < 0 {
		return nil
	}
	return &d
}

func shortAsJSON(short []scenario.Shortfall) []solveShortJSON {
	out := []solveShortJSON{}
	for _, s := range short {
		one := solveShortJSON{Field: s.Field, LeftAcres: figure(s.Acres), Because: []solveLackJSON{}}
		for _, l := range s.Lacks {
			amount := figure(l.Amount)
			lack := solveLackJSON{Limit: string(l.Limit), Destination: destinationOf(l.Destination), USD: figure(l.USD)}
			switch l.Limit {
			case scenario.HourLimit, scenario.TruckLimit:
				lack.Hours = &amount
			case scenario.DayLimit, scenario.TotalLimit:
				lack.Bushels = &amount
			case scenario.NoDayLimit:
				lack.Acres = &amount
			default: // what other weathers pay is dollars alone
			}
			one.Because = append(one.Because, lack)
		}
		if r := s.Relief; r != nil {
			one.Relief = &solveReliefJSON{
				Limit: string(r.Limit), Destination: destinationOf(r.Destination),
				MorePct: figure(100 * r.Share), LeftAcres: figure(r.Acres), GainUSD: figure(r.GainUSD),
			}
		}
		out = append(out, one)
	}
	return out
}

// shortLines says of each field how much is left standing, for want of what, and what would halve it.
func shortLines(t *scenario.Tree, a *app.Solved) []string {
	var out []string
	for _, s := range a.Short {
		lacks := []string{fmt.Sprintf("field %d: %s of %s acres in the mean", s.Field, digits(s.Acres, 1), digits(t.Fields[s.Field].Acres, 1))}
		for _, l := range s.Lacks {
			switch words := lackWords(l); {
			case l.Limit == scenario.NoDayLimit && l.Amount > s.Acres/2: // has no price, so it stands last, and is the most of it
				lacks = slices.Insert(lacks, 1, words)
			case l.Limit == scenario.NoDayLimit || l.USD >= leastTold:
				lacks = append(lacks, words)
			}
		}
		line := strings.Join(lacks[:min(1+mostLacks, len(lacks))], ", ")
		if r := s.Relief; r != nil {
			line += fmt.Sprintf("; %s %% more %s would leave %s and bring $%s", digits(100*r.Share, 0), limitWords(r.Limit, r.Destination), digits(r.Acres, 1), digits(r.GainUSD, 0))
		}
		out = append(out, line)
	}
	if len(out) > 0 && !a.Shadow.Whole {
		out = append(out, "of today's program, later days known at once: estimates")
	}
	return out
}

// leastTold is the smallest price of what is lacked that is told to a person, $. [judgement]
const leastTold = 1

// mostLacks is how many reasons are told of a field to a person; JSON has all.
const mostLacks = 3

func lackWords(l scenario.Lack) string {
	switch l.Limit {
	case scenario.OtherLimit:
		return fmt.Sprintf("kept for later days that pay $%s in other weathers", digits(l.USD, 0))
	case scenario.NoDayLimit:
		return fmt.Sprintf("%s with no day left on which it nets anything", digits(l.Amount, 1))
	case scenario.DayLimit, scenario.TotalLimit:
		return fmt.Sprintf("for want of %s bushels of %s ($%s)", digits(l.Amount, 0), limitWords(l.Limit, l.Destination), digits(l.USD, 0))
	default:
		return fmt.Sprintf("for want of %s %s ($%s)", digits(l.Amount, 1), limitWords(l.Limit, l.Destination), digits(l.USD, 0))
	}
}

func limitWords(l scenario.Limit, destination int) string {
	switch l {
	case scenario.HourLimit:
		return "combine hours"
	case scenario.TruckLimit:
		return "truck hours"
	case scenario.DayLimit:
		return fmt.Sprintf("room a day at destination %d", destination)
	default:
		return fmt.Sprintf("room in all at destination %d", destination)
	}
}
