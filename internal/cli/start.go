package cli

import "path/filepath"

type startCmd struct {
	Folder string `arg:"" help:"A folder to make; it must be empty or new." placeholder:"my-farm"`
}

// Explain says what is written.
func (startCmd) Explain() string {
	return "Writes a small farm of three fields into a new folder: a commented season file, example schedules and a weather record to stand in for yours. " +
		"Change a field, a bid or a reading and plan again."
}

type startJSON struct {
	Folder string   `json:"folder"`
	Files  []string `json:"files"`
}

// Answer returns the JSON form.
func (startCmd) Answer() any { return startJSON{} }

// Run writes the files and says what to do next.
func (c startCmd) Run(s *session) error {
	files, err := s.App.Start(c.Folder)
	if err != nil {
		return err
	}
	if s.json {
		return s.print(startJSON{c.Folder, files})
	}
	p := s.printer()
	p.line(p.bold("A farm to change stands in " + c.Folder))
	p.line("")
	season := filepath.Join(c.Folder, "season.toml")
	p.section("Next", []string{"threshday plan " + season, "Change one thing in " + season + " and plan again: the sheet says what it used and why."})
	return p.Flush()
}
