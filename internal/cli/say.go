package cli

import "threshday/internal/app"

// sayFlags name an entry, and why something is said of it.
type sayFlags struct {
	ID  string `arg:"" help:"Id of the entry."`
	Why string `placeholder:"'misread the dial'" help:"The reason, in your own words. Must be given."`
	By  string `placeholder:"Ada" help:"Who says so."`
	bookFlags
}

// said prints what became of something said of a record.
func (f *sayFlags) said(s *session, e *app.Entered, err error, understood string) error {
	if err != nil {
		return err
	}
	return s.tell(e, understood)
}

type voidCmd struct {
	sayFlags
}

// Explain says what a void does.
func (voidCmd) Explain() string {
	return "Takes an entry out of what counts. It stays readable, with who voided it, when and why."
}

// Answer returns the JSON form.
func (voidCmd) Answer() any { return enteredJSON{} }

// Run voids the entry.
func (c voidCmd) Run(s *session) error {
	e, err := s.App.Void(s.ctx, c.data(), c.ID, tidy(c.Why), tidy(c.By))
	return c.said(s, e, err, c.ID+" counts no more")
}

type keepCmd struct {
	sayFlags
}

// Explain says what a keep does.
func (keepCmd) Explain() string {
	return "Says of an entry that waits that it is right as it stands, and of a load that it is another truckload than the one it looks like. From then on it counts."
}

// Answer returns the JSON form.
func (keepCmd) Answer() any { return enteredJSON{} }

// Run keeps the entry.
func (c keepCmd) Run(s *session) error {
	e, err := s.App.Keep(s.ctx, c.data(), c.ID, tidy(c.Why), tidy(c.By))
	return c.said(s, e, err, c.ID+" stands as it is")
}

type mergeCmd struct {
	sayFlags
	Into string `placeholder:"ID" help:"Id of the load that stands for both. Must be given."`
}

// Explain says what a merge does.
func (mergeCmd) Explain() string {
	return "Says that a load is the same truckload as another, entered twice. The other stands for both; both stay readable."
}

// Answer returns the JSON form.
func (mergeCmd) Answer() any { return enteredJSON{} }

// Run merges the two.
func (c mergeCmd) Run(s *session) error {
	if err := need(c.Into != "", "--into", "the id of the load that stands for both"); err != nil {
		return err
	}
	e, err := s.App.Merge(s.ctx, c.data(), c.ID, c.Into, tidy(c.Why), tidy(c.By))
	return c.said(s, e, err, c.Into+" stands for "+c.ID)
}

type undoCmd struct {
	sayFlags
}

// Explain says what an undo does.
func (undoCmd) Explain() string {
	return "Takes back one thing that was said of an entry: a correction, a void, a merge, a keep. The id is that of what is taken back, as history shows it. " +
		"Of two corrections of one version, undo the wrong one."
}

// Answer returns the JSON form.
func (undoCmd) Answer() any { return enteredJSON{} }

// Run takes it back.
func (c undoCmd) Run(s *session) error {
	e, err := s.App.Undo(s.ctx, c.data(), c.ID, tidy(c.Why), tidy(c.By))
	return c.said(s, e, err, c.ID+" is taken back")
}
