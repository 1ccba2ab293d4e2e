package drydown_test

import (
	"math"
	"slices"
	"testing"
	"time"
	_ "time/tzdata"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
)

func clock(s string) calendar.Clock {
	c, err := calendar.ParseClock(s)
	if err != nil {
		panic(err)
	}
	return c
}

// handTrack is three members over two days of a zone: member 0 dries to the limit at 10 and is wet again at 19, member
// 1 is two hours later, member 2 is never dry on the first day and has rain at noon of the second.
func handTrack(start calendar.Hour) *drydown.Track {
	t := drydown.NewTrack(start, 48, 3)
	for m := range 3 {
		for h := range 48 {
			i := m*48 + h
			t.MeanWB[i], t.Clear[i] = 15, true
			at := h % 24
			open := 10 + 2*m
			if m == 2 {
				open = 10
			}
			if at >= open && at < 19 && (m < 2 || h >= 24) {
				t.MeanWB[i] = 13
			}
			if m == 2 && h == 24+12 {
				t.Clear[i] = false
			}
		}
	}
	return t
}

func TestTheOutlookCountsMembers(t *testing.T) {
	start := hourOn("2031-10-01")
	track := handTrack(start)
	w := drydown.Working{LimitWB: 13, From: clock("08:00"), Until: clock("20:00"), MinHours: 2}
	o := drydown.Summarize(track, w, central)
	if len(o.Hours) != 48 || len(o.Days) != 2 {
		t.Fatalf("%d hours, %d days", len(o.Hours), len(o.Days))
	}
	ten := o.Hours[10]
	if ten.Hour != start+10 || math.Abs(ten.MeanWB-43.0/3) > 1e-5 || math.Abs(ten.Workable-1.0/3) > 1e-12 || ten.Clear < 1-1e-12 {
		t.Errorf("at ten: %+v", ten)
	}
	if math.Abs(ten.P10-13.4) > 1e-6 || ten.P50 != 15 || ten.P90 != 15 { // 13, 15, 15: a fifth of the way from the first
		t.Errorf("percentiles at ten: %+v", ten)
	}
	first, second := o.Days[0], o.Days[1]
	if math.Abs(first.OddsFit-2.0/3) > 1e-12 || first.Opens != start+11 || first.Closes != start+19 {
		t.Errorf("first day %+v", first)
	}
	if want := (9.0 + 7) / 3; math.Abs(first.Hours-want) > 1e-12 {
		t.Errorf("first day has %v hours, want %v", first.Hours, want)
	}
	if second.OddsFit != 1 || second.Opens != start+24+10 || second.Closes != start+24+19 || second.OpensP90 != start+24+12 {
		t.Errorf("second day %+v", second)
	}
	w.MinHours = 8
	if got := drydown.Summarize(track, w, central).Days[0].OddsFit; math.Abs(got-1.0/3) > 1e-12 {
		t.Errorf("eight hours: odds %v, want one in three", got)
	}
	w.LimitWB = 12
	if none := drydown.Summarize(track, w, central).Days[0]; none.Fit || none.OddsFit != 0 || none.Hours != 0 {
		t.Errorf("under the limit of nobody: %+v", none)
	}
}

func TestTheWorkingDayIsThatOfTheWall(t *testing.T) {
	loc, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	for _, day := range []string{"2031-11-01", "2031-11-02", "2031-11-03"} { // clocks go back on the second
		d := calendar.MustDay(day)
		first, end := d.Hours(loc)
		track := drydown.NewTrack(first, int(end-first), 1)
		for i := range track.MeanWB {
			track.MeanWB[i], track.Clear[i] = 12, true
		}
		o := drydown.Summarize(track, drydown.Working{LimitWB: 13, From: clock("07:30"), Until: clock("18:30"), MinHours: 1}, loc)
		if len(o.Days) != 1 {
			t.Fatalf("%s: %d days", day, len(o.Days))
		}
		opens, closes := o.Days[0].Opens.Start().In(loc), o.Days[0].Closes.Start().In(loc)
		if opens.Hour() != 8 || closes.Hour() != 18 || o.Days[0].Hours != 10 {
			t.Errorf("%s: %s to %s, %v hours; want the whole hours from 8 to 18", day, opens, closes, o.Days[0].Hours)
		}
	}
}

