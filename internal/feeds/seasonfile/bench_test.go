package seasonfile_test

import (
	"fmt"
	"testing"

	burntsushi "github.com/BurntSushi/toml"
	pelletier "github.com/pelletier/go-toml/v2"

	"threshday/internal/feeds/seasonfile"
)

// large returns the text of a season of sixty fields, each with two entrances and ten readings.
func large(b *testing.B) []byte {
	b.Helper()
	s, _, err := seasonfile.Read("example-season.toml", readExample(b))
	if err != nil {
		b.Fatal(err)
	}
	pattern, reading := s.Fields[0], s.Readings[0]
	for i := range 57 {
		f := pattern
		f.ID = fmt.Sprintf("field-%d", i)
		s.Fields = append(s.Fields, f)
	}
	s.Readings = nil
	for _, f := range s.Fields {
		for range 10 {
			r := reading
			r.Field = f.ID
			s.Readings = append(s.Readings, r)
		}
	}
	return seasonfile.Write(s)
}

func BenchmarkRead(b *testing.B) {
	text := large(b)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := seasonfile.Read("season.toml", text); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	s, _, err := seasonfile.Read("season.toml", large(b))
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	var text []byte
	for b.Loop() {
		text = seasonfile.Write(s)
	}
	b.SetBytes(int64(len(text)))
}

// What the two libraries take for the same text without positions, for scale.
func BenchmarkPlainTrees(b *testing.B) {
	text := large(b)
	for name, decode := range map[string]func(*map[string]any) error{
		"BurntSushi": func(tree *map[string]any) error { _, err := burntsushi.Decode(string(text), tree); return err },
		"pelletier":  func(tree *map[string]any) error { return pelletier.Unmarshal(text, tree) },
	} {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				var tree map[string]any
				if err := decode(&tree); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
