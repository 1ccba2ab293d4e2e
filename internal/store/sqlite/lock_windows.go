package sqlite

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockAt lies far behind the text, so that a second process can read who holds the lock.
const lockAt = 1 << 30

func tryLock(f *os.File) error {
	over := windows.Overlapped{Offset: lockAt}
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, &over)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return errHeld
	}
	return err
}

// SyncDir does nothing: Windows keeps directory entries with its own journal and cannot sync a folder.
func SyncDir(string) error { return nil }

// Free returns the bytes that may still be written on the disk that holds dir.
func Free(dir string) (uint64, error) {
	name, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return 0, err
	}
	var free uint64
	err = windows.GetDiskFreeSpaceEx(name, &free, nil, nil)
	return free, err
}
