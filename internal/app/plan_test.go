package app_test

import (
	"context"
	"testing"

	"threshday/internal/app"
	"threshday/internal/demo"
)

func demoRequest() app.PlanRequest {
	return app.PlanRequest{Files: demo.Farm(), Season: demo.Season, Seed: 1}
}

func TestProbe(t *testing.T) {
	s, err := wired(t).Plan(context.Background(), demoRequest())
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range s.Fields {
		t.Logf("%-16s %5.1f (%4.1f-%4.1f) %s %v  %s", f.Name, f.MoisturePct.Mean, f.MoisturePct.P10, f.MoisturePct.P90, f.Advice, f.TossUp, f.Because)
		for _, c := range f.Choices {
			t.Logf("      +%d  %7.1f $/ac se %.1f  odds %.2f  by %.2f", c.WaitDays, c.USDPerAcre, c.SEUSD/f.AcresLeft, c.OddsUnderLimit, *c.OddsByDeadline)
		}
		for _, g := range f.Goes {
			t.Logf("      -> %+v", g)
		}
		for _, r := range f.Readings {
			t.Logf("      r %+v", r)
		}
	}
	for _, o := range s.Orders {
		t.Logf("%+v", o)
	}
	t.Logf("%+v", s.Season)
	t.Logf("%+v", s.Window)
	t.Logf("%+v", s.Assumed)
	t.Logf("%+v", s.NotUsed)
	t.Logf("%+v", s.Stale)
}

func BenchmarkDemoPlan(b *testing.B) {
	a := wired(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := a.Plan(context.Background(), demoRequest()); err != nil {
			b.Fatal(err)
		}
	}
}
