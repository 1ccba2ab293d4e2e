// Package planfile keeps the plans that were made, beside the data file: one packed file each, named by when it was made, so
// that the last plan shows at once after a restart and what changed since the one before can be told.
//
// A plan follows from the book, the files that the season names and a seed; it is kept for speed and for later years, not as
// a record. A file that is damaged counts as none. The package knows no plan: it keeps text.
package planfile

import (
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Keep is how many plans are kept. A plan with the outlooks of fifteen fields takes some 200 kB. [judgement]
const Keep = 40

// mostBytes bounds what is unpacked from one file.
const mostBytes = 256 << 20

const ending = ".json.gz"

// A Folder holds plans.
type Folder string

// Beside returns the folder of the plans of a data file.
func Beside(data string) Folder { return Folder(data + ".plans") }

// Save keeps a plan under a name that sorts by when it was made, and deletes the oldest beyond Keep. The file is there whole
// or not at all.
func (f Folder) Save(name string, text []byte) error {
	if name == "" || strings.ContainsAny(name, `/\`) {
		panic("planfile: " + name + " is no name")
	}
	if err := os.MkdirAll(string(f), 0o700); err != nil {
		return fmt.Errorf("keep the plan: %w", err)
	}
	if err := f.write(name+ending, text); err != nil {
		return fmt.Errorf("keep the plan: %w", err)
	}
	names, err := f.names()
	if err != nil {
		return fmt.Errorf("look over the plans kept: %w", err)
	}
	for _, old := range names[min(Keep, len(names)):] {
		if err := os.Remove(filepath.Join(string(f), old)); err != nil {
			return fmt.Errorf("delete an old plan: %w", err)
		}
	}
	return nil
}

func (f Folder) write(name string, text []byte) error {
	to, err := os.CreateTemp(string(f), ".new-*")
	if err != nil {
		return err
	}
	z := gzip.NewWriter(to)
	_, err = z.Write(text)
	err = errors.Join(err, z.Close(), to.Sync(), to.Close())
	if err == nil {
		err = os.Rename(to.Name(), filepath.Join(string(f), name))
	}
	if err != nil {
		return errors.Join(err, os.Remove(to.Name()))
	}
	return nil
}

// names returns the files of plans, the newest first.
func (f Folder) names() ([]string, error) {
	all, err := os.ReadDir(string(f))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	var out []string
	for _, e := range all {
		if strings.HasSuffix(e.Name(), ending) {
			out = append(out, e.Name())
		}
	}
	slices.Sort(out)
	slices.Reverse(out)
	return out, err
}

// Newest returns the newest plans that can be read, at most n of them, the newest first.
func (f Folder) Newest(n int) ([][]byte, error) {
	names, err := f.names()
	if err != nil {
		return nil, fmt.Errorf("look for plans: %w", err)
	}
	var out [][]byte
	for _, name := range names {
		if len(out) == n {
			break
		}
		if text, err := f.read(name); err == nil {
			out = append(out, text)
		}
	}
	return out, nil
}

func (f Folder) read(name string) ([]byte, error) {
	file, err := os.Open(filepath.Join(string(f), name)) //nolint:gosec // a name that the folder lists
	if err != nil {
		return nil, err
	}
	defer func() { _ = file.Close() }() // it is only read
	z, err := gzip.NewReader(file)
	if err != nil {
		return nil, err
	}
	text, err := io.ReadAll(io.LimitReader(z, mostBytes))
	return text, errors.Join(err, z.Close())
}
