package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"threshday/internal/store/sqlite"
)

// ballastSize is the room kept in reserve beside the book: some ten thousand loads; judgement.
const ballastSize = 64 << 20

func (s *Store) ballast() string { return s.path + ".ballast" }

// KeepBallast puts a file of 64 MB beside the book, unless it is there or the disk is short of space. It holds
// room for the day on which the disk is full and nobody knows what to delete. A server calls it when it starts.
func (s *Store) KeepBallast() (kept bool, err error) {
	if s.readOnly != nil || s.engine.Virtual {
		return false, nil
	}
	if info, err := os.Stat(s.ballast()); err == nil && info.Size() == ballastSize {
		return true, nil
	}
	if free, err := sqlite.Free(filepath.Dir(s.path)); err != nil || free < lowSpace {
		return false, err
	}
	f, err := os.Create(s.ballast())
	if err != nil {
		return false, err
	}
	// Written out, for a hole in a file holds no room.
	zeros := make([]byte, 1<<20)
	for n := 0; n < ballastSize && err == nil; n += len(zeros) {
		_, err = f.Write(zeros)
	}
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return false, errors.Join(err, os.Remove(s.ballast()))
	}
	return true, nil
}

// ReleaseBallast gives the room in reserve to the book; ok is false when there was none.
func (s *Store) ReleaseBallast() (ok bool, err error) {
	err = os.Remove(s.ballast())
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	return err == nil, err
}
