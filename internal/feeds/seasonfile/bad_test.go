package seasonfile_test

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshday/internal/core/problem"
	"threshday/internal/feeds/seasonfile"
)

var update = flag.Bool("update", false, "write the golden texts and the reference page anew")

// golden compares got with a file, or writes it.
func golden(t *testing.T, file, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
		t.Errorf("%s (-want +got); go test -update writes it anew:\n%s", file, diff)
	}
}

// refused reads a file that must be refused and returns why.
func refused(t *testing.T, name string, data []byte) problem.InputErrors {
	t.Helper()
	s, _, err := seasonfile.Read(name, data)
	var errs problem.InputErrors
	if !errors.As(err, &errs) || s != nil {
		t.Fatalf("%s is read: %v, %v", name, s, err)
	}
	return errs
}

// Each file of testdata/bad is refused with the sentences of testdata/bad.golden, in the order of the file.
func TestBadFilesAreRefusedInWords(t *testing.T) {
	files, err := filepath.Glob("testdata/bad/*.toml")
	if err != nil || len(files) == 0 {
		t.Fatal("no bad files: ", err)
	}
	rules := map[string]bool{}
	var catalogue strings.Builder
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&catalogue, "== %s\n", strings.TrimSuffix(filepath.Base(file), ".toml"))
		errs := refused(t, "season.toml", data)
		for _, e := range errs {
			rules[e.Rule] = true
			fmt.Fprintf(&catalogue, "%s [%s]\n", e, e.Rule)
			if e.Where.File == "" || e.Label == "" || e.Want == "" {
				t.Errorf("%s: %+v does not say where, what or what is accepted", file, e)
			}
		}
		if !sort.SliceIsSorted(errs, func(i, j int) bool {
			a, b := errs[i].Where, errs[j].Where
			return a.Line < b.Line || a.Line == b.Line && a.Column < b.Column
		}) {
			t.Errorf("%s: the errors are not in the order of the file", file)
		}
	}
	golden(t, "testdata/bad.golden", catalogue.String())
	for _, rule := range rulesOfThisPackage(t) {
		if !rules[rule] && !elsewhere[rule] {
			t.Errorf("no file of testdata/bad is refused by rule %s", rule)
		}
	}
}

// elsewhere are rules whose cases are too large for a file.
var elsewhere = map[string]bool{"file.size": true, "file.errors": true}

// rulesOfThisPackage returns the names of the rules that the sources refuse by.
func rulesOfThisPackage(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var rules []string
	named := regexp.MustCompile(`(?:refusal\{|refused\(|InputError\{Rule: |why\.rule(?:, why\.next)? = )"([a-z]+\.[a-z-]+)"`)
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		source, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range named.FindAllStringSubmatch(string(source), -1) {
			rules = append(rules, m[1])
		}
	}
	if len(rules) < 30 {
		t.Fatalf("only %d rules found in the sources", len(rules))
	}
	return rules
}

func TestAFileThatIsTooLargeIsNotParsed(t *testing.T) {
	errs := refused(t, "big.toml", bytes.Repeat([]byte("# remark\n"), seasonfile.MaxBytes/9+1))
	if len(errs) != 1 || errs[0].Rule != "file.size" {
		t.Errorf("got %v", errs)
	}
}

func TestAFileFullOfErrorsIsCutShort(t *testing.T) {
	var other bytes.Buffer
	for i := range 1000 {
		fmt.Fprintf(&other, "k%d = 1\n", i)
	}
	errs := refused(t, "other.toml", other.Bytes())
	last := errs[len(errs)-1]
	if len(errs) > 210 || last.Rule != "file.errors" || !strings.Contains(last.Error(), "1001") {
		t.Errorf("got %d errors, the last %v", len(errs), last)
	}
}

// A file that can be used comes with what is doubtful in it, each with the line of the record to open.
func TestDoubtsStandBesideTheSeason(t *testing.T) {
	data, err := os.ReadFile("testdata/doubtful.toml")
	if err != nil {
		t.Fatal(err)
	}
	_, findings, err := seasonfile.Read("season.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, f := range findings {
		fmt.Fprintf(&b, "%s: %s %s [%s, %s]\n", f.Where, f.Say, f.Next, f.Rule, f.Severity)
	}
	golden(t, "testdata/doubtful.golden", b.String())
}

// Line ends of another computer and a byte order mark change nothing but the columns' starting point.
func TestLineEndsAndMarksOfOtherEditorsAreRead(t *testing.T) {
	want, _, err := seasonfile.Read("season.toml", readExample(t))
	if err != nil {
		t.Fatal(err)
	}
	windows := append([]byte("\ufeff"), bytes.ReplaceAll(readExample(t), []byte("\n"), []byte("\r\n"))...)
	got, findings, err := seasonfile.Read("season.toml", windows)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got, equal); diff != "" {
		t.Error(diff)
	}
	if len(findings) == 0 || findings[0].Rule != "file.mark" {
		t.Errorf("the mark is passed over in silence: %v", findings)
	}
}
