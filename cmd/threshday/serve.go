package main

import (
	"fmt"
	"os"
	"path/filepath"
)

// placeFile writes a new file, and its folder where there is none.
func placeFile(path string, text []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fmt.Errorf("make the folder of %s: %w", path, err)
	}
	return createFile(path, text)
}

// scratch makes a folder that is thrown away.
func scratch() (folder string, remove func() error, err error) {
	folder, err = os.MkdirTemp("", "threshday-demo-")
	if err != nil {
		return "", nil, fmt.Errorf("make a folder for the invented farm: %w", err)
	}
	return folder, func() error { return os.RemoveAll(folder) }, nil
}
