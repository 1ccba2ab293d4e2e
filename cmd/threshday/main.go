// Command threshday decides, each morning of harvest, what to cut and where it goes, and keeps every load. This file
// only joins the parts: the files to the readers, the readers to the use cases, those to the command line.
package main

import (
	"context"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"sync"
	"syscall"
	"time"
	_ "time/tzdata" // the program carries its own time zones

	"golang.org/x/term"

	"threshday/docs"
	"threshday/internal/cli"
)

// version is set by the release build: -ldflags "-X main.version=1.2.3".
var version string

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends the program at once
	code := cli.Run(ctx, os.Args[1:], environment())
	stop()
	os.Exit(code)
}

func environment() *cli.Env {
	env := &cli.Env{
		Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr,
		Version: buildVersion(),
		Now:     time.Now,
		Open:    func(path string) (io.ReadCloser, error) { return os.Open(path) }, //nolint:gosec // the person names the file
		Create:  createFile,
		Scratch: scratch,
		Source:  source(),
		App:     useCases(),
		Files:   files(),
	}
	if out := int(os.Stdout.Fd()); term.IsTerminal(out) {
		_, noColor := os.LookupEnv("NO_COLOR")
		env.Color = !noColor && os.Getenv("TERM") != "dumb"
		if width, _, err := term.GetSize(out); err == nil {
			env.Width = width
		}
	}
	if term.IsTerminal(int(os.Stderr.Fd())) {
		env.Progress = os.Stderr
	}
	return env
}

// source looks up the table of sources, read at the first question.
func source() func(key string) (cli.Source, bool) {
	all := sync.OnceValue(docs.Sources)
	return func(key string) (cli.Source, bool) {
		s, ok := all()[key]
		return cli.Source{Key: s.Key, Title: s.Title, Publisher: s.Publisher, Year: s.Year, How: s.How}, ok
	}
}

// buildVersion returns the version of the release, or what the build knows of itself.
func buildVersion() string {
	if version != "" {
		return version
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	for _, set := range info.Settings {
		if set.Key == "vcs.revision" {
			return "development at " + set.Value[:min(12, len(set.Value))]
		}
	}
	return "development"
}
