package capacity_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/capacity"
	"threshday/internal/core/problem"
	"threshday/test/published"
)

func TestSteadyQueues(t *testing.T) {
	published.Each(t, "queue", func(t *testing.T, r published.Row) {
		q, err := capacity.Line{ArrivalsPerHour: r.Float("arrivals"), ServedPerHour: r.Float("served"), Pits: r.Int("pits")}.Steady()
		if err != nil {
			t.Fatal(err)
		}
		r.Check("rho", q.Utilisation)
		r.Check("p0", q.Empty)
		r.Check("must_wait", q.MustWait)
		r.Check("lq", q.InLine)
		r.Check("wait_min", q.WaitMin)
		r.Check("l", q.AtOutlet)
	})
	published.Each(t, "spread", func(t *testing.T, r published.Row) {
		l := capacity.Line{ArrivalsPerHour: r.Float("arrivals"), ServedPerHour: r.Float("served"), Pits: r.Int("pits")}
		got, err := l.SpreadWaitMin(r.Float("ca"), r.Float("cs"))
		if err != nil {
			t.Fatal(err)
		}
		r.Check("want", got)
	})
}

func TestALineWithoutAnEndHasNoAnswer(t *testing.T) {
	for _, l := range []capacity.Line{{10, 10, 1}, {21, 10, 2}, {1e6, 1, 1}} {
		var without *capacity.UnboundedQueueError
		if _, err := l.Steady(); !errors.As(err, &without) || without.ArrivalsPerHour != l.ArrivalsPerHour {
			t.Errorf("%+v: %v", l, err)
		}
		if _, err := l.SpreadWaitMin(1, 0.4); !errors.As(err, &without) {
			t.Errorf("%+v: %v", l, err)
		}
	}
	for _, l := range []capacity.Line{{-1, 10, 1}, {1, 0, 1}, {1, 10, 0}, {math.NaN(), 10, 1}} {
		var bad *problem.InputError
		if _, err := l.Steady(); !errors.As(err, &bad) || bad.Rule != "queue.range" {
			t.Errorf("%+v: %v", l, err)
		}
	}
}

func TestQueuesObeyLittle(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		pits := rapid.IntRange(1, 200).Draw(rt, "pits")
		served := rapid.Float64Range(0.1, 100).Draw(rt, "served")
		rho := rapid.Float64Range(0.001, 0.999).Draw(rt, "rho")
		l := capacity.Line{ArrivalsPerHour: rho * served * float64(pits), ServedPerHour: served, Pits: pits}
		q, err := l.Steady()
		if err != nil {
			rt.Fatal(err)
		}
		if math.Abs(q.InLine-l.ArrivalsPerHour*q.WaitMin/60) > 1e-9*(1+q.InLine) {
			rt.Fatalf("in line %v, arrivals times wait %v", q.InLine, l.ArrivalsPerHour*q.WaitMin/60)
		}
		if math.Abs(q.AtOutlet-q.InLine-l.ArrivalsPerHour/served) > 1e-9*q.AtOutlet {
			rt.Fatalf("at outlet %v", q.AtOutlet)
		}
		if !(q.MustWait >= 0 && q.MustWait <= 1) || !(q.Empty >= 0 && q.Empty <= 1) {
			rt.Fatalf("%+v", q)
		}
		if pits == 1 && (math.Abs(q.Empty-(1-rho)) > 1e-9 || math.Abs(q.MustWait-rho) > 1e-9) {
			rt.Fatalf("one pit: %+v", q)
		}
		more := l
		more.Pits++
		if better, err := more.Steady(); err != nil || better.WaitMin > q.WaitMin*(1+1e-12) {
			rt.Fatalf("one pit more waits %v after %v, %v", better.WaitMin, q.WaitMin, err)
		}
	})
}

func TestARushLeavesALine(t *testing.T) {
	published.Each(t, "rush", func(t *testing.T, r published.Row) {
		got, err := capacity.Rush{
			ArrivalsPerHour: r.Float("arrivals"), ServedPerHour: r.Float("served"), Hours: r.Float("hours"), AfterPerHour: r.Float("after"),
		}.Line()
		if err != nil {
			t.Fatal(err)
		}
		r.Check("peak", got.PeakTrucks)
		r.Check("longest_min", got.LongestMin)
		r.Check("clear_h", got.ClearHours)
		r.Check("mean_min", got.MeanMin)
	})
	var without *capacity.UnboundedQueueError
	if _, err := (capacity.Rush{ArrivalsPerHour: 14, ServedPerHour: 10, Hours: 4, AfterPerHour: 10}).Line(); !errors.As(err, &without) {
		t.Errorf("a rush that never ends: %v", err)
	}
}

func TestOwnTrucksAtOnePit(t *testing.T) {
	published.Each(t, "fleet", func(t *testing.T, r published.Row) {
		idle, loads, atPit := capacity.OwnFleet{Trucks: r.Int("trucks"), AwayMin: r.Float("away"), DumpMin: r.Float("dump")}.Steady()
		r.Check("idle", idle)
		r.Check("loads_h", loads)
		r.Check("at_pit", atPit)
	})
}

func TestOwnTrucksAgreeWithTheirStates(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := capacity.OwnFleet{
			Trucks:  rapid.IntRange(1, 30).Draw(rt, "trucks"),
			AwayMin: rapid.Float64Range(1, 300).Draw(rt, "away"), DumpMin: rapid.Float64Range(0.5, 60).Draw(rt, "dump"),
		}
		idle, loads, atPit := f.Steady()
		// p_n = p_0 N!/(N-n)! (s/z)^n, summed state by state.
		sum, term := 1.0, 1.0
		for n := range f.Trucks {
			term *= float64(f.Trucks-n) * f.DumpMin / f.AwayMin
			sum += term
		}
		if math.Abs(idle-1/sum) > 1e-9 {
			rt.Fatalf("idle %v, want %v", idle, 1/sum)
		}
		if want := float64(f.Trucks)/(loads/60) - f.AwayMin; math.Abs(atPit-want) > 1e-6*(1+want) {
			rt.Fatalf("at the pit %v, want %v", atPit, want)
		}
		f.Trucks++
		if _, more, _ := f.Steady(); more < loads*(1-1e-12) {
			rt.Fatalf("one truck more brings %v after %v loads an hour", more, loads)
		}
	})
}
