package rules

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// A key is lower case with at least one digit or hyphen, or the word judgement, in square brackets.
var (
	keyInText = regexp.MustCompile(`\[([a-z][a-z0-9]*(?:-[a-z0-9]+)*)\]`)
	keyInCSV  = regexp.MustCompile(`^[a-z][a-z0-9]*(?:-[a-z0-9]+)*$`)
	hows      = []string{"read", "computed", "measured", "judgement", "memory"}
)

func isKey(s string) bool {
	return s == "judgement" || strings.ContainsAny(s, "-0123456789")
}

// declared reads the tables `| key | title | publisher | section | year | how |`.
func declared(t *testing.T) map[string]string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(root, "docs/sources/*.md"))
	if err != nil {
		t.Fatal(err)
	}
	files = append(files, filepath.Join(root, "docs/sources.md"))
	out := map[string]string{}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for n, line := range strings.Split(string(text), "\n") {
			if !strings.HasPrefix(line, "|") || strings.HasPrefix(line, "| key") || strings.HasPrefix(line, "|--") || strings.HasPrefix(line, "| -") {
				continue
			}
			cells := strings.Split(strings.Trim(strings.TrimSpace(line), "|"), "|")
			for i := range cells {
				cells[i] = strings.TrimSpace(cells[i])
			}
			key := strings.Trim(cells[0], "`[]")
			if len(cells) != 6 || !keyInCSV.MatchString(key) || !isKey(key) {
				t.Errorf("%s:%d: not a row `| key | title | publisher | section | year | how |`: %s", file, n+1, line)
				continue
			}
			if !slices.Contains(hows, cells[5]) {
				t.Errorf("%s:%d: %s was %q; say one of %v", file, n+1, key, cells[5], hows)
			}
			if first, twice := out[key]; twice {
				t.Errorf("%s:%d: %s is declared in %s already", file, n+1, key, first)
			}
			out[key] = filepath.Base(file)
		}
	}
	return out
}

func TestEveryCitationResolvesAndEverySourceIsUsed(t *testing.T) {
	known := declared(t)
	used := map[string]bool{}
	use := func(key, where string) {
		used[key] = true
		if _, ok := known[key]; !ok {
			t.Errorf("%s cites [%s], which docs/sources does not declare", where, key)
		}
	}
	for _, path := range append(goFiles(t, "internal"), goFiles(t, "test")...) {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(string(text), "\n") {
			_, comment, ok := strings.Cut(line, "//")
			if !ok {
				continue
			}
			for _, m := range keyInText.FindAllStringSubmatch(comment, -1) {
				if isKey(m[1]) {
					use(m[1], path)
				}
			}
		}
		for _, m := range regexp.MustCompile(`(?:Key|Source):\s*"([^"]+)"`).FindAllStringSubmatch(string(text), -1) {
			if keyInCSV.MatchString(m[1]) && isKey(m[1]) {
				used[m[1]] = true
			}
		}
	}
	for _, path := range tables(t) {
		for n, row := range readTable(t, path) {
			for _, key := range strings.Fields(row["source"]) {
				key = strings.Trim(key, "[],;")
				if keyInCSV.MatchString(key) && isKey(key) {
					use(key, path)
				} else {
					t.Errorf("%s row %d: %q is not a source key", path, n+2, key)
				}
			}
		}
	}
	for key, file := range known {
		if !used[key] {
			t.Errorf("docs: %s declares [%s], which nothing uses", file, key)
		}
	}
}
