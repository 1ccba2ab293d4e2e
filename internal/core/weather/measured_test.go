package weather_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
)

var nan = math.NaN()

// twoDays is an invented record of 48 hours from midnight of standard time, six hours behind UTC.
func twoDays() (*weather.Measured, weather.Station) {
	m := &weather.Measured{Start: calendar.HourOf(time.Date(2026, 10, 3, 6, 0, 0, 0, time.UTC)), Hours: 48}
	for i := range m.Hours {
		m.Temp = append(m.Temp, 12-8*math.Cos(2*math.Pi*float64(i-3)/24))
		m.RH = append(m.RH, 0.7+0.25*math.Cos(2*math.Pi*float64(i-3)/24))
		m.Wind = append(m.Wind, 4)
		m.Rain = append(m.Rain, 0)
	}
	return m, weather.Station{At: &weather.Spot{Lat: 40.05, Lon: -88.37}, Standard: -6 * time.Hour}
}

func filling(t *testing.T, done []weather.Filling, rule string) weather.Filling {
	t.Helper()
	i := slices.IndexFunc(done, func(f weather.Filling) bool { return f.Rule == rule })
	if i < 0 {
		t.Fatalf("no filling %s in %+v", rule, done)
	}
	return done[i]
}

func TestMissingQuantitiesAreFilledAndSaid(t *testing.T) {
	for _, c := range []struct {
		name    string
		change  func(*weather.Measured, *weather.Station)
		rule    string
		hours   int
		assumed bool
		v       weather.Var
		at      int
		want    float64
		tol     float64
	}{
		{
			"dew from humidity", func(m *weather.Measured, _ *weather.Station) { m.Temp[14], m.RH[14] = 20, 0.5 },
			"dew_c.from-humidity", 48, false, weather.DewC, 14, 9.26, 0.02, // 9.255 by the WMO coefficients
		},
		{
			"wind to 2 m", func(m *weather.Measured, _ *weather.Station) { m.Wind[5] = 3.2 },
			"wind_ms.height", 48, true, weather.WindMS, 5, 2.39, 0.005, // [fao-56] example 14
		},
		{
			"wind at a stated height", func(m *weather.Measured, st *weather.Station) {
				height := 2 * units.Meter
				st.WindHeight = &height
			},
			"wind_ms.height", 48, false, weather.WindMS, 5, 4, 0.005,
		},
		{"no wind", func(m *weather.Measured, _ *weather.Station) { m.Wind = nil }, "wind_ms.none", 48, true, weather.WindMS, 5, 2, 0},
		{"no rain", func(m *weather.Measured, _ *weather.Station) { m.Rain = nil }, "rain_mm.none", 48, true, weather.RainMM, 5, 0, 0},
		{"no humidity", func(m *weather.Measured, _ *weather.Station) { m.RH = nil }, "dew_c.none", 48, true, weather.DewC, 15, 4, 0.01},
		{
			"photons", func(m *weather.Measured, _ *weather.Station) {
				m.PPFD = slices.Repeat([]float64{0}, 48)
				m.PPFD[12] = 1055
				m.PPFD[0] = -6
			},
			"solar_wm2.from-photons", 48, false, weather.SolarWM2, 12, 500, 0.01, // 1055/2.11 [britton-dodd-1976]
		},
		{
			"cloud by night", func(*weather.Measured, *weather.Station) {},
			"sky_frac.unknown", 48, true, weather.SkyFrac, 2, 0.5, 0,
		},
		{
			"sun behind cloud", func(m *weather.Measured, _ *weather.Station) { m.Sky = slices.Repeat([]float64{1}, 48) },
			// one third of the clear sky's: 0.25/(0.25+0.50) [fao-56] eq. 35
			"solar_wm2.clear-sky", 48, true, weather.SolarWM2, 12, clearNoon / 3, 0.01,
		},
		{
			"cloud from the sun", func(m *weather.Measured, _ *weather.Station) {
				m.Solar = slices.Repeat([]float64{nan}, 48)
				m.Solar[12] = clearNoon * (0.25 + 0.5*0.4) / 0.75 // 40 % of the bright hours are sunny
			},
			"sky_frac.from-solar", 1, false, weather.SkyFrac, 12, 0.6, 0.0001,
		},
		{
			"short gap", func(m *weather.Measured, _ *weather.Station) {
				m.Temp[10], m.Temp[14] = 5, 9
				m.Temp[11], m.Temp[12], m.Temp[13] = nan, nan, nan
			},
			"temp_c.bridged", 3, true, weather.TempC, 12, 7, 0.0001,
		},
		{
			"airport nights", func(m *weather.Measured, st *weather.Station) {
				m.RH = nil
				m.Dew = slices.Repeat([]float64{1}, 48)
				st.Airport = true
			},
			"dew_c.airport", 22, true, weather.DewC, 2, 2, 0,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, st := twoDays()
			c.change(m, &st)
			s, done := m.Series(st)
			f := filling(t, done, c.rule)
			if f.Hours != c.hours || f.Assumed != c.assumed || f.Say == "" {
				t.Errorf("got %+v, want %d hours, assumed %v", f, c.hours, c.assumed)
			}
			if got := float64(s.V[c.v][c.at]); !(math.Abs(got-c.want) <= c.tol) {
				t.Errorf("hour %d: %s %.4f, want %.4f", c.at, c.v, got, c.want)
			}
		})
	}
}

