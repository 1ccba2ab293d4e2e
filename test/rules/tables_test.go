package rules

import (
	"encoding/csv"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// tables finds the CSV files under testdata whose header has a source column: tables of published values.
func tables(t *testing.T) []string {
	t.Helper()
	var out []string
	err := filepath.WalkDir(filepath.Join(root, "internal"), func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if !strings.HasSuffix(path, ".csv") || !strings.Contains(filepath.ToSlash(path), "/testdata/") {
			return nil
		}
		head, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		first, _, _ := strings.Cut(string(head), "\n")
		for _, cell := range strings.Split(first, ",") {
			if strings.TrimSpace(cell) == "source" {
				out = append(out, path)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func readTable(t *testing.T, path string) []map[string]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	var out []map[string]string
	for _, rec := range records[1:] {
		row := map[string]string{}
		for i, name := range records[0] {
			row[strings.TrimSpace(name)] = strings.TrimSpace(rec[i])
		}
		out = append(out, row)
	}
	return out
}

func TestEveryPublishedValueNamesItsSource(t *testing.T) {
	found := tables(t)
	for _, path := range found {
		for n, row := range readTable(t, path) {
			if row["source"] == "" {
				t.Errorf("%s row %d has no source", path, n+2)
			}
		}
	}
}
