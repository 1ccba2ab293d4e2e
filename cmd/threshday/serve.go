package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"threshday/internal/core/problem"
	"threshday/internal/store/sqlite"
)

// placeFile writes a new file onto the disk, whole or not at all, and its folder where there is none.
func placeFile(path string, text []byte) error {
	folder := filepath.Dir(path)
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return fmt.Errorf("make the folder of %s: %w", path, err)
	}
	if _, err := os.Lstat(path); err == nil {
		return &problem.InputError{Rule: "file.exists", Label: "file", Got: path, Want: "the name of a file that does not exist yet", Next: "Nothing was written. Name another."}
	}
	to, err := os.CreateTemp(folder, ".new-*")
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	_, err = to.Write(text)
	err = errors.Join(err, to.Sync(), to.Close())
	if err == nil {
		err = os.Rename(to.Name(), path)
	}
	if err != nil {
		_ = os.Remove(to.Name()) // the first error is the one to tell
		return fmt.Errorf("write %s: %w", path, err)
	}
	if err := sqlite.SyncDir(folder); err != nil {
		return fmt.Errorf("sync the folder %s: %w", folder, err)
	}
	return nil
}

// scratch makes a folder that is thrown away.
func scratch() (folder string, remove func() error, err error) {
	folder, err = os.MkdirTemp("", "threshday-demo-")
	if err != nil {
		return "", nil, fmt.Errorf("make a folder for the invented farm: %w", err)
	}
	return folder, func() error { return os.RemoveAll(folder) }, nil
}
