// Package cli is the command line: it reads flags, calls one use case, and prints the answer for a person or, with
// --json, as one JSON document. It holds no arithmetic of the trade and opens no file by itself.
//
// A command is a struct whose fields are its flags; its Run method answers. Help, the reference page, the manual page
// and the completions are all made from that tree, see [page].
package cli

import (
	"context"
	"errors"
	"io"
	"reflect"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"threshday/internal/app"
	"threshday/internal/flags"
	"threshday/internal/pencil"
)

// Exit codes that scripts rely on.
const (
	exitAnswered = 0
	exitNoAnswer = 1 // the question has no answer
	exitInput    = 2 // the input cannot be used
	exitWorld    = 3 // file, disk, network, lock
)

// An Env is everything the command line needs from outside.
type Env struct {
	Stdin  io.Reader
	Stdout io.Writer
	Stderr io.Writer
	Color  bool // the standard output is a terminal and NO_COLOR is not set
	Width  int  // columns of the terminal; 0: not a terminal
	// Progress is where a person at a terminal is told that a long command is at work; nil: nowhere.
	Progress io.Writer
	App      *app.App
	// Version of the program, "1.2.3".
	Version string
	Now     func() time.Time
	// Open opens a file for reading. Its error wraps fs.ErrNotExist where there is none.
	Open  func(path string) (io.ReadCloser, error)
	Files Files
	// Create writes a new file, and refuses where one is.
	Create func(path string, text []byte) error
	// Scratch makes a folder that remove takes away again.
	Scratch func() (folder string, remove func() error, err error)
	// Source looks up a key of the table of sources.
	Source func(key string) (Source, bool)
}

// A Source is a text that a figure comes from.
type Source = pencil.Source

// root is the tree of commands.
type root struct {
	JSON bool `name:"json" help:"Print one JSON document on standard output and nothing else."`

	Demo       demoCmd       `cmd:"" help:"Print the day sheet of the built-in, invented farm."`
	Plan       planCmd       `cmd:"" help:"Print the day sheet: which fields to cut or leave, and where each load goes."`
	Start      startCmd      `cmd:"" help:"Write a small farm into a new folder, to change into your own."`
	Outlook    outlookCmd    `cmd:"" help:"Show how wet a field is and will be, hour by hour."`
	Backtest   backtestCmd   `cmd:"" help:"Replay recorded autumns: what the plan, rules of thumb and foresight would have earned."`
	Solve      solveCmd      `cmd:"" help:"Plan a season given as raw tables, to check the planner against other solvers."`
	Import     importCmd     `cmd:"" help:"Put a season file into the data file."`
	Export     exportCmd     `cmd:"" help:"Write the season of the data file as a season file."`
	Weather    weatherCmd    `cmd:"" help:"Fetch, import, show, enter and score the weather that plans stand on."`
	Add        addCmd        `cmd:"" help:"Enter a reading, a stage, a bid, a forecast or a load."`
	Loads      loadsCmd      `cmd:"" help:"List the loads, with what they add up to."`
	Books      booksCmd      `cmd:"" help:"Add the season up: contracts, bins, shares, yields, records, cheques, and what does not agree."`
	History    historyCmd    `cmd:"" help:"Show what was entered, who entered it and what was said of it since."`
	Waiting    waitingCmd    `cmd:"" help:"List what waits for a person to look."`
	Correct    correctCmd    `cmd:"" help:"Correct an entry; the old one stays readable."`
	Void       voidCmd       `cmd:"" help:"Take an entry out of what counts; it stays readable."`
	Keep       keepCmd       `cmd:"" help:"Let an entry that waits stand as it is."`
	Merge      mergeCmd      `cmd:"" help:"Say that two loads in the book are one truckload."`
	Undo       undoCmd       `cmd:"" help:"Take back a correction, a void, a merge or a keep."`
	Backup     backupCmd     `cmd:"" help:"Make a backup that is proved, or list them."`
	Restore    restoreCmd    `cmd:"" help:"Put a backup in the place of the data file."`
	Doctor     doctorCmd     `cmd:"" help:"Check the data file and its backups."`
	Dump       dumpCmd       `cmd:"" help:"Write every entry of the data file as text that other tools can check."`
	Price      priceCmd      `cmd:"" help:"Show what a load nets at every outlet, by moisture, with the break-evens; and whether to dry, sell wet or wait."`
	Schedule   scheduleCmd   `cmd:"" help:"Read a buyer's posted schedule back in words and a picture, paste one, or start from an example."`
	Settle     settleCmd     `cmd:"" help:"Work out what a load pays under a buyer's posted schedule."`
	Audit      auditCmd      `cmd:"" help:"Check a buyer's settlement sheet and name what explains a difference."`
	Pencil     pencil.All    `cmd:"" help:"Sums people do with a pencil; no farm needs to be set up."`
	Serve      serveCmd      `cmd:"" help:"Open the farm's own screen in the browser of this computer."`
	Completion completionCmd `cmd:"" help:"Print the completion script of a shell."`
	Man        manCmd        `cmd:"" help:"Print the manual page."`
	Version    versionCmd    `cmd:"" help:"Print the version."`
}

