package cli

import (
	"slices"
	"strings"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/feeds/quantity"
)

// bookFlags name the data file.
type bookFlags struct {
	Data dataname `env:"THRESHDAY_DATA" default:"farm.db" placeholder:"farm.db" help:"The data file of the farm; also read from THRESHDAY_DATA."`
}

func (b *bookFlags) data() string { return string(b.Data) }

// whoFlags say who enters something.
type whoFlags struct {
	By string `placeholder:"Ada" help:"Who enters it."`
	ID string `name:"id" placeholder:"UUID" help:"For scripts: an id of your own making, a UUID in lower case. Sent again with the same id it counts once."`
}

// signed returns who signs; timed says whether the entry names its own time. Without one the same command would say
// something else each time it is sent.
func (w *whoFlags) signed(timed bool, flag string) (app.Signed, error) {
	if w.ID != "" && !timed {
		return app.Signed{}, refuse("flag.together", "--id", "--id needs "+flag+" beside it.", "Sent again later without one, the entry would say another time.")
	}
	if w.ID != "" && !journal.ID(w.ID).Valid() {
		return app.Signed{}, &problem.InputError{Rule: "entry.id", Label: "--id", Got: w.ID, Want: "a UUID in lower case, as 01a212aa-397a-7a11-b9a3-ee2d1028c9d9"}
	}
	return app.Signed{By: tidy(w.By), ID: w.ID}, nil
}

// atFlags say when something was.
type atFlags struct {
	At string `placeholder:"'2031-09-13 14:20'" help:"When it was, on the farm's clock or with an offset; left out: now."`
}

// when resolves --at on the farm's clock.
func (w *atFlags) when(clock app.Clock) (time.Time, error) {
	if w.At == "" {
		return clock.Now.Truncate(time.Second), nil
	}
	return quantity.ParseInstant("--at", w.At, clock.Zone)
}

// tidy takes from a text what nobody can see and the spaces around it.
func tidy(text string) string { return strings.TrimSpace(journal.Clean(text)) }

// put sets a text that was given.
func put(to *string, given string) {
	if given = tidy(given); given != "" {
		*to = given
	}
}

// enteredJSON is the answer to one entry.
type enteredJSON = answer.Entered

// tell prints that an entry is in the book, what was understood, and what is doubtful.
func (s *session) tell(e *app.Entered, understood string) error {
	if s.json {
		return s.print(answer.OfEntered(e))
	}
	p := s.printer()
	lead := "In the book: "
	if e.Again {
		lead = "Was in the book already: "
	}
	p.hung("", p.bold(lead)+understood)
	p.section("Id", []string{e.ID})
	p.section("Data", []string{e.Data})
	p.section("Look at", lookAt(e.Doubts))
	if e.Review {
		p.wrapped("", "It waits for a person: threshday correct, void, keep or merge says what holds; threshday waiting lists all that waits.")
	}
	return p.Flush()
}

// lookAt returns doubts as lines, each led by the record to open where there is one.
func lookAt(doubts []problem.Finding) []string {
	var out []string
	for _, f := range doubts {
		line := strings.TrimSpace(sentence(f.Say) + " " + f.Next)
		if at := f.Where.String(); at != "" {
			line = at + ": " + line
		}
		out = append(out, line)
	}
	return out
}

// typed keeps numbers as they stand on the command line, by the key of the body: pairs of key and flag.
func (s *session) typed(pairs ...string) journal.Typed {
	out := journal.Typed{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if text := tidy(s.heard[pairs[i+1]]); text != "" {
			out[pairs[i]] = text
		}
	}
	return out
}

// retyped returns what was typed before, with what is typed now in its place.
func retyped(before, now journal.Typed) journal.Typed {
	out := journal.Typed{}
	for _, t := range []journal.Typed{before, now} {
		for k, v := range t {
			out[k] = v
		}
	}
	return out
}

// need returns the complaint of a flag that an entry cannot do without.
func need(given bool, flag, want string) error {
	if given {
		return nil
	}
	return &problem.InputError{Rule: "flag.missing", Label: flag, Want: want}
}

func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// oneOfWords refuses a word that is not one of those.
func oneOfWords(flag, got string, words ...string) error {
	if slices.Contains(words, got) {
		return nil
	}
	known := slices.DeleteFunc(slices.Clone(words), func(w string) bool { return w == "" })
	return &problem.InputError{Rule: "flag.word", Label: flag, Got: got, Want: oneOf(known)}
}
