package cli_test

import (
	"encoding/json"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"threshday/internal/cli"
)

func TestReferencePageIsThatOfTheTree(t *testing.T) {
	path := filepath.Join("..", "..", "docs", "reference", "cli.md")
	got := cli.Reference()
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("docs/reference/cli.md is not what the commands say; `go test ./internal/cli -update` writes it")
	}
}

// examples yields every command line the help shows, as the reference page repeats them.
func examples(t *testing.T) iter.Seq[string] {
	page := cli.Reference()
	return func(yield func(string) bool) {
		for line := range strings.Lines(page) {
			if rest, ok := strings.CutPrefix(strings.TrimSpace(line), "threshday "); ok {
				if !yield(rest) {
					return
				}
			}
		}
	}
}

// commands returns the path of every command on the reference page.
func commands(t *testing.T) []string {
	var out []string
	for line := range strings.Lines(cli.Reference()) {
		if rest, ok := strings.CutPrefix(strings.TrimLeft(line, "#"), " threshday "); ok && strings.HasPrefix(line, "#") {
			out = append(out, strings.TrimSpace(rest))
		}
	}
	return out
}

func TestEveryCommandHasHelpThatFitsTheScreen(t *testing.T) {
	found := commands(t)
	if len(found) < 20 {
		t.Fatalf("only %d commands: %v", len(found), found)
	}
	for _, c := range append(found, "") {
		r := run("", append(words(c), "--help")...)
		if r.code != 0 || r.stderr != "" {
			t.Errorf("%s --help: exit %d, %s", c, r.code, r.stderr)
		}
		if !strings.HasPrefix(r.stdout, strings.TrimSpace("threshday "+c)) {
			t.Errorf("%s --help begins with %.60q", c, r.stdout)
		}
		for n, line := range strings.Split(r.stdout, "\n") {
			if len([]rune(line)) > 100 && n > 0 && !strings.HasPrefix(line, "  threshday ") {
				t.Errorf("%s --help: line %d is %d wide: %s", c, n+1, len([]rune(line)), line)
			}
		}
		if other := run("", append([]string{"help"}, words(c)...)...); other.stdout != r.stdout {
			t.Errorf("help %s is not %s --help", c, c)
		}
	}
}

// behind are the keys of what stands behind every pencil's result.
var behind = []string{"formula", "sources", "assumed", "cautions"}

func TestEveryKeyOfAnAnswerIsOnTheReferencePage(t *testing.T) {
	page := cli.Reference()
	for line := range examples(t) {
		name := strings.Join(words(line)[:2], " ")
		_, section, ok := strings.Cut(page, "# threshday "+name+"\n")
		if !ok || !strings.HasPrefix(line, "pencil ") {
			continue
		}
		section, _, _ = strings.Cut(section, "\n#")
		for key, value := range document(t, line) {
			if slices.Contains(behind, key) { // said once, at pencil
				continue
			}
			if !strings.Contains(section, "`"+key) {
				t.Errorf("%s: key %s (%v) is not on the page", name, key, value)
			}
		}
	}
}

func TestManualPageNamesEveryCommand(t *testing.T) {
	r := run("", "man")
	if r.code != 0 || !strings.HasPrefix(r.stdout, ".TH THRESHDAY 1") {
		t.Fatalf("exit %d: %.80s", r.code, r.stdout)
	}
	for _, c := range commands(t) {
		heading := ".SH THRESHDAY " + strings.ToUpper(strings.ReplaceAll(c, "-", `\-`)) + "\n"
		if !strings.Contains(r.stdout, heading) {
			t.Errorf("no %q", heading)
		}
	}
}

func TestErrorsAreOneJSONDocumentOnStandardError(t *testing.T) {
	for _, c := range []struct {
		line string
		code int
		rule string
	}{
		{"pencil emc --crop soybean --temp 77 --rh 65", 2, "unit.missing"},
		{"pencil emc --crop soybean --temp 77K --rh 65", 2, "unit.unknown"},
		{"pencil emc --crop soybean --temp 77F --rh 165", 2, "flag.range"},
		{"pencil emc --crop soya --temp 77F --rh 65", 2, "crop.unknown"},
		{"pencil emc --crop soybean --temp 77F", 2, "flag.missing"},
		{"pencil emc --crop soybean --temp 77F --temp 78F --rh 65", 2, "flag.doubled"},
		{"pencil emc --crop soybean --temp --rh 65", 2, "flag.empty"},
		{"pencil emc --crop barley --temp 60F --rh 40", 1, "emc.curves-disagree"},
		{"pencil emc --crop soybean --temp 77F --rh 65 --frm halsey", 2, "command.usage"},
		{"pencil emx", 2, "command.usage"},
		{"pencil", 2, "command.usage"},
		{"pencil queue --arrivals-per-hour 20 --served-per-hour 10 --pits 2", 1, "queue.unbounded"},
	} {
		r := run("", append(words(c.line), "--json")...)
		if r.code != c.code || r.stdout != "" {
			t.Errorf("%s: exit %d, want %d; standard output %q", c.line, r.code, c.code, r.stdout)
		}
		var doc struct {
			Error struct{ Rule, Severity, Say string } `json:"error"`
		}
		if err := json.Unmarshal([]byte(r.stderr), &doc); err != nil {
			t.Errorf("%s: %v in %q", c.line, err, r.stderr)
			continue
		}
		if doc.Error.Rule != c.rule || doc.Error.Severity != "error" || doc.Error.Say == "" {
			t.Errorf("%s: %+v, want rule %s", c.line, doc.Error, c.rule)
		}
	}
}

// What help shows after a flag is itself accepted there, and within the flag's own range.
func TestEveryPlaceholderIsAccepted(t *testing.T) {
	for name, flags := range cli.CommandFlags() {
		for _, f := range flags {
			if !f.Value || !strings.HasPrefix(name, "pencil ") {
				continue
			}
			args := append(words(name), words(f.Example)...)
			if len(args) != 4 {
				t.Errorf("%s: help shows %q, not a flag and a value", name, f.Example)
				continue
			}
			var got complaint
			r := run("", append(args, "--json")...)
			if r.stderr == "" {
				continue // it needed nothing else
			}
			if err := json.Unmarshal([]byte(r.stderr), &got); err != nil {
				t.Fatalf("%s: %v in %s", name, err, r.stderr)
			}
			if got.Error.Label == f.Name && got.Error.Rule != "flag.crop" {
				t.Errorf("%s %s: %s", name, f.Example, got.Error.Say)
			}
		}
	}
}
