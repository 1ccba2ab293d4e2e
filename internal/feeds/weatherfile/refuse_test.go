package weatherfile

import (
	"bytes"
	"compress/gzip"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"threshday/internal/core/problem"
)

var rewrite = flag.Bool("rewrite", false, "write the messages of the catalogue anew")

// cases reads testdata/refused.txt: a case begins with "== name [strict] [zone]", then the file's lines, then
// "--" and the message. "\" at the end of a file's text leaves out the last line break.
type refusedCase struct {
	name, head, file, message string
}

func refusedCases(t *testing.T, path string) []refusedCase {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var out []refusedCase
	for _, part := range strings.Split(string(text), "== ")[1:] {
		head, rest, _ := strings.Cut(part, "\n")
		file, message, ok := strings.Cut(rest, "--\n")
		if !ok {
			t.Fatalf("%s: case %q has no message", path, head)
		}
		name, _, _ := strings.Cut(head, " [")
		file = strings.TrimSuffix(file, "\\\n")
		out = append(out, refusedCase{name, head, file, strings.TrimSpace(message)})
	}
	return out
}

func (c refusedCase) options(t *testing.T) Options {
	o := Options{Strict: strings.Contains(c.head, "[strict]")}
	if strings.Contains(c.head, "[zone]") {
		zone, err := time.LoadLocation("America/Chicago")
		if err != nil {
			t.Fatal(err)
		}
		o.Zone = zone
	}
	return o
}

// Every kind of file that is refused, with the words a person gets.
func TestRefusalsSayWhatWhereAndWhatToDo(t *testing.T) {
	path := filepath.Join("testdata", "refused.txt")
	cases := refusedCases(t, path)
	var again strings.Builder
	for _, c := range cases {
		s, _, err := Read(strings.NewReader(c.file), "w.csv", c.options(t))
		var input *problem.InputError
		if s != nil || !errors.As(err, &input) || input.Rule == "" || input.Where.File == "" {
			t.Errorf("%s: got %v, %v; want an input error with rule and file", c.name, s, err)
			continue
		}
		again.WriteString("== " + c.head + "\n" + c.file)
		if !strings.HasSuffix(c.file, "\n") {
			again.WriteString("\\\n")
		}
		again.WriteString("--\n" + err.Error() + "\n\n")
		if err.Error() != c.message && !*rewrite {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, err, c.message)
		}
	}
	if *rewrite {
		if err := os.WriteFile(path, []byte(again.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func TestCompressedFileCutShortIsRefused(t *testing.T) {
	raw, err := os.ReadFile(champaign)
	if err != nil {
		t.Fatal(err)
	}
	var input *problem.InputError
	if _, _, err := Read(bytes.NewReader(raw[:len(raw)/2]), "w.csv.gz", Options{}); !errors.As(err, &input) || input.Got != "cut short" {
		t.Errorf("half a file: %v", err)
	}
	broken := bytes.Clone(raw)
	broken[len(broken)-6] ^= 1 // checksum
	if _, _, err := Read(bytes.NewReader(broken), "w.csv.gz", Options{}); !errors.As(err, &input) || input.Got != "damaged" {
		t.Errorf("wrong checksum: %v", err)
	}
}

func TestCompressedFloodIsRefused(t *testing.T) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write(bytes.Repeat([]byte("0"), 3<<20)); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	var input *problem.InputError
	if _, err := unpack(&packed, "flood.gz", 1<<20); !errors.As(err, &input) || input.Rule != "weather.size" {
		t.Errorf("got %v", err)
	}
}

func TestMissingFileIsTheWorldsFault(t *testing.T) {
	_, _, err := Open(filepath.Join(t.TempDir(), "none.csv"), Options{})
	var input *problem.InputError
	if !errors.Is(err, os.ErrNotExist) || errors.As(err, &input) {
		t.Errorf("got %v", err)
	}
}

func TestRefusalsStopAtTwenty(t *testing.T) {
	text := "time_utc,temp_c\n" + strings.Repeat("2030-09-14T00:00,warm\n", 50)
	_, _, err := Read(strings.NewReader(text), "w.csv", Options{})
	var list problem.InputErrors
	if !errors.As(err, &list) || len(list) != mostErrors {
		t.Errorf("got %d problems, want %d", len(list), mostErrors)
	}
}
