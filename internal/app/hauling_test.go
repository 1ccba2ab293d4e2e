package app_test

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/journal"
	"threshday/internal/core/trade"
)

// haulingOf plans the demo with its season file changed and checks what holds of every load list.
func haulingOf(t *testing.T, pairs ...string) *app.Hauling {
	t.Helper()
	r := demoRequest()
	if len(pairs) > 0 {
		r.Files = edited(t, pairs...)
	}
	s := plan(t, r)
	h := s.Hauling
	if h == nil {
		t.Fatal("machines go out and nobody hauls")
	}
	season, err := wired(t).Season(r.Files, r.Season)
	if err != nil {
		t.Fatal(err)
	}
	brought, night := 0.0, 0.0
	for n, l := range h.Loads {
		if l.Number != n+1 {
			t.Errorf("load %d is number %d", n+1, l.Number)
		}
		for _, truck := range season.Season.Trucks {
			if truck.ID == l.Truck && l.Pounds > truck.Gross.Pounds()-truck.Tare.Pounds()+1 {
				t.Errorf("load %d weighs %.0f lb, %s may carry %.0f", l.Number, l.Pounds, l.TruckName, truck.Gross.Pounds()-truck.Tare.Pounds())
			}
		}
		if l.Overnight {
			night += l.Bushels
			continue
		}
		brought += l.Bushels
		if !l.Leaves.Before(l.Scale) || !l.Scale.Before(l.Back) || l.LeavesIn[1].Before(l.LeavesIn[0]) {
			t.Errorf("times of load %d are out of order: %+v", l.Number, l)
		}
		for _, o := range season.Season.Outlets {
			if hours, ok := o.Open[l.Scale.Weekday()]; o.ID == l.To && ok {
				if c := l.Scale.Hour()*60 + l.Scale.Minute(); c < int(hours[0]) || c > int(hours[1]) {
					t.Errorf("load %d is at %s at %s, which takes grain from %v to %v", l.Number, o.ID, l.Scale.Format("15:04"), hours[0], hours[1])
				}
			}
		}
	}
	if math.Abs(brought-h.BroughtBu) > 0.01 || math.Abs(night-h.InTrucks) > 0.01 {
		t.Errorf("loads bring %.2f bu and keep %.2f, the day says %.2f and %.2f", brought, night, h.BroughtBu, h.InTrucks)
	}
	return h
}

func TestTheLoadsOfTheDayBringWhatThePlanSays(t *testing.T) {
	h := haulingOf(t)
	short := 100 * (h.PlannedBu - h.BroughtBu) / h.PlannedBu
	t.Logf("planned %.0f bu, brought %.0f, %.1f %% less; over the draws %.0f to %.0f", h.PlannedBu, h.BroughtBu, short, h.Brought.P10, h.Brought.P90)
	if short < -1 || short > 10 {
		t.Errorf("the simulated day brings %.1f %% less than the plan's sums, want at most 10", short)
	}
	if h.More == nil || h.More.Bu.P10 > h.More.Bu.P90 || h.More.USD.P10 < -1 {
		t.Errorf("one more truck brings %+v", h.More)
	}
}

func TestTheSameInputsGiveTheSameLoadsOnAnyNumberOfWorkers(t *testing.T) {
	loads := func(workers int) *app.Hauling {
		a := wired(t)
		a.Workers = workers
		s, err := a.Plan(context.Background(), demoRequest())
		if err != nil {
			t.Fatal(err)
		}
		return s.Hauling
	}
	if one, two := loads(1), loads(2); !reflect.DeepEqual(one, two) {
		t.Errorf("one worker gives %+v, two give %+v", one, two)
	}
}

func TestOneTruckAloneMakesTheCombinesStand(t *testing.T) {
	h := haulingOf(t, `count = 2`, `count = 1`, `gross = "52000lb"`, `gross = "22000lb"`) // the tandem carries next to nothing
	waits := 0.0
	for _, s := range h.Stalls {
		if s.Cause == "truck" {
			waits = s.Min
		}
	}
	if waits < 60 {
		t.Errorf("the combines stand because of %+v, want an hour and more for the truck", h.Stalls)
	}
	if !strings.HasPrefix(h.Relief, "One more truck") || h.More.Bu.Mean < 300 {
		t.Errorf("relief is %q and one more truck brings %.0f bu", h.Relief, h.More.Bu.Mean)
	}
}

func TestADriverHearsOfAPostedEntrance(t *testing.T) {
	h := haulingOf(t, `(name = "Knob road"\nwidth = "28ft")`, "$1\nlimit = \"48000lb\"")
	heard := 0
	for _, l := range h.Loads {
		if l.Field != "sand-knob" {
			continue
		}
		heard++
		if posted := strings.Contains(l.Road, "Posted for 48,000 lb"); posted != (l.Pounds > 27000) && l.Truck == "tandem" || l.Truck == "semi" && !posted && l.Pounds > 21500 {
			t.Errorf("the driver of %.0f lb from %s is told %q", l.Pounds, l.Entrance, l.Road)
		}
	}
	if heard == 0 {
		t.Error("no load leaves by the posted gate")
	}
}

func TestNoTruckIsSentWhereItWouldComeTooLate(t *testing.T) {
	h := haulingOf(t, `mon-fri = "06:00-20:00", sat = "06:00-14:00"`, `mon-fri = "06:00-19:00", sat = "06:00-14:00"`)
	last := ""
	for _, l := range h.Loads {
		if l.To == "quern" && !l.Overnight {
			last = l.Scale.Format("15:04")
		}
	}
	if last == "" || last > "19:00" {
		t.Errorf("the last load at the plant that closes at 19:00 is weighed at %q", last)
	}
}

func TestTimesBetweenTheScalesAreLearnedFromTheFarmsTickets(t *testing.T) {
	a, data := opened(t)
	ctx := context.Background()
	for n, in := range []string{"08:10", "10:00", "13:20"} {
		at, out := morningAt(in).AddDate(0, 0, -1), morningAt(in).AddDate(0, 0, -1).Add(42*time.Minute)
		l := journal.Load{
			Ticket: fmt.Sprint(4700 + n), Outlet: "ossing", Crop: crop.Soybean, CropYear: 2004, From: []journal.Part{{Field: "home-quarter", Share: 1}}, Day: calendar.Day{Year: 2004, Month: 10, Date: 5},
			Weights: journal.Weights{Unit: journal.Pounds, Gross: ptrTo(int64(78000 + 20*n)), Tare: ptrTo(int64(26500))}, Moisture: ptrTo(trade.Percent(13_20)), In: &at, Out: &out,
		}
		if _, _, err := a.AddLoad(ctx, data, l, app.Signed{}); err != nil {
			t.Fatal(err)
		}
	}
	s, err := a.Plan(ctx, app.PlanRequest{Book: data, Seed: 1, Members: 20})
	if err != nil {
		t.Fatal(err)
	}
	// ln(42/14) = 1.098612; guess 0.220904, a load's own part 0.131161 of 0.164402, a day's 0.033241: weight
	// 0.220904/(0.220904 + 0.033241 + 0.131161/3) = 0.741588, so 14 e^(0.741588 × 1.098612) = 31.6 min.
	for _, one := range s.Assumed {
		if one.What == "Ossing Elevator: time between the scales" {
			if one.Value != "32 min" || !strings.HasPrefix(one.From, "3 of your own tickets for 74 %") {
				t.Errorf("learned %q from %q", one.Value, one.From)
			}
			return
		}
	}
	t.Errorf("nothing was learned: %+v", s.Assumed)
}
