package ground

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
	"threshday/test/published"
)

func site(t testing.TB, texture string) Site {
	t.Helper()
	s, err := Textured(texture)
	if err != nil {
		t.Fatal(err)
	}
	return Site{Soil: s, Cover: cover(crop.Soybean)}
}

func cover(k crop.Kind) Cover {
	c, _ := RipeCover(k)
	return c
}

func TestTheBalanceOfOneRain(t *testing.T) {
	published.Each(t, "balance", func(t *testing.T, r published.Row) {
		s := site(t, "silt loam")
		s.Tiled = r.Text("tiled") == "yes"
		f := New(s)
		state := State{TopMM: -5, DeficitMM: r.Float("deficit")}
		for day := range r.Int("day") {
			turn := Turn{Days: 1, ET0MM: 3, DayET0MM: 3, KcMax: 1.2, NewDay: true}
			if day == 0 {
				turn.RainMM = 25
			}
			state = f.Step(state, turn)
		}
		r.Check("want", f.Wetness(state))
	})
}

func TestReferenceEvapotranspiration(t *testing.T) {
	published.Each(t, "penman", func(t *testing.T, r published.Row) {
		p := Penman{
			TempC: r.Float("temp_c"), Slope: r.Float("slope"), Gamma: r.Float("gamma"), NetMJ: r.Float("net_mj"),
			SoilMJ: r.Float("soil_mj"), WindMS: r.Float("wind_ms"), Deficit: r.Float("deficit"),
		}
		r.Check("want", p.MM())
		if got := slopeKPa(p.TempC); math.Abs(got-p.Slope) > 0.0006 {
			t.Errorf("slope of the saturation curve %v, want %v", got, p.Slope)
		}
	})
}

// Without evaporation water goes down only; as long as the subsoil has room all rain is in the two stores.
func TestWaterIsNeitherMadeNorLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		texture := rapid.SampledFrom(textures).Draw(t, "texture")
		f := New(Site{Soil: texture.soil, Cover: cover(crop.Corn), Tiled: rapid.Bool().Draw(t, "tiled"), Poor: rapid.Bool().Draw(t, "poor")})
		s := State{
			TopMM:     rapid.Float64Range(-texture.soil.EvaporableMM, 15).Draw(t, "top"),
			DeficitMM: rapid.Float64Range(0, 60).Draw(t, "deficit"),
		}
		room := mmPerM*(texture.soil.Saturation-texture.soil.FieldCapacity)*topM - s.TopMM
		rain := min(rapid.Float64Range(0, runoffFromMM).Draw(t, "rain"), max(0, room))
		after := f.Step(s, Turn{Days: 1, NewDay: true, RainMM: rain})
		kept := (after.TopMM - after.DeficitMM) - (s.TopMM - s.DeficitMM)
		if kept > rain+1e-9 {
			t.Fatalf("%v mm of rain became %v mm", rain, kept)
		}
		if after.DeficitMM > 0 && math.Abs(kept-rain) > 1e-9 {
			t.Fatalf("%v mm of %v mm are in the ground though its subsoil has room", kept, rain)
		}
	})
}

// More rain, a wetter subsoil or less drainage never makes firmer ground.
func TestMoreWaterIsNeverFirmer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		texture := rapid.SampledFrom(textures).Draw(t, "texture")
		base := Site{Soil: texture.soil, Cover: cover(crop.Soybean), Tiled: true}
		undrained := base
		undrained.Tiled = false
		run := func(s Site, more, deficit float64) float64 {
			f := New(s)
			state := State{TopMM: -3, DeficitMM: deficit}
			for day := range 6 {
				turn := Turn{Days: 1, ET0MM: 2.5, DayET0MM: 2.5, KcMax: 1.2, NewDay: true}
				if day == 1 {
					turn.RainMM = 12 + more
				}
				state = f.Step(state, turn)
			}
			return f.Wetness(state)
		}
		more := rapid.Float64Range(0, 40).Draw(t, "more rain")
		deficit := rapid.Float64Range(0, 60).Draw(t, "deficit")
		middle := run(base, 0, deficit)
		for name, got := range map[string]float64{
			"more rain": run(base, more, deficit), "less drainage": run(undrained, 0, deficit), "wetter subsoil": run(base, 0, deficit/2),
		} {
			if got < middle-1e-9 {
				t.Fatalf("%s: wetness %v, %v without", name, got, middle)
			}
		}
	})
}

// A day in 24 steps comes near what one step of a day does, when its rain falls in the first of them.
func TestHoursAddUpToTheDay(t *testing.T) {
	f := New(site(t, "loam"))
	day := f.Step(State{TopMM: 2, DeficitMM: 10}, Turn{Days: 1, RainMM: 10, ET0MM: 3, DayET0MM: 3, KcMax: 1.2, NewDay: true})
	s := State{TopMM: 2, DeficitMM: 10}
	for h := range 24 {
		turn := Turn{Days: 1.0 / 24, ET0MM: 3.0 / 24, DayET0MM: 3, KcMax: 1.2, NewDay: h == 0}
		if h == 0 {
			turn.RainMM = 10
		}
		s = f.Step(s, turn)
	}
	if d := math.Abs(f.Wetness(s) - f.Wetness(day)); d > 0.02 {
		t.Errorf("by hours %.3f, by the day %.3f", f.Wetness(s), f.Wetness(day))
	}
}

func TestAnUnknownTextureIsRefused(t *testing.T) {
	_, err := Textured("mud")
	var input *problem.InputError
	if !errors.As(err, &input) || input.Got != "mud" {
		t.Errorf("%v", err)
	}
}

func TestARunMayBeCutAtMidnight(t *testing.T) {
	record := champaign(t, 2004)
	from := record.Start
	cut, _ := calendar.DayOf(from.Start(), central).AddDays(20).Hours(central)
	f := New(site(t, "silt loam"))
	whole := FromRecord(record, from, record.End(), central, &place)
	wet := make([]float32, whole.Hours)
	f.Run(whole, 0, Begin(NormalBelow), wet)
	first, second := FromRecord(record, from, cut, central, &place), FromRecord(record, cut, record.End(), central, &place)
	rest := make([]float32, second.Hours)
	f.Run(second, 0, f.Run(first, 0, Begin(NormalBelow), nil), rest)
	if got, want := rest[len(rest)-1], wet[len(wet)-1]; got != want {
		t.Errorf("cut %v, whole %v", got, want)
	}
}

func TestFrostBears(t *testing.T) {
	e := weather.NewEnsemble(0, 24*6, 1)
	for h := range e.Hours {
		e.Row(weather.TempC, 0)[h], e.Row(weather.DewC, 0)[h], e.Row(weather.WindMS, 0)[h] = -6, -8, 2
		if h < 3 {
			e.Row(weather.RainMM, 0)[h] = 8
		}
	}
	f := New(site(t, "clay"))
	wet := make([]float32, e.Hours)
	f.Run(NewDemand(e, time.UTC, nil), 0, Begin(WetBelow), wet)
	if wet[24*2-1] <= 1 || wet[24*2] != 0 {
		t.Errorf("second cold day %v, third %v: want soft, then frozen", wet[24*2-1], wet[24*2])
	}
}
