package planner

import (
	"math"
	"math/rand/v2"

	"threshday/internal/core/worth"
)

// A world is a small table for tests: every hour of every day is a working hour, values come from a function.
type world struct {
	fields, members, days, perDay int
	acres, rate, bu               float64
	combines                      int
	room                          []float64 // per destination
	trucks                        float64
	crop                          []float32 // per member and field; nil: as expected
	truckBu                       float64
	move                          float64
	// value returns the dollars per acre in a member's day and whether the field can be cut.
	value func(m, day, f, d int) (float64, bool)
}

// table lays the world out: the moisture grid is used as a plain index of the value, 1 grid point a dollar would
// not carry enough, so each (member, day, field) keeps its value through Keep on a curve of 1000 $/acre.
func (w world) table() *worth.Table {
	hours := w.days * w.perDay
	t := &worth.Table{Hours: hours, Members: w.members, TruckHours: w.trucks}
	if t.TruckHours == 0 {
		t.TruckHours = math.Inf(1)
	}
	runs := make([]bool, hours)
	for h := range hours {
		t.Day = append(t.Day, h/w.perDay)
		runs[h] = true
	}
	nd := max(len(w.room), 1)
	for m := range w.members {
		t.Source = append(t.Source, string(rune('a'+m%4)))
	}
	for d := range nd {
		room := math.Inf(1)
		if len(w.room) > 0 {
			room = w.room[d]
		}
		t.Sites = append(t.Sites, worth.SiteRow{PerHour: math.Inf(1), PerDay: math.Inf(1)})
		t.Destinations = append(t.Destinations, worth.DestinationRow{Site: d, Open: runs, Room: room, Posted: float64(nd - d)})
	}
	for f := range w.fields {
		row := worth.FieldRow{Acres: w.acres, Deadline: w.days - 1}
		bushels := make([]float32, worth.GridLen)
		for i := range bushels {
			bushels[i] = float32(w.bu)
		}
		for d := range nd {
			row.TruckBu = append(row.TruckBu, w.truckBu)
			curve := make([]float32, worth.GridLen)
			for i := range curve {
				curve[i] = 1000 - 100*float32(d)
			}
			t.Value = append(t.Value, curve)
		}
		t.Fields = append(t.Fields, row)
		t.Bushels = append(t.Bushels, bushels)
		_ = f
	}
	for range max(w.combines, 1) {
		c := worth.CombineRow{Runs: runs, StartIn: -1}
		move := make([][]float64, w.fields+1)
		for i := range move {
			move[i] = make([]float64, w.fields)
			for j := range move[i] {
				if i != j {
					move[i][j] = w.move
				}
			}
		}
		for range w.fields {
			c.Rate = append(c.Rate, w.rate)
		}
		t.Combines = append(t.Combines, c)
		t.MoveHours = append(t.MoveHours, move)
	}
	n := w.members * hours * w.fields
	t.Crop = make([]float32, w.members*w.fields)
	for i := range t.Crop {
		t.Crop[i] = 1
		if w.crop != nil {
			t.Crop[i] = w.crop[i]
		}
	}
	t.Workable, t.Wet = make([]bool, n), make([]bool, n)
	t.Moisture, t.Keep = make([]uint16, n), make([]float32, n)
	for m := range w.members {
		for h := range hours {
			for f := range w.fields {
				i := t.At(m, h, f)
				v, ok := w.value(m, h/w.perDay, f, 0)
				t.Workable[i], t.Keep[i] = ok, float32(v/1000)
				t.Moisture[i] = worth.GridIndex(10 + v/100)
			}
		}
	}
	return t
}

// random returns a world with wet days, rising and falling values, tight rooms and trucks.
func random(seed uint64) world {
	r := rand.New(rand.NewPCG(seed, 7))
	w := world{
		fields: 1 + r.IntN(4), members: 24, days: 3 + r.IntN(6), perDay: 1 + r.IntN(3), acres: 5 + 40*r.Float64(),
		rate: 4 + 8*r.Float64(), bu: 40 + 100*r.Float64(), combines: 1 + r.IntN(2), move: r.Float64(),
		trucks: 0.5 + r.Float64(), truckBu: 0.001 + 0.002*r.Float64(),
	}
	for range 1 + r.IntN(2) {
		w.room = append(w.room, 500+5000*r.Float64())
	}
	v := make([]float64, w.members*w.days*w.fields)
	wet := make([]bool, len(v))
	for i := range v {
		v[i], wet[i] = 200+700*r.Float64(), r.Float64() < 0.3
	}
	for range w.members * w.fields {
		w.crop = append(w.crop, 0.7+0.6*r.Float32())
	}
	w.value = func(m, day, f, _ int) (float64, bool) {
		i := (m*w.days+day)*w.fields + f
		return v[i], !wet[i]
	}
	return w
}
