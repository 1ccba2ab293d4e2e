package ledger_test

import (
	"math"
	"strings"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/ledger"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// Days by the table of [ndsu-hellevang-2020]: grain of 18 % keeps 50 days at 60 F and 200 at 40 F, of 15 % 240 at 60 F and over 300
// at 40 F; soybeans as grain three points wetter. The loads went in on 2 October and are looked at on 1 December.
func TestStorageLifeAddsUpOverTemperatures(t *testing.T) {
	read := func(day string, f float64, m trade.Percent) farm.BinReading {
		r := farm.BinReading{On: calendar.MustDay(day), Temp: units.Fahrenheit(f)}
		if m > 0 {
			r.Moisture = &m
		}
		return r
	}
	cooled := []farm.BinReading{read("2031-10-02", 60, 0), read("2031-10-22", 40, 0)}
	for _, c := range []struct {
		name     string
		bin      string
		moist    []trade.Percent
		readings []farm.BinReading
		dryer    bool
		want     float64 // spent; 0: not known
		left     float64
		long     bool
		says     string // among what is taken as given, or why it is not known
	}{
		{"20 days at 60 F and 40 at 40 F", "cornbin", []trade.Percent{18_00}, cooled, false, 20.0/50 + 40.0/200, (1 - 0.6) * 200, false, ""},
		{"the wettest of several is the worst", "cornbin", []trade.Percent{15_00, 18_00, 16_00}, cooled, false, 0.6, 80, false, ""},
		{"drier grain that keeps over 300 days in the cold", "cornbin", []trade.Percent{15_00}, cooled, false, 20.0/240 + 40.0/300, (1 - 20.0/240 - 40.0/300) * 300, true, ""},
		{"soybeans keep as grain three points wetter", "beanbin", []trade.Percent{15_00}, cooled, false, 0.6, 80, false, ""},
		{"dried in the bin, from the day it was read", "cornbin", []trade.Percent{18_00}, []farm.BinReading{cooled[0], read("2031-10-22", 40, 15_00)}, false, 20.0/50 + 40.0/300, (1 - 20.0/50 - 40.0/300) * 300, true, ""},
		{"dried before it went in", "cornbin", []trade.Percent{18_00}, cooled, true, 20.0/240 + 40.0/300, (1 - 20.0/240 - 40.0/300) * 300, true, "dried to 15.0 % by tower"},
		{"read for the first time weeks later", "cornbin", []trade.Percent{18_00}, []farm.BinReading{read("2031-11-20", 60, 0)}, false, 60.0 / 50, 0, false, "before its first reading, on 2031-11-20"},
		{"a reading yet to come", "cornbin", []trade.Percent{18_00}, []farm.BinReading{read("2031-12-20", 60, 0)}, false, 0, 0, false, "nobody has read"},
		{"never read", "cornbin", []trade.Percent{18_00}, nil, false, 0, 0, false, "nobody has read"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := home(t)
			for i := range s.Season.Bins {
				s.Season.Bins[i].Readings = c.readings
				if c.dryer {
					s.Season.Bins[i].Dryer = "tower"
				}
			}
			s.Season.Dryers = []farm.Dryer{{ID: "tower", Target: map[crop.Kind]trade.Percent{crop.Corn: 15_00}}}
			var in []*ledger.Ticket
			for i, m := range c.moist {
				x := corn(string(rune('1' + i)))
				if c.bin == "beanbin" {
					x = beans("1")
				}
				x.Place, x.Load.Readings = c.bin, x.Load.Readings.With(settlement.Moisture, m)
				in = append(in, x)
			}
			lives := ledger.Build(s, entries(in...)).BinLives()
			if len(lives) != 1 || lives[0].Bin != c.bin {
				t.Fatalf("%+v", lives)
			}
			l := lives[0]
			if (l.Why == "") != (c.want > 0) || math.Abs(float64(l.Spent)-c.want) > 1e-9 || math.Abs(l.Left-c.left) > 1e-9 || l.Long != c.long {
				t.Errorf("%+v, want %g spent and %g days left", l, c.want, c.left)
			}
			if said := l.Why + strings.Join(l.Assumed, "; "); c.says == "" && said != "" || !strings.Contains(said, c.says) {
				t.Errorf("it says %q, want %q", said, c.says)
			}
			f, doubt := l.Doubt()
			if doubt != (c.want > 0.5) {
				t.Errorf("more than half used: %v", doubt)
			}
			if c.want > 1 && !strings.Contains(f.Say, "has used up its storage life: 120 %") || c.want == 0.6 && !strings.Contains(f.Say, "has used 60 % of its storage life; at 40 F the rest is gone in 80 days") {
				t.Error(f.Say)
			}
		})
	}
}

// Grain that was hauled out is not spoken of, nor what nobody knows the day of.
func TestStorageLifeIsOfWhatLiesThere(t *testing.T) {
	s := home(t)
	s.Season.Bins[0].Readings = []farm.BinReading{{On: autumn, Temp: units.Fahrenheit(60)}}
	in, out := corn("1"), corn("2")
	in.Place = "cornbin"
	out.Day, out.From = autumn.AddDays(5), []ledger.Source{{Bin: "cornbin", Part: 1}}
	if lives := ledger.Build(s, entries(in, out)).BinLives(); len(lives) != 0 {
		t.Errorf("%+v", lives)
	}
	s.Season.Bins[0].InBu = 1_000
	lives := ledger.Build(s, nil).BinLives()
	if len(lives) != 1 || !strings.Contains(lives[0].Why, "when the grain in it went in is not known") {
		t.Errorf("%+v", lives)
	}
}
