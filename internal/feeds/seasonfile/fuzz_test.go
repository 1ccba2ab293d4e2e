package seasonfile_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	burntsushi "github.com/BurntSushi/toml"
	pelletier "github.com/pelletier/go-toml/v2"

	"threshday/internal/core/problem"
	"threshday/internal/feeds/seasonfile"
)

// Whatever a file holds: it is refused by errors that say where, what and what is accepted, or it is a season that
// survives writing. What is read here is TOML to two independent readers as well.
func FuzzRead(f *testing.F) {
	f.Add(readExample(f))
	files, err := filepath.Glob("testdata/bad/*.toml")
	if err != nil || len(files) == 0 {
		f.Fatal("no bad files: ", err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		s, findings, err := seasonfile.Read("season.toml", data)
		var errs problem.InputErrors
		if err != nil {
			if !errors.As(err, &errs) || len(errs) == 0 {
				t.Fatalf("refused without words: %v", err)
			}
			for _, e := range errs {
				if e.Rule == "" || e.Label == "" || e.Want == "" || e.Where.File == "" || len([]rune(e.Got)) > 60 {
					t.Errorf("refused poorly: %+v", e)
				}
			}
			return
		}
		for _, finding := range findings {
			if finding.Rule == "" || finding.Say == "" || finding.Where.File == "" {
				t.Errorf("doubted poorly: %+v", finding)
			}
		}
		kept(t, s)
		var tree map[string]any
		if _, err := burntsushi.Decode(string(data), &tree); err != nil {
			t.Errorf("read, but no TOML to one reader: %v", err)
		}
		if err := pelletier.Unmarshal(data, &tree); err != nil {
			t.Errorf("read, but no TOML to another reader: %v", err)
		}
	})
}
