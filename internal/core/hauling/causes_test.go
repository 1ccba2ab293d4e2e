package hauling

import "testing"

// small is a day of one combine, one cart and two trucks in corn, with one elevator.
func small() *Day {
	return &Day{
		Combines: []Combine{{TankBu: 350, UnloadBuPerMin: 240, Tasks: []Task{{From: 480, Until: 1200, Acres: 60, AcresPerHour: 9, BuPerAcre: 200}}}},
		Carts:    []Cart{{Bu: 1000, UnloadBuPerMin: 480}},
		Trucks:   []Truck{{PayloadLb: 51900, LimitLb: 53500, Loaded: 45, Empty: 50, Until: never}, {PayloadLb: 51900, LimitLb: 53500, Loaded: 45, Empty: 50, Until: never}},
		Fields:   []Field{{LbPerBu: 56, Miles: []float64{4}, Lots: []Lot{{Bu: 12000, Room: -1, Until: never}}}},
		Sites:    []Site{{Open: 420, Close: 1200, Pits: 1, ScaleMin: 5, DumpMin: 6, TicketMin: 3, BuPerHour: 10000, DayBu: never}},
		Work:     DefaultWork(),
	}
}

func TestCombinesStandForTheCauseThatHoldsThem(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Day)
		want   Cause
	}{
		"no cart":                            {func(d *Day) { d.Carts = nil }, Unloading},
		"a cart too slow for the combine":    {func(d *Day) { d.Work.RunMin = 12 }, CartBusy},
		"one truck and a far elevator":       {func(d *Day) { d.Trucks, d.Fields[0].Miles = d.Trucks[:1], []float64{45} }, TruckAway},
		"an elevator that closes at noon":    {func(d *Day) { d.Sites[0].Close = 720 }, Closed},
		"an elevator full after four loads":  {func(d *Day) { d.Sites[0].DayBu = 4 * 927 }, NoRoom},
		"a contract filled after four loads": {func(d *Day) { d.Sites[0].Rooms, d.Fields[0].Lots[0].Room = []float64{4 * 927}, 0 }, NoRoom},
	} {
		t.Run(name, func(t *testing.T) {
			usual, _ := NewRunner(small()).Run(Usual{}).IdleMin()
			d := small()
			c.change(d)
			all, by := guarded(t, NewRunner(d), Usual{}).IdleMin()
			if by[c.want] < 0.7*all || all < usual+60 {
				t.Errorf("stands %.0f min instead of %.0f: by cause %.0f, want most of it by cause %d", all, usual, by, c.want)
			}
		})
	}
}

func TestLotsAreFilledInThePlansOrder(t *testing.T) {
	d := small()
	d.Sites = append(d.Sites, d.Sites[0])
	d.Fields[0].Miles = []float64{4, 2}
	d.Fields[0].Lots = []Lot{{Bu: 3000, Room: -1, Until: never}, {Site: 1, Bu: 9000, Room: -1, Until: never}}
	o := guarded(t, NewRunner(d), Usual{})
	to := 0
	bu := [2]float64{}
	for _, l := range o.Loads {
		if l.Site < to {
			t.Errorf("a load goes to place %d after one to place %d", l.Site, to)
		}
		to = l.Site
		bu[l.Site] += l.Bu
	}
	if half := 0.5 * 927; bu[0] < 3000-half || bu[0] > 3000+half {
		t.Errorf("%.0f bu went to the first place, want the 3000 planned to half a load", bu[0])
	}
}