const purpose = "Decides, each morning of harvest, which fields to cut, which machines go where, and which buyer, contract or bin gets each load; and keeps every load until it all adds up."

// A session is one run of a command.
type session struct {
	*Env
	ctx    context.Context
	json   bool
	metric bool // metric units first
	desk   *pencil.Desk

	heard     map[string]string // what stands after flags of quantities, as it was typed
	given     []string          // the flags on the command line
	busy      *busyLine
	stdinRead bool
	model     *kong.Application
	notes     map[reflect.Type]typeNote
}

// Run parses args (without the program's name), runs the command and returns its exit code.
func Run(ctx context.Context, args []string, env *Env) int {
	busy := startBusy(env.Progress, time.Second)
	defer busy.end()
	with := *env
	with.Stdout, with.Stderr = busy.before(env.Stdout), busy.before(env.Stderr)
	s := &session{Env: &with, ctx: ctx, busy: busy}
	// --json is looked for ahead of parsing, so that a flag nobody knows is answered in the form that was asked for.
	for _, a := range args {
		s.json = s.json || a == "--json"
	}
	if err := s.run(plainWords(args)); err != nil {
		return s.fail(err)
	}
	return exitAnswered
}

// plainWords takes the ways people ask for help and version without knowing the command.
func plainWords(args []string) []string {
	switch {
	case len(args) == 0:
		return []string{"--help"}
	case args[0] == "help":
		return append(args[1:len(args):len(args)], "--help")
	case args[0] == "--version":
		return append([]string{"version"}, args[1:]...)
	}
	return args
}

// errHelp ends a run that has printed help.
var errHelp = errors.New("help was printed")

func (s *session) run(args []string) error {
	var tree root
	parser := s.parser(&tree)
	k, err := parser.Parse(args)
	switch {
	case errors.Is(err, errHelp):
		return nil
	case err != nil:
		return s.usageError(err)
	}
	if err := flags.Doubled(k.Path); err != nil {
		return err
	}
	for _, p := range k.Path {
		if p.Flag != nil {
			s.given = append(s.given, labelOf(p.Flag.Value))
		}
	}
	if lacking := flags.Missing(k.Selected(), s.notes); len(lacking) > 0 {
		return lacking
	}
	s.metric = tree.Pencil.Metric
	s.desk.Metric = tree.Pencil.Metric
	return k.Run()
}

// parser builds the parser of the tree, and with it the model that help is made from.
func (s *session) parser(tree *root) *kong.Kong {
	s.heard = map[string]string{}
	options, notes := flagTypes(func(label, text string) { s.heard[label] = text })
	s.notes = notes
	parser, err := kong.New(tree, append(options,
		kong.Name("threshday"),
		kong.Description(purpose),
		kong.Writers(s.Stdout, s.Stderr),
		kong.WithHyphenPrefixedParameters(true), // --lon -93.5 as well as --lon=-93.5
		kong.Help(func(_ kong.HelpOptions, k *kong.Context) error {
			if err := s.printHelp(k.Selected()); err != nil {
				return err
			}
			return errHelp
		}),
		kong.Bind(s, s.pencils()),
	)...)
	if err != nil {
		panic("cli: " + err.Error()) // the tree of commands itself is wrong: a bug that the first test finds
	}
	parser.Model.HelpFlag.Help = "Print this help."
	s.model = parser.Model
	return parser
}

// usageError turns the parser's complaint into one sentence with what to do. A group of commands named without one of
// them is a question about what there is, and is answered by its help.
func (s *session) usageError(err error) error {
	next := "`threshday --help` lists the commands."
	var p *kong.ParseError
	if errors.As(err, &p) && p.Context != nil && p.Context.Selected() != nil {
		node := p.Context.Selected()
		if p.Context.Error == nil && len(node.Children) > 0 && !s.json {
			return s.printHelp(node)
		}
		next = "`threshday " + node.Path() + " --help` lists what it takes."
	}
	return &commandError{cause: err, say: err.Error(), next: next}
}

// A commandError is a command line that cannot be used.
type commandError struct {
	cause     error
	say, next string
}

func (e *commandError) Error() string { return sentence(e.say) + " " + e.next }

// Unwrap lets what the parser wrapped, a *problem.InputError above all, be found.
func (e *commandError) Unwrap() error { return e.cause }

// sentence gives text a capital and a full stop where it has none.
func sentence(text string) string {
	if text == "" {
		return ""
	}
	if !strings.HasSuffix(text, ".") && !strings.HasSuffix(text, "?") {
		text += "."
	}
	return strings.ToUpper(text[:1]) + text[1:]
}

type versionCmd struct{}

// Run prints the version.
func (versionCmd) Run(s *session) error {
	if s.json {
		return s.print(map[string]string{"version": s.Version})
	}
	_, err := io.WriteString(s.Stdout, "threshday "+s.Version+"\n")
	return err
}
