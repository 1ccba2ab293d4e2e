// Package docs carries the table of sources into the program, so that an answer can name the text behind a figure and
// not only its key. It reads nothing until asked.
package docs

import (
	"embed"
	"fmt"
	"io/fs"
	"strings"
)

//go:embed sources.md sources/*.md
var files embed.FS

// A Source is one row of the table of sources.
type Source struct {
	Key, Title, Publisher, Section, Year string
	How                                  string // read, computed, measured, judgement or memory
}

// Sources returns every declared source by its key.
func Sources() map[string]Source {
	out := map[string]Source{}
	err := fs.WalkDir(files, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := files.ReadFile(path)
		if err != nil {
			return err
		}
		for line := range strings.Lines(string(text)) {
			if s, ok := row(line); ok {
				out[s.Key] = s
			}
		}
		return nil
	})
	if err != nil {
		panic(fmt.Sprintf("docs: %v", err)) // the files are embedded at build time
	}
	return out
}

// row reads a line `| key | title | publisher | section | year | how |`; ok is false for any other line.
func row(line string) (Source, bool) {
	line = strings.TrimSpace(line)
	if !strings.HasPrefix(line, "|") {
		return Source{}, false
	}
	cells := strings.Split(strings.Trim(line, "|"), "|")
	if len(cells) != 6 {
		return Source{}, false
	}
	for i, c := range cells {
		cells[i] = strings.TrimSpace(c)
		if cells[i] == "-" {
			cells[i] = ""
		}
	}
	if cells[0] == "key" || strings.Trim(cells[0], "-: ") == "" {
		return Source{}, false
	}
	return Source{cells[0], cells[1], cells[2], cells[3], cells[4], cells[5]}, true
}
