package app_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"threshday/internal/app"
	"threshday/internal/demo"
)

// kept returns the app with a clock, and a folder with the starter farm in it.
func kept(t *testing.T) (*app.App, string) {
	t.Helper()
	a := wired(t)
	now := time.Date(2004, 10, 6, 12, 0, 0, 0, time.UTC)
	a.Now = func() time.Time { now = now.Add(time.Minute); return now }
	dir := t.TempDir()
	files, err := demo.Starter()
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return a, dir
}
