package capacity_test

import (
	"strconv"
	"strings"
	"testing"

	"threshday/internal/core/capacity"
	"threshday/test/published"
)

func TestWaitsAreLearnedFromTickets(t *testing.T) {
	published.Each(t, "learned", func(t *testing.T, r published.Row) {
		var days [][]float64
		for _, text := range strings.Split(r.Text("minutes"), ";") {
			var day []float64
			for _, one := range strings.Fields(text) {
				m, err := strconv.ParseFloat(one, 64)
				if err != nil {
					t.Fatal(err)
				}
				day = append(day, m)
			}
			if day != nil {
				days = append(days, day)
			}
		}
		w := capacity.Wait{MedianMin: r.Float("median"), GSD: r.Float("gsd"), DayGSD: r.Float("day_gsd")}
		got, weight := w.Learned(days)
		r.Check("want", got.MedianMin)
		r.Check("weight", weight)
		if got.GSD != w.GSD || got.DayGSD != w.DayGSD {
			t.Errorf("the spread became %+v", got)
		}
	})
}
