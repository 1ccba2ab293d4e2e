package app_test

import (
	"context"
	"reflect"
	"strings"
	"testing"

	"threshday/internal/app"
)

// What a look is worth grows with its spots and stays under the bound; what is advised is worth a walk, surely so, and little
// less than all spots.
func TestAdviceOnReadingsIsConsistent(t *testing.T) {
	sheet := plan(t, demoRequest())
	for _, f := range sheet.Fields {
		a := f.Sample
		if a == nil {
			if f.AcresLeft > 0 && f.Advice != app.Cannot {
				t.Errorf("%s: no advice on readings", f.ID)
			}
			continue
		}
		last := app.SampleStep{LeftPct: a.SDPct}
		for _, s := range a.Steps {
			if s.USD < last.USD-1e-9 || s.LeftPct > last.LeftPct+1e-9 || s.USD > a.MostUSD+1e-9 || s.USD > a.KnowUSD+1e-9 {
				t.Errorf("%s: %+v after %+v, at most %.2f, exactly known %.2f", f.ID, s, last, a.MostUSD, a.KnowUSD)
			}
			last = s
		}
		if a.Spots > 0 && (a.USD < 9 || a.USD < 0.9*last.USD || last.USD <= last.SEUSD || !strings.Contains(a.Say, "worth about $")) {
			t.Errorf("%s: advised %+v", f.ID, a)
		}
		if a.Spots == 0 && last.USD >= 10 && !strings.Contains(a.Say, "cannot tell") {
			t.Errorf("%s: %q for $%.0f", f.ID, a.Say, last.USD)
		}
	}
}

func TestTheOutlookAndThePlanAdviseTheSameReading(t *testing.T) {
	sheet := plan(t, demoRequest())
	o, err := wired(t).Outlook(context.Background(), app.OutlookRequest{PlanRequest: demoRequest(), Field: "widow-40"})
	if err != nil {
		t.Fatal(err)
	}
	if want := row(t, sheet, "widow-40").Sample; !reflect.DeepEqual(o.Sample, want) {
		t.Errorf("outlook %+v, plan %+v", o.Sample, want)
	}
}

// The words of an outlook: why a reading moved the field, what the meter is off by, the ground, and where all that is weak.
func TestTheOutlookSaysWhyAndWhereItIsWeak(t *testing.T) {
	o, err := wired(t).Outlook(context.Background(), app.OutlookRequest{PlanRequest: demoRequest(), Field: "Creek 80", Hours: 48})
	if err != nil {
		t.Fatal(err)
	}
	if len(o.Outlook.Hours) != 48 || len(o.Readings) != 1 || o.Readings[0].ExpectedPct == nil {
		t.Fatalf("%d hours, readings %+v", len(o.Outlook.Hours), o.Readings)
	}
	if r := o.Readings[0]; !strings.Contains(r.Why, "should have read about") || r.AfterSDPct >= r.BeforeSDPct {
		t.Errorf("reading: %+v", r)
	}
	said := []string{o.Ground.Say}
	for _, d := range o.Devices {
		said = append(said, d.Say)
	}
	for _, c := range o.Cautions {
		said = append(said, c.Say)
	}
	all := strings.Join(said, "\n")
	for _, want := range []string{"field capacity", "shop meter", "Bite Gil", "published models miss soybeans", "points apart"} {
		if !strings.Contains(all, want) {
			t.Errorf("nothing says %q in:\n%s", want, all)
		}
	}
}