// clearNoon is the clear sky's radiation in the hour from noon of the first of the two days.
var clearNoon = weather.ClearSky(calendar.HourOf(time.Date(2026, 10, 3, 18, 0, 0, 0, time.UTC)), 1, weather.Spot{Lat: 40.05, Lon: -88.37})[0]

func TestLongGapsStayMissing(t *testing.T) {
	m, st := twoDays()
	for i := 10; i < 14; i++ {
		m.Temp[i], m.RH[i], m.Wind[i], m.Rain[i] = nan, nan, nan, nan
	}
	m.Rain[0] = nan // nothing before it to draw a line from
	s, _ := m.Series(st)
	for _, v := range []weather.Var{weather.TempC, weather.DewC, weather.WindMS, weather.RainMM} {
		for i := 10; i < 14; i++ {
			if s.From[v][i] != weather.Missing || !math.IsNaN(float64(s.V[v][i])) {
				t.Errorf("hour %d: %s is %v", i, v, s.V[v][i])
			}
		}
	}
	if s.From[weather.RainMM][0] != weather.Missing {
		t.Error("rain of the first hour was made up")
	}
	if d := s.Summary(s.Start, s.Start+24); d.Known {
		t.Error("a day with missing hours counts as known")
	}
}

func TestDailyTotalsAreSpreadAndKept(t *testing.T) {
	m, st := twoDays()
	m.Rain = nil
	m.DayRain = slices.Concat(slices.Repeat([]float64{12.7 / 24}, 24), slices.Repeat([]float64{nan}, 24))
	s, done := m.Series(st)
	filling(t, done, "rain_mm.spread")
	sum, wet := 0.0, 0
	for i, mm := range s.V[weather.RainMM][:24] {
		sum += float64(mm)
		if mm > 0 {
			wet++
			if rh := weather.RelativeHumidity(float64(s.V[weather.TempC][i]), float64(s.V[weather.DewC][i])); mm >= 0.2 && rh < 0.849 {
				t.Errorf("hour %d rains %.1f mm into air of %.2f", i, mm, rh)
			}
		}
	}
	if math.Abs(sum-12.7) > 1e-4 || wet == 24 {
		t.Errorf("%.4f mm in %d hours, want 12.7 in fewer than 24", sum, wet)
	}
	if s.From[weather.RainMM][30] != weather.Missing {
		t.Error("a day without a total got rain")
	}
	st.Root = [32]byte{1}
	other, _ := m.Series(st)
	again, _ := m.Series(st)
	if !slices.Equal(other.V[weather.RainMM][:24], again.V[weather.RainMM][:24]) {
		t.Error("the same root spreads rain in two ways")
	}
	if slices.Equal(other.V[weather.RainMM][:24], s.V[weather.RainMM][:24]) {
		t.Error("another root spreads rain the same way")
	}
}

func TestDewPointNeverAboveTemperature(t *testing.T) {
	m, st := twoDays()
	m.Dew = slices.Clone(m.Temp)
	for i := range m.Dew {
		m.Dew[i] += 0.4
	}
	s, _ := m.Series(st)
	for i, dew := range s.V[weather.DewC] {
		if dew > s.V[weather.TempC][i] {
			t.Fatalf("hour %d: dew point %v above %v", i, dew, s.V[weather.TempC][i])
		}
	}
}

func TestBrokenColumnsPanic(t *testing.T) {
	m, st := twoDays()
	m.Wind = m.Wind[:40]
	mustPanic(t, "a short column", func() { m.Series(st) })
	m, st = twoDays()
	m.Temp = nil
	mustPanic(t, "no temperature", func() { m.Series(st) })
}
