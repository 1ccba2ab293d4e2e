package worth

import (
	"fmt"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/drydown"
	"threshday/internal/core/farm"
	"threshday/internal/core/ground"
	"threshday/internal/core/weather"
)

// groundLook is how long before now the water balance of the ground begins, in days: by then its top has forgotten where it
// began. [judgement]
const groundLook = 30

// GroundFacts are what is known of one field's ground.
type GroundFacts struct {
	Limit   ground.Limit    // the wettest at which it bears loaded machines
	Wetness float64         // of the top ten centimetres now, 1 at field capacity
	Soft    []float64       // per day: share of members in which it is too soft in every working hour
	Held    []float64       // per day: share of members whose crop is fit in some working hour, and the ground in none of them
	Lessons []ground.Lesson // what notes taught, in the order of time
	Unused  []string        // notes that taught nothing, with the reason
}

// A soil is the ground of all fields in all members.
type soil struct {
	ahead  *ground.Demand
	fields []*ground.Field
	now    []ground.State
}

// grounds works the water of every field out up to now and learns their limits from what was found.
func (b *builder) grounds() (*soil, error) {
	fields := b.in.Season.Fields
	var at *weather.Spot
	if p := b.in.Season.Farm.At; p != nil {
		at = &weather.Spot{Lat: p.Lat, Lon: p.Lon}
	}
	out := &soil{ahead: ground.NewDemand(b.in.Ensemble, b.in.Zone, at), fields: make([]*ground.Field, len(fields)), now: make([]ground.State, len(fields))}
	from := max(b.recordedFrom(), b.in.Now-24*groundLook)
	var past *ground.Demand
	if from < b.in.Now {
		past = ground.FromRecord(b.in.Record, from, b.in.Now, b.in.Zone, at)
	}
	shift := b.machineShift()
	limits := make([]float64, len(fields))
	wetness := make([][]float32, len(fields))
	for i := range fields {
		g, err := b.groundOf(&fields[i])
		if err != nil {
			return nil, err
		}
		below := ground.Below(fields[i].Soil.Below)
		out.fields[i], out.now[i], limits[i] = g, g.BeginUnknown(below), g.Limit()+shift
		if past != nil {
			wetness[i] = make([]float32, past.Hours)
			out.now[i] = g.Run(past, 0, ground.Begin(below), wetness[i])
		}
		b.out.Fields[i].Ground.Wetness = g.Wetness(out.now[i])
	}
	var notes []ground.Note
	for _, n := range b.in.Season.Grounds {
		note, say := b.groundNote(n, past, wetness)
		if say != "" {
			facts := &b.out.Fields[note.Field].Ground
			facts.Unused = append(facts.Unused, say)
			continue
		}
		notes = append(notes, note)
	}
	learned, lessons := ground.Learn(limits, notes)
	for i, l := range learned {
		b.out.Fields[i].Ground.Limit = l
	}
	for _, l := range lessons {
		for _, n := range notes {
			if n.ID == l.ID {
				facts := &b.out.Fields[n.Field].Ground
				facts.Lessons = append(facts.Lessons, l)
			}
		}
	}
	return out, nil
}

// groundNote turns a note into the model's terms; say tells why it cannot be used.
func (b *builder) groundNote(n farm.GroundNote, past *ground.Demand, wetness [][]float32) (note ground.Note, say string) {
	for i := range b.in.Season.Fields {
		if b.in.Season.Fields[i].ID == n.Field {
			note.Field = i
		}
	}
	first, _ := n.On.Hours(b.in.Zone)
	note.ID, note.At, note.Carried = n.Name(), first+12, n.Found == "carried"
	switch {
	case note.At >= b.in.Now:
		return note, fmt.Sprintf("%s on %s lies ahead of this morning.", n.Found, n.On)
	case past == nil || note.At < past.Start:
		return note, fmt.Sprintf("%s on %s: the weather of then is not recorded, or too long ago.", n.Found, n.On)
	}
	note.Wetness = float64(wetness[note.Field][note.At-past.Start])
	return note, ""
}

// machineShift returns what the farm's machines do to every limit.
func (b *builder) machineShift() float64 {
	tracks := len(b.in.Season.Combines) > 0
	for i := range b.in.Season.Combines {
		tracks = tracks && b.in.Season.Combines[i].Tracks
	}
	return ground.Shift(tracks, len(b.in.Season.Carts) > 0)
}

// groundOf returns the ground of a field; what the owner did not tell of it is assumed aloud.
func (b *builder) groundOf(f *farm.Field) (*ground.Field, error) {
	texture := f.Soil.Texture
	var assumed []string
	if texture == "" {
		texture = ground.DefaultTexture
		assumed = append(assumed, texture)
	}
	soil, err := ground.Textured(texture)
	if err != nil {
		return nil, err
	}
	cover, ok := ground.RipeCover(f.Crop)
	if !ok {
		return nil, noModel(f)
	}
	if f.Soil.Tiled == nil {
		assumed = append(assumed, "not tiled")
	}
	if f.Soil.Below == "" {
		assumed = append(assumed, "subsoil normal")
	}
	if len(assumed) > 0 {
		b.assume(f.Name+": ground", strings.Join(assumed, ", "), "not given")
	}
	return ground.New(ground.Site{Soil: soil, Cover: cover, Tiled: f.Soil.Tiled != nil && *f.Soil.Tiled, Poor: f.Soil.Drainage == "poor"}), nil
}

// soft runs the ground of field i through every member and returns, in a track's layout, where it is too soft. Each member
// draws the limit it meets.
func (b *builder) soft(i int, s *soil, root [32]byte) []bool {
	limit := b.out.Fields[i].Ground.Limit
	hours := b.in.Ensemble.Hours
	out := make([]bool, hours*b.in.Ensemble.Members)
	wet := make([]float32, hours)
	for m := range b.in.Ensemble.Members {
		s.fields[i].Run(s.ahead, m, s.now[i], wet)
		draw := weather.NewStream(root, m, drawDay, groundDraw)
		most := float32(limit.Mean + limit.SD*draw.Normal())
		for h, w := range wet {
			out[m*hours+h] = w > most
		}
	}
	return out
}

// describeGround sums up, day by day, where the ground keeps field i closed.
func (b *builder) describeGround(i int, track *drydown.Track, limit float64) {
	t := b.out.Table
	days := t.Days()
	facts := &b.out.Fields[i].Ground
	facts.Soft, facts.Held = make([]float64, days), make([]float64, days)
	part := 1 / float64(t.Members)
	for m := range t.Members {
		works, bears, crop, both := make([]bool, days), make([]bool, days), make([]bool, days), make([]bool, days)
		for h := range t.Hours {
			if !b.runs[h] {
				continue
			}
			d, at := t.Day[h], track.At(m, t.Start+calendar.Hour(h))
			fit := track.Clear[at] && float64(track.MeanWB[at]) <= limit
			works[d] = true
			bears[d] = bears[d] || !track.Closed[at]
			crop[d] = crop[d] || fit
			both[d] = both[d] || (fit && !track.Closed[at])
		}
		for d := range days {
			if works[d] && !bears[d] {
				facts.Soft[d] += part
			}
			if crop[d] && !both[d] {
				facts.Held[d] += part
			}
		}
	}
}
