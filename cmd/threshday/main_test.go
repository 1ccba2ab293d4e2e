package main

import (
	"encoding/json"
	"errors"
	"flag"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write the expected output into the scripts anew")

// TestMain makes this test binary the program itself where a script runs threshday.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"threshday": main})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("..", "..", "test", "scripts"),
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "idof": idof, "patch": patch, "hold": hold},
	})
}

// exits runs a command and holds its exit code against the first argument: `exits 2 threshday plan`.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND ARGS…")
	}
	want, err := strconv.Atoi(args[0])
	if err != nil {
		ts.Fatalf("usage: exits CODE COMMAND ARGS…")
	}
	got := 0
	var failed *exec.ExitError
	switch err := ts.Exec(args[1], args[2:]...); {
	case errors.As(err, &failed):
		got = failed.ExitCode()
	case err != nil:
		ts.Fatalf("%s: %v", args[1], err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// idof puts the id of the newest entry of a kind in a data file into $ID: `idof farm.db reading.recorded`.
func idof(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: idof FILE KIND")
	}
	if err := ts.Exec("threshday", "history", "--data", args[0], "--json"); err != nil {
		ts.Fatalf("history: %v", err)
	}
	var doc struct {
		Entries []struct{ ID, Kind string }
	}
	if err := json.Unmarshal([]byte(ts.ReadFile("stdout")), &doc); err != nil {
		ts.Fatalf("history: %v", err)
	}
	for _, e := range doc.Entries {
		if e.Kind == args[1] {
			ts.Setenv("ID", e.ID)
		}
	}
}
