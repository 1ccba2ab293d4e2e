package cli_test

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"io"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"threshday/docs"
	"threshday/internal/app"
	"threshday/internal/cli"
)

var update = flag.Bool("update", false, "write the golden files anew")

// A reply is what one command line gave back.
type reply struct {
	code           int
	stdout, stderr string
}

var sources = sync.OnceValue(docs.Sources)

// run runs one command line as a shell would have split it, with in as the standard input.
func run(in string, args ...string) reply {
	var out, err bytes.Buffer
	all := sources()
	env := &cli.Env{
		Stdin: strings.NewReader(in), Stdout: &out, Stderr: &err, Version: "test",
		Now:  func() time.Time { return time.Date(2031, 10, 1, 12, 0, 0, 0, time.UTC) },
		Open: func(path string) (io.ReadCloser, error) { return os.Open(path) },
		Source: func(key string) (cli.Source, bool) {
			s, ok := all[key]
			return cli.Source{Key: s.Key, Title: s.Title, Publisher: s.Publisher, Year: s.Year, How: s.How}, ok
		},
		App: &app.App{Zone: time.LoadLocation},
	}
	code := cli.Run(context.Background(), args, env)
	return reply{code, out.String(), err.String()}
}

// words splits a command line at spaces; single quotes hold together and are taken off.
func words(line string) []string {
	var out []string
	var word strings.Builder
	quoted := false
	for _, r := range line {
		switch {
		case r == '\'':
			quoted = !quoted
		case r == ' ' && !quoted:
			if word.Len() > 0 {
				out = append(out, word.String())
				word.Reset()
			}
		default:
			word.WriteRune(r)
		}
	}
	if word.Len() > 0 {
		out = append(out, word.String())
	}
	return out
}

// document runs a command line with --json and returns the one document it prints.
func document(t *testing.T, line string) map[string]any {
	t.Helper()
	r := run("", append(words(line), "--json")...)
	if r.code != 0 {
		t.Fatalf("%s: exit %d: %s", line, r.code, r.stderr)
	}
	if r.stderr != "" {
		t.Errorf("%s: standard error is not empty: %s", line, r.stderr)
	}
	dec := json.NewDecoder(strings.NewReader(r.stdout))
	var doc map[string]any
	if err := dec.Decode(&doc); err != nil {
		t.Fatalf("%s: %v in %s", line, err, r.stdout)
	}
	if _, err := dec.Token(); err != io.EOF {
		t.Errorf("%s: more than one document: %s", line, r.stdout)
	}
	return doc
}