// The whole chain twice gives the same numbers, and no member depends on another.
func TestSameInputsSameNumbers(t *testing.T) {
	p := params(t, crop.Soybean)
	e := season(12, 20*24)
	c := drydown.Case{Field: drydown.NewField(p, drydown.Even), Ripe: &drydown.Ripening{Hour: 100, SDDays: 3}}
	all := func(order []int) *drydown.Track {
		post, _ := assimilate(t, c)
		d := drydown.NewDrivers(p, e, post.Film)
		states := post.States([32]byte{3}, 12)
		out := drydown.NewTrack(0, 20*24, 12)
		out.Limits, out.Over = []float64{13}, [][]float32{make([]float32, 12*20*24)}
		for _, m := range order {
			c.Field.Run(d, m, &states[m], 20*24, out)
		}
		return out
	}
	order := make([]int, 12)
	for i := range order {
		order[i] = i
	}
	a := all(order)
	slices.Reverse(order)
	b := all(order)
	if !slices.Equal(a.MeanWB, b.MeanWB) || !slices.Equal(a.SDWB, b.SDWB) || !slices.Equal(a.Over[0], b.Over[0]) || !slices.Equal(a.Clear, b.Clear) {
		t.Error("two runs differ")
	}
}

// Closed hours take the ground's part: member 0 is soft all the first day, member 1 until noon.
func TestTheCropsOddsAndTheGroundsStandApart(t *testing.T) {
	start := hourOn("2031-10-01")
	track := handTrack(start)
	track.Closed = make([]bool, len(track.MeanWB))
	for h := range 24 {
		track.Closed[h] = true
		track.Closed[48+h] = h < 12
	}
	track.Limits, track.Over = []float64{13, 15}, [][]float32{make([]float32, 3*48), make([]float32, 3*48)}
	w := drydown.Working{LimitWB: 13, From: clock("08:00"), Until: clock("20:00"), MinHours: 2}
	o := drydown.Summarize(track, w, central)
	first := o.Days[0]
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"fit", first.OddsFit, 1.0 / 3},       // member 1 from noon; 0 is soft, 2 never dry enough
		{"crop", first.OddsCrop, 2.0 / 3},     // members 0 and 1
		{"ground", first.OddsGround, 2.0 / 3}, // members 1 and 2
		{"under 13", first.OddsUnder[0], 1.0 / 3},
		{"under 15", first.OddsUnder[1], 2.0 / 3},
		{"hours", first.Hours, 7.0 / 3}, // member 1 from 12 to 19
		{"closed at ten", o.Hours[10].Closed, 2.0 / 3},
		{"closed at noon", o.Hours[12].Closed, 1.0 / 3},
	} {
		if math.Abs(c.got-c.want) > 1e-9 {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.want)
		}
	}
	if first.Opens != start+12 || first.Closes != start+19 {
		t.Errorf("opens %d, closes %d hours after midnight", first.Opens-start, first.Closes-start)
	}
}

// Loads of one weather lie normally around its mean, by their own spread and the scale's 0.3 together: 0.5 here. One load in
// ten lies 1.2816 standard deviations off, 15.87 % lie more than one. Of two weathers far apart each gives half the loads.
func TestLoadsSpreadAroundTheMeanOfEachWeather(t *testing.T) {
	track := drydown.NewTrack(0, 1, 2)
	track.MeanWB[0], track.MeanWB[1] = 14, 14
	track.Limits, track.Over = []float64{14.5}, [][]float32{make([]float32, 2)}
	w := drydown.Working{LimitWB: 13, From: clock("08:00"), Until: clock("20:00"), LoadSDWB: 0.4}
	h := drydown.Summarize(track, w, central).Hours[0]
	if math.Abs(h.LoadP10-(14-0.5*1.2816)) > 0.01 || math.Abs(h.LoadP90-(14+0.5*1.2816)) > 0.01 || math.Abs(h.LoadsOver[0]-0.1587) > 0.0001 {
		t.Errorf("one weather: %+v", h)
	}
	track.MeanWB[1] = 18
	h = drydown.Summarize(track, w, central).Hours[0]
	if math.Abs(h.LoadsOver[0]-(0.1587+1)/2) > 0.0001 {
		t.Errorf("over 14.5 of two weathers: %v", h.LoadsOver[0])
	}
	// A fifth of the drier half lies under the P10, as of the wetter half over the P90: 0.8416 standard deviations.
	if math.Abs(h.LoadP10-(14-0.5*0.8416)) > 0.01 || math.Abs(h.LoadP90-(18+0.5*0.8416)) > 0.01 {
		t.Errorf("two weathers: %+v", h)
	}
}
