package app_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"math"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/problem"
	"threshday/internal/demo"
)

func demoRequest() app.PlanRequest {
	return app.PlanRequest{Files: demo.Farm(), Season: demo.Season, Seed: 1, Members: 60}
}

func plan(t *testing.T, r app.PlanRequest) *app.DaySheet {
	t.Helper()
	s, err := wired(t).Plan(context.Background(), r)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// edited returns the demo farm with its season file changed: each pair is a regular expression and what takes its place.
func edited(t *testing.T, pairs ...string) fs.FS {
	t.Helper()
	files := fstest.MapFS{}
	err := fs.WalkDir(demo.Farm(), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(demo.Farm(), path)
		files[path] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	text := files[demo.Season].Data
	for i := 0; i < len(pairs); i += 2 {
		re := regexp.MustCompile(pairs[i])
		if !re.Match(text) {
			t.Fatalf("the demo season has nothing like %q", pairs[i])
		}
		text = re.ReplaceAll(text, []byte(pairs[i+1]))
	}
	files[demo.Season].Data = text
	return files
}

func row(t *testing.T, s *app.DaySheet, field string) app.FieldAdvice {
	t.Helper()
	for _, f := range s.Fields {
		if f.ID == field {
			return f
		}
	}
	t.Fatalf("no field %s on the sheet", field)
	return app.FieldAdvice{}
}

func TestTheDemoAnswersEveryFieldWithAReason(t *testing.T) {
	s := plan(t, demoRequest())
	advices, ahead := map[app.Advice]int{}, 0
	for _, f := range s.Fields {
		advices[f.Advice]++
		if f.Because == "" || !strings.HasSuffix(f.Because, ".") {
			t.Errorf("%s: the reason is %q", f.ID, f.Because)
		}
		if len(f.Choices) != 6 || f.Choices[0].USD != 0 {
			t.Errorf("%s: choices %+v", f.ID, f.Choices)
		}
		for _, c := range f.Choices {
			if c.OddsUnderLimit <= 0 || c.OddsUnderLimit >= 1 || math.IsNaN(c.USD) || c.P10USD > c.P90USD {
				t.Errorf("%s: choice %+v", f.ID, c)
			}
			if c.LowUSD > c.USD || c.HighUSD < c.USD {
				t.Errorf("%s: %+v lies outside its range", f.ID, c)
			}
			if a := c.Ahead; a != nil {
				ahead++
				if c.LowUSD > a.LowUSD || a.LowUSD > a.USD || a.USD > a.HighUSD || a.HighUSD > c.HighUSD {
					t.Errorf("%s: looked ahead %+v in %+v", f.ID, *a, c)
				}
			}
		}
	}
	if ahead < 20 || len(s.Season.Margins) == 0 {
		t.Errorf("%d values looked ahead, %d margins", ahead, len(s.Season.Margins))
	}
	for _, m := range s.Season.Margins {
		if m.USD <= 0 || m.P10 > m.P90 || m.Name == "" && m.Of != app.TruckHour {
			t.Errorf("margin %+v", m)
		}
	}
	if advices[app.Cut] == 0 || advices[app.Leave] == 0 {
		t.Errorf("the demo should have fields to cut and to leave: %v", advices)
	}
	if len(s.Orders) == 0 || len(s.Assumed) == 0 || len(s.Cautions) == 0 {
		t.Error("orders, assumptions or cautions are missing")
	}
	for _, r := range s.Season.Rules {
		if r.Less < -2*r.SE {
			t.Errorf("%q earns %.0f more than the plan", r.Rule, -r.Less)
		}
	}
}

func TestOrdersFitTheDayAndTheTrucks(t *testing.T) {
	s := plan(t, demoRequest())
	last := map[string]time.Time{}
	for _, o := range s.Orders {
		if o.From.Before(last[o.Machine]) || !o.To.After(o.From) {
			t.Errorf("%s in %s from %s to %s overlaps", o.Machine, o.Field, o.From, o.To)
		}
		last[o.Machine] = o.To
		if h := o.From.Hour(); h < 8 || o.To.Sub(o.From) > 14*time.Hour {
			t.Errorf("%s works from %s to %s, outside 08:00 to 22:00", o.Machine, o.From, o.To)
		}
		sum := 0.0
		for _, l := range o.Loads {
			sum += l.Bushels
		}
		if math.Abs(sum-o.Bushels) > float64(len(o.Loads))+1 {
			t.Errorf("%s in %s: loads sum to %.0f bu of %.0f", o.Machine, o.Field, sum, o.Bushels)
		}
		if o.Machine == "big" && o.Field == "chapel-60" {
			t.Error("the big combine is sent through an entrance it does not fit")
		}
	}
}

func TestTheSameSeedGivesTheSameBytesOnOneAndTwoWorkers(t *testing.T) {
	var docs [2][]byte
	for i := range docs {
		a := wired(t)
		a.Workers = i + 1
		s, err := a.Plan(context.Background(), demoRequest())
		if err != nil {
			t.Fatal(err)
		}
		for k := range s.Fields {
			for j := range s.Fields[k].Goes {
				if math.IsNaN(s.Fields[k].Goes[j].NetUSDPerBu) {
					s.Fields[k].Goes[j].NetUSDPerBu = -1
				}
			}
			for j := range s.Fields[k].Readings {
				if math.IsNaN(s.Fields[k].Readings[j].SaidPct) {
					s.Fields[k].Readings[j].SaidPct = -1
				}
			}
		}
		if docs[i], err = json.Marshal(s); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(docs[0], docs[1]) {
		t.Error("one worker and two give different sheets")
	}
}

func TestAWetterReadingMakesTheFieldWetterAndLessLikelyToOpen(t *testing.T) {
	before := row(t, plan(t, demoRequest()), "creek-80")
	r := demoRequest()
	r.Files = edited(t, `moisture = "14.6%"`, `moisture = "16.4%"`)
	after := row(t, plan(t, r), "creek-80")
	if after.MoisturePct.Mean < before.MoisturePct.Mean+0.5 {
		t.Errorf("a reading 1.8 points wetter moved the field from %.1f to %.1f", before.MoisturePct.Mean, after.MoisturePct.Mean)
	}
	if after.Choices[0].OddsUnderLimit > before.Choices[0].OddsUnderLimit {
		t.Errorf("wetter, and likelier to open: %.2f, was %.2f", after.Choices[0].OddsUnderLimit, before.Choices[0].OddsUnderLimit)
	}
}

func TestABetterBidDrawsTheGrainAndRaisesTheSeason(t *testing.T) {
	before := plan(t, demoRequest())
	r := demoRequest()
	r.Files = edited(t, `(id = "b8"\noutlet = "ossing"\ncrop = "sorghum"\ncash = )"\$3.72"`, `$1"$$4.60"`)
	after := plan(t, r)
	if after.Season.Expected <= before.Season.Expected {
		t.Errorf("a bid of 88 cents more, and the season brings %.0f, was %.0f", after.Season.Expected, before.Season.Expected)
	}
	if goes := row(t, after, "sand-knob").Goes; len(goes) == 0 || goes[0].To != "ossing" {
		t.Errorf("the sorghum still goes %+v", goes)
	}
}

func TestAFieldNobodyCanEnterCannotBeCut(t *testing.T) {
	r := demoRequest()
	r.Files = edited(t, `name = "Chapel lane"\nwidth = "16ft"`, `name = "Chapel lane"`+"\n"+`width = "12ft"`)
	f := row(t, plan(t, r), "chapel-60")
	if f.Advice != app.Cannot || !strings.Contains(f.Because, "12 ft wide") {
		t.Errorf("advice %s because %q", f.Advice, f.Because)
	}
}

func TestAMachineOutOfWorkIsNotSent(t *testing.T) {
	r := demoRequest()
	r.Files = edited(t, `(id = "big"\nname = "Big combine"\n)`, "${1}out_until = 2004-10-20\n")
	for _, o := range plan(t, r).Orders {
		if o.Machine == "big" {
			t.Errorf("%s goes to %s while it is out", o.Machine, o.Field)
		}
	}
}

func TestMissingThingsAreSaid(t *testing.T) {
	for name, c := range map[string]struct {
		edit []string
		want string
	}{
		"no limit":    {[]string{`soybean = "15%", `, ""}, "wettest soybean you cut"},
		"no record":   {[]string{`record = "[^"]*"\n`, ""}, "or a moisture reading"},
		"no truck":    {[]string{`(?s)\[\[truck\]\].*?# --- Where grain`, "# --- Where grain"}, "at least one [[truck]]"},
		"season over": {[]string{`season_end = 2004-11-20`, `season_end = 2004-10-06`}, "The season ended"},
	} {
		r := demoRequest()
		r.Files = edited(t, c.edit...)
		_, err := wired(t).Plan(context.Background(), r)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var input *problem.InputError
		var inputs problem.InputErrors
		var none *app.NoAnswer
		if !errors.As(err, &input) && !errors.As(err, &inputs) && !errors.As(err, &none) {
			t.Errorf("%s: %T has no kind the edges know", name, err)
		}
	}
}

func TestAnOutlookKnowsTheFieldAndItsReadings(t *testing.T) {
	o, err := wired(t).Outlook(context.Background(), app.OutlookRequest{PlanRequest: demoRequest(), Field: "creek-80"})
	if err != nil {
		t.Fatal(err)
	}
	if len(o.Outlook.Hours) != 240 || len(o.Outlook.Days) < 10 || len(o.Readings) != 1 {
		t.Errorf("%d hours, %d days, %d readings", len(o.Outlook.Hours), len(o.Outlook.Days), len(o.Readings))
	}
	for _, h := range o.Outlook.Hours {
		if !(h.P10 <= h.P50 && h.P50 <= h.P90) || h.Over[0] < 0 || h.Over[0] > 1 {
			t.Fatalf("hour %+v", h)
		}
	}
	_, err = wired(t).Outlook(context.Background(), app.OutlookRequest{PlanRequest: demoRequest(), Field: "nowhere"})
	var input *problem.InputError
	if !errors.As(err, &input) || !strings.Contains(input.Want, "creek-80") {
		t.Errorf("an unknown field: %v", err)
	}
}

func TestARecordedAutumnIsReplayedOnTheOtherYears(t *testing.T) {
	r := app.BacktestRequest{PlanRequest: demoRequest(), Years: []int{2004, 2005}}
	r.Members = 40
	b, err := wired(t).Backtest(context.Background(), r, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(b.Years) != 2 || len(b.Skipped) != 0 {
		t.Fatalf("%d years, skipped %v", len(b.Years), b.Skipped)
	}
	for _, y := range b.Years {
		if y.Plan > y.Bound || y.Plan < 0.8*y.Bound {
			t.Errorf("%d: plan %.0f, bound of foresight %.0f", y.Year, y.Plan, y.Bound)
		}
		for _, rule := range y.Rules {
			if rule.Expected > y.Bound {
				t.Errorf("%d: %q earns %.0f, more than the bound %.0f", y.Year, rule.Rule, rule.Expected, y.Bound)
			}
		}
	}
	r.Years = []int{1987}
	_, err = wired(t).Backtest(context.Background(), r, nil)
	var none *app.NoAnswer
	if !errors.As(err, &none) {
		t.Errorf("a year the record does not hold: %v", err)
	}
}

func BenchmarkDemoPlan(b *testing.B) {
	a := wired(b)
	r := demoRequest()
	r.Members = app.DefaultMembers
	b.ReportAllocs()
	for b.Loop() {
		if _, err := a.Plan(context.Background(), r); err != nil {
			b.Fatal(err)
		}
	}
}
