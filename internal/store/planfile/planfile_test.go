package planfile_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"threshday/internal/store/planfile"
)

func save(t *testing.T, f planfile.Folder, name, text string) {
	t.Helper()
	if err := f.Save(name, []byte(text)); err != nil {
		t.Fatal(err)
	}
}

// newest returns the newest n plans as one line.
func newest(t *testing.T, f planfile.Folder, n int) string {
	t.Helper()
	all, err := f.Newest(n)
	if err != nil {
		t.Fatal(err)
	}
	return string(bytes.Join(all, []byte(" ")))
}

func TestTheNewestPlansComeFirstWhateverTheOrderTheyWereKeptIn(t *testing.T) {
	f := planfile.Beside(filepath.Join(t.TempDir(), "farm.db"))
	if got := newest(t, f, 3); got != "" {
		t.Errorf("of no folder: %q", got)
	}
	for _, day := range []string{"20310915", "20310917", "20310914", "20310916"} {
		save(t, f, day, day[6:])
	}
	for n, want := range map[int]string{0: "", 1: "17", 3: "17 16 15", 9: "17 16 15 14"} {
		if got := newest(t, f, n); got != want {
			t.Errorf("newest %d: %q, want %q", n, got, want)
		}
	}
	save(t, f, "20310917", "again")
	if got := newest(t, f, 1); got != "again" {
		t.Errorf("kept anew under its name: %q", got)
	}
}

func TestOnlySoManyAreKept(t *testing.T) {
	f := planfile.Beside(filepath.Join(t.TempDir(), "farm.db"))
	for i := range planfile.Keep + 5 {
		save(t, f, fmt.Sprintf("%04d", i), fmt.Sprint(i))
	}
	all, err := f.Newest(1000)
	if err != nil || len(all) != planfile.Keep || string(all[planfile.Keep-1]) != "5" {
		t.Errorf("%d plans, %v; the oldest is %q, want plan 5 of %d", len(all), err, all[len(all)-1], planfile.Keep)
	}
}

// A plan that is cut short, overwritten, empty, a folder or left half written counts as none, and the one before it shows.
func TestADamagedPlanCountsAsNone(t *testing.T) {
	whole := strings.Repeat("every field in every weather ", 1000)
	for name, damage := range map[string]func(path string) error{
		"cut short":      func(path string) error { return os.Truncate(path, 60) },
		"empty":          func(path string) error { return os.Truncate(path, 0) },
		"no longer gzip": func(path string) error { return os.WriteFile(path, []byte(whole), 0o600) },
		"a byte flipped": func(path string) error {
			text, err := os.ReadFile(path)
			if err == nil {
				text[len(text)/2] ^= 0x10
				err = os.WriteFile(path, text, 0o600)
			}
			return err
		},
		"a folder": func(path string) error {
			if err := os.Remove(path); err != nil {
				return err
			}
			return os.Mkdir(path, 0o700)
		},
	} {
		t.Run(name, func(t *testing.T) {
			f := planfile.Beside(filepath.Join(t.TempDir(), "farm.db"))
			save(t, f, "1", "before")
			save(t, f, "2", whole)
			if err := os.WriteFile(filepath.Join(string(f), ".new-123"), []byte("half"), 0o600); err != nil {
				t.Fatal(err)
			}
			if got := newest(t, f, 1); got != whole {
				t.Fatalf("undamaged it reads %.20q", got)
			}
			if err := damage(filepath.Join(string(f), "2.json.gz")); err != nil {
				t.Fatal(err)
			}
			if got := newest(t, f, 2); got != "before" {
				t.Errorf("got %.40q", got)
			}
		})
	}
}

func TestWhereNothingCanBeWrittenThePlanSaysSo(t *testing.T) {
	at := filepath.Join(t.TempDir(), "farm.db")
	if err := os.WriteFile(at+".plans", nil, 0o600); err != nil { // a file stands where the folder should
		t.Fatal(err)
	}
	if err := planfile.Beside(at).Save("1", []byte("x")); err == nil || !strings.Contains(err.Error(), "keep the plan") {
		t.Errorf("%v", err)
	}
	if _, err := planfile.Beside(at).Newest(1); err == nil {
		t.Error("a file is read as a folder")
	}
}

func TestANameIsNoPath(t *testing.T) {
	for _, name := range []string{"", "../1", "a/b", `a\b`} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%q is taken", name)
				}
			}()
			_ = planfile.Folder(t.TempDir()).Save(name, nil)
		}()
	}
}
