//go:build unix

package sqlite

import (
	"errors"
	"os"
	"syscall"
)

func tryLock(f *os.File) error {
	err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return errHeld
	}
	return err
}

// SyncDir makes what was renamed or created in dir survive a power cut.
func SyncDir(dir string) error {
	d, err := os.Open(dir) //nolint:gosec // the path is the user's own
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// Free returns the bytes that may still be written on the disk that holds dir.
func Free(dir string) (uint64, error) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(dir, &s); err != nil {
		return 0, err
	}
	return s.Bavail * uint64(s.Bsize), nil //nolint:gosec // a block has a size
}
