package app

import (
	"fmt"
	"math"
	"testing"

	"threshday/internal/core/planner"
	"threshday/internal/core/weather"
	"threshday/internal/core/worth"
)

func TestTheAnswerTurnsWhereWaitingAndCuttingAreLevel(t *testing.T) {
	var moisture, usd []float64
	for m := range 60 {
		x := 12 + 4*float64(m)/59
		moisture = append(moisture, x)
		usd = append(usd, 100*(x-15)+20*math.Sin(float64(7*m)))
	}
	facts := &worth.FieldFacts{Now: worth.Spread{Mean: 14}, ByMember: moisture}
	waits := []planner.Wait{{Days: 0, USD: make([]float64, 60)}, {Days: 1, USD: usd}}
	got := flips(&FieldAdvice{Advice: Cut}, facts, waits)
	if len(got) != 1 || got[0].If != "it really stands at about 15.0 % or wetter, not 14.0 %" || got[0].Then != "waiting a day pays" {
		t.Errorf("%+v", got)
	}
	flat := []planner.Wait{waits[0], {Days: 1, USD: make([]float64, 60)}}
	for m := range flat[1].USD {
		flat[1].USD[m] = 50 * math.Sin(float64(11*m))
	}
	if got := flips(&FieldAdvice{Advice: Cut}, facts, flat); got != nil {
		t.Errorf("nothing hangs on the moisture, and still %+v", got)
	}
}

// Anscombe, The American Statistician 27 (1973): the first of the four sets, line 3.00 + 0.500 x, standard error of the slope
// 0.118. [anscombe-1973]
func TestTheLineIsTheOneOfATextbook(t *testing.T) {
	x := []float64{10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5}
	y := []float64{8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68}
	level, slope, se := line(x, y)
	if math.Abs(level-3.00) > 0.005 || math.Abs(slope-0.500) > 0.0005 || math.Abs(se-0.118) > 0.0005 {
		t.Errorf("line %.3f + %.4f x, standard error %.4f", level, slope, se)
	}
}

// Members in which it rains early lose by waiting, the others gain: the moment between them is told, whatever is advised.
func TestTheAnswerTurnsWithTheRain(t *testing.T) {
	var rains, usd []float64
	for m := range 60 {
		rains = append(rains, float64(4+m)) // from the fifth hour on
		usd = append(usd, -40+5*math.Sin(float64(7*m)))
		if m >= 32 {
			usd[m] += 90
		}
	}
	waits := []planner.Wait{{Days: 0, USD: make([]float64, 60)}, {Days: 2, USD: usd}}
	say := func(h int) string { return fmt.Sprintf("hour %d", h) }
	for _, c := range []struct {
		advice    Advice
		if_, then string
	}{
		{Leave, "rain comes before hour 36", "cutting it today pays"},
		{Cut, "no rain comes before hour 36", "waiting 2 days pays"},
	} {
		got := rainFlip(&FieldAdvice{Advice: c.advice}, rains, waits, say)
		if len(got) != 1 || got[0].If != c.if_ || got[0].Then != c.then {
			t.Errorf("%s: %+v", c.advice, got)
		}
	}
	for m := range usd {
		usd[m] = 50 * math.Sin(float64(11*m))
	}
	if got := rainFlip(&FieldAdvice{Advice: Cut}, rains, waits, say); got != nil {
		t.Errorf("nothing hangs on the rain, and still %+v", got)
	}
	if got := rainFlip(&FieldAdvice{Advice: Cannot}, rains, waits, say); got != nil {
		t.Errorf("what cannot be cut turns: %+v", got)
	}
}

// A millimetre within three hours wets; the same spread over a day, or before now, does not.
func TestRainThatWets(t *testing.T) {
	e := weather.NewEnsemble(100, 200, 3)
	copy(e.Row(weather.RainMM, 0)[18:], []float32{0.5, 0.2, 0.4})
	for h := range 24 {
		e.Row(weather.RainMM, 1)[20+h] = 0.1
	}
	e.Row(weather.RainMM, 2)[5] = 9
	got := firstRains(e, 110)
	if got[0] != 10 || !math.IsInf(got[1], 1) || !math.IsInf(got[2], 1) {
		t.Errorf("%v", got)
	}
}

func TestTheTurnIsWhereTheVerdictChanges(t *testing.T) {
	for _, c := range []struct {
		name  string
		turns func(x float64) bool
		want  float64
		found bool
	}{
		{"lower", func(x float64) bool { return x > 0.3137 }, 0.3137, true},
		{"higher", func(x float64) bool { return x < -0.8101 }, -0.8101, true},
		{"nearer of two", func(x float64) bool { return x < -0.41 || x > 0.77 }, -0.41, true},
		{"never", func(float64) bool { return false }, 0, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, found := nearestTurn(waitingPays, func(x float64) verdict {
				if c.turns(x) {
					return cutPays
				}
				return waitingPays
			})
			if found != c.found || math.Abs(got-c.want) > 1e-4 {
				t.Errorf("turns at %.5f (%v), want %.5f (%v)", got, found, c.want, c.found)
			}
		})
	}
}

func TestTheVerdictIsThatOfTheBestDelay(t *testing.T) {
	around := func(mean, swing float64) []float64 {
		x := make([]float64, 100)
		for m := range x {
			x[m] = mean + swing*float64(1-2*(m%2))
		}
		return x
	}
	for _, c := range []struct {
		name string
		usd  [][]float64
		want verdict
		best int
	}{
		{"every delay costs", [][]float64{around(-300, 50), around(-500, 50)}, cutPays, 0},
		{"the longer one pays", [][]float64{around(-300, 50), around(400, 50)}, waitingPays, 1},
		{"the weathers differ too much", [][]float64{around(-300, 5000), around(400, 5000)}, level, 1},
		{"under a dollar an acre", [][]float64{around(60, 0), around(-1, 0)}, level, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got, best := judge(c.usd, 80, sureBy); got != c.want || best != c.best {
				t.Errorf("verdict %d of delay %d, want %d of %d", got, best, c.want, c.best)
			}
		})
	}
}
