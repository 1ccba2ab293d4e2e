//go:build linux && mounts

package store_test

import (
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"

	"threshday/internal/store"
	"threshday/internal/store/sqlite"
)

// These tests mount small disks and need the rights for it: go test -tags mounts ./internal/store, as root.

// disk mounts a disk of 12 MB of the given file system and returns its folder.
func disk(t *testing.T, system string) string {
	t.Helper()
	dir := t.TempDir()
	what, options := "tmpfs", "size=12m"
	if system != "tmpfs" {
		what, options = filepath.Join(t.TempDir(), "disk.img"), "loop"
		if err := os.WriteFile(what, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Truncate(what, 12<<20); err != nil {
			t.Fatal(err)
		}
		run(t, "mkfs."+system, "-q", what)
	}
	run(t, "mount", "-t", system, "-o", options, what, dir)
	t.Cleanup(func() { run(t, "umount", dir) })
	return dir
}

func run(t *testing.T, name string, args ...string) {
	t.Helper()
	if text, err := exec.Command(name, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, text)
	}
}

// fill takes all the room there is and returns how to give it back.
func fill(t *testing.T, dir string) (release func()) {
	t.Helper()
	name := filepath.Join(dir, "filler")
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	for size := 1 << 20; size > 0; {
		if _, err := f.Write(make([]byte, size)); errors.Is(err, syscall.ENOSPC) {
			size /= 2
		} else if err != nil {
			t.Fatal(err)
		}
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return func() {
		if err := os.Remove(name); err != nil {
			t.Fatal(err)
		}
	}
}

func TestAFullDisk(t *testing.T) {
	for _, system := range []string{"tmpfs", "ext4"} {
		t.Run(system, func(t *testing.T) {
			dir := disk(t, system)
			s := open(t, filepath.Join(dir, "book.db"), options())
			n := 0
			want := int64(0)
			enter := func() error {
				n++
				_, err := s.Append(t.Context(), load(n, nil))
				if err == nil {
					want += 40_000 + int64(n)
				}
				return err
			}
			for range 20 {
				if err := enter(); err != nil {
					t.Fatal(err)
				}
			}
			release := fill(t, dir)
			var err error
			for range 5000 {
				if err = enter(); err != nil {
					break
				}
			}
			if sqlite.Of(err) != sqlite.Full {
				t.Fatalf("after %d entries: got %v, want a full disk", n, err)
			}
			if _, err := s.Backup(t.Context(), "asked"); sqlite.Of(err) != sqlite.Full {
				t.Errorf("backup: got %v, want a full disk", err)
			}
			if got := pounds(t, s); got != want {
				t.Errorf("while full: %d lb, want %d", got, want)
			}
			if page, _, _, err := s.Loads(t.Context(), store.LoadQuery{Farm: "home"}); err != nil || len(page) == 0 {
				t.Errorf("while full: %d loads, %v", len(page), err)
			}
			release()
			n-- // the same entry, sent again
			if err := enter(); err != nil {
				t.Errorf("after there was room again, with no restart: %v", err)
			}
			if got := pounds(t, s); got != want {
				t.Errorf("in the end: %d lb, want %d", got, want)
			}
			sound(t, s)
		})
	}
}

func TestStartingOnAFullDisk(t *testing.T) {
	for _, system := range []string{"tmpfs", "ext4"} {
		t.Run(system, func(t *testing.T) {
			dir := disk(t, system)
			path := filepath.Join(dir, "book.db")
			s, err := store.Open(t.Context(), path, options())
			if err != nil {
				t.Fatal(err)
			}
			put(t, s, load(1, nil))
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			release := fill(t, dir)
			if s, err = store.Open(t.Context(), path, options()); err != nil {
				t.Fatal(err)
			}
			if got := pounds(t, s); got != 40_001 {
				t.Errorf("while full: %d lb, want 40001", got)
			}
			if _, err := s.Append(t.Context(), load(2, nil)); sqlite.Of(err) != sqlite.Full {
				t.Errorf("while full: got %v, want a refusal", err)
			}
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			release()
			put(t, open(t, path, options()), load(2, nil))
		})
	}
}

func TestAReadOnlyDisk(t *testing.T) {
	for name, clean := range map[string]bool{"closed properly": true, "with a log": false} {
		t.Run(name, func(t *testing.T) {
			dir := disk(t, "tmpfs")
			path := filepath.Join(dir, "book.db")
			from := fresh(t)
			put(t, from, load(1, nil), load(2, nil))
			if clean {
				if err := from.Close(); err != nil {
					t.Fatal(err)
				}
				run(t, "cp", from.Path(), path)
			} else {
				crash(t, from.Path(), path)
			}
			run(t, "mount", "-o", "remount,ro", dir)
			s := open(t, path, options())
			if sqlite.Of(s.ReadOnly()) != sqlite.ReadOnly {
				t.Errorf("got %v, want a store that only reads", s.ReadOnly())
			}
			if got := pounds(t, s); got != 80_003 {
				t.Errorf("got %d lb, want 80003", got)
			}
			if _, err := s.Append(t.Context(), load(3, nil)); sqlite.Of(err) != sqlite.ReadOnly {
				t.Errorf("got %v, want a refusal", err)
			}
			if err := s.Dump(t.Context(), io.Discard); err != nil {
				t.Error(err)
			}
		})
	}
}
