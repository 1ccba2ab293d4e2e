package weatherfile

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// Whatever a file holds, it is taken whole with sound values, or refused with an input error that has words.
func FuzzRead(f *testing.F) {
	f.Add("time_utc,temp_c,dew_c,rain_mm,sky_pct\n2030-09-14T00:00,12,10,0,50\n2030-09-14T01:00,12,10,3,50\n", false)
	f.Add("time_lst,utc_offset_h,temp_f,rh_frac,wind_mph,ppfd_umol,precip_rate_mm_h_daily_mean\n2030-09-14 00:00,-6,54,.8,5,0,.2\n", true)
	f.Add("time_local;temp_c;rh_pct\n2030-03-10T02:00;1,5;80\n", false)
	f.Add("2016 01 01 00   -44   -83 10256   260    67     4 -9999 -9999\n2016 01 01 01   -50   -89 10258   250    62     2     0 -9999\n", false)
	if text, err := os.ReadFile(filepath.Join("testdata", "refused.txt")); err == nil {
		for _, part := range strings.Split(string(text), "== ")[1:] {
			_, rest, _ := strings.Cut(part, "\n")
			file, _, _ := strings.Cut(rest, "--\n")
			f.Add(file, true)
			f.Add(file, false)
		}
	}
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string, strict bool) {
		s, rep, err := Read(strings.NewReader(text), "w.csv", Options{Strict: strict, Zone: zone})
		var input *problem.InputError
		switch {
		case err != nil && (s != nil || !errors.As(err, &input) || input.Want == ""):
			t.Fatalf("got %v and %v", s, err)
		case err == nil && (s == nil || s.Len() == 0 || rep.Rows == 0):
			t.Fatal("an answer without hours")
		case err == nil:
			sound(t, s, strict)
		}
	})
}

func sound(t *testing.T, s *weather.Series, strict bool) {
	for i := range s.Len() {
		for v := range weather.Var(weather.NVar) {
			x := s.V[v][i]
			if missing := s.From[v][i] == weather.Missing; missing != (x != x) {
				t.Fatalf("hour %d: %s is %v from %v", i, v, x, s.From[v][i])
			} else if missing && strict && v != weather.RainMM {
				t.Fatalf("hour %d: %s is missing from a strict file", i, v)
			}
		}
		if s.V[weather.DewC][i] > s.V[weather.TempC][i] || s.V[weather.RainMM][i] < 0 || s.V[weather.SkyFrac][i] > 1 || s.V[weather.SolarWM2][i] < 0 {
			t.Fatalf("hour %d is not weather", i)
		}
	}
}

// Seeds of the archive's formats for FuzzRead are small; the fixed form needs whole lines.
func FuzzArchive(f *testing.F) {
	f.Add(dly("TMAX", "  217  7", "  -28  7", "  183 S7") + dly("TMIN", "   80  7"))
	f.Add("USC00999999,20241002,TMAX,200,,,7,0700\nUSC00999999,20241002,TMIN,50,,,7,0700\n")
	f.Add("STATION,DATE,TMAX,TMAX_ATTRIBUTES,TMIN\nX,2024-10-01,217,\",,7,0700\",80\n")
	f.Add("STATION,DATE,REPORT_TYPE,HourlyDryBulbTemperature,HourlySkyConditions\n1,2024-10-01T00:53:00,FM-15,50,BKN:07 30\n")
	f.Fuzz(func(t *testing.T, text string) {
		s, rep, err := Read(strings.NewReader(text), "w.csv", Options{Offset: &lst})
		var input *problem.InputError
		switch {
		case err != nil && (s != nil || !errors.As(err, &input) || input.Want == ""):
			t.Fatalf("got %v and %v", s, err)
		case err == nil && (s == nil || s.Len() == 0 || rep.Rows == 0):
			t.Fatal("an answer without hours")
		}
	})
}
