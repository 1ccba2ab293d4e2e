package powercut

import (
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/ncruces/go-sqlite3"
	"github.com/ncruces/go-sqlite3/vfs"
)

// A handle is an open file.
type handle struct {
	disk *Disk
	file *file
	name string
	shm  vfs.SharedMemory
	lock vfs.LockLevel

	readOnly bool
}

func (h *handle) SharedMemory() vfs.SharedMemory { return h.shm }

func (h *handle) do(name string, writes bool, failure error, work func()) error {
	h.disk.mu.Lock()
	defer h.disk.mu.Unlock()
	if err := h.disk.call(name+" "+h.name, writes, failure); err != nil {
		return err
	}
	work()
	return nil
}

func (h *handle) Close() error {
	err := h.Unlock(vfs.LOCK_NONE)
	if h.shm != nil {
		err = errors.Join(err, h.shm.Close())
	}
	return err
}

func (h *handle) ReadAt(p []byte, off int64) (n int, err error) {
	failure := h.do("read", false, sqlite3.IOERR_READ, func() {
		if off < int64(len(h.file.now)) {
			n = copy(p, h.file.now[off:])
		}
		if n < len(p) {
			err = io.EOF
		}
	})
	if failure != nil {
		return 0, failure
	}
	return n, err
}

func (h *handle) WriteAt(p []byte, off int64) (int, error) {
	if h.readOnly {
		return 0, sqlite3.READONLY
	}
	err := h.do("write", true, sqlite3.IOERR_WRITE, func() {
		c := change{off, slices.Clone(p)}
		h.file.now = c.apply(h.file.now)
		h.file.pending = append(h.file.pending, c)
	})
	if err != nil {
		return 0, err
	}
	return len(p), nil
}

func (h *handle) Truncate(size int64) error {
	return h.do("truncate", false, sqlite3.IOERR_TRUNCATE, func() {
		c := change{at: size}
		h.file.now = c.apply(h.file.now)
		h.file.pending = append(h.file.pending, c)
	})
}

// Sync makes the content durable. When it is answered with an error, what was pending is lost to the disk for ever
// and stays readable until the power goes, as with a system that drops the pages it could not write. [pg-fsync]
func (h *handle) Sync(vfs.SyncFlag) error {
	err := h.do("sync", true, sqlite3.IOERR_FSYNC, func() {
		for _, c := range h.file.pending {
			h.file.synced = c.apply(h.file.synced)
		}
		h.file.pending, h.file.durable = nil, true
	})
	if err != nil {
		h.disk.mu.Lock()
		if !h.disk.dark {
			h.file.pending = nil
		}
		h.disk.mu.Unlock()
	}
	return err
}

func (h *handle) Size() (size int64, err error) {
	err = h.do("size", false, sqlite3.IOERR_FSTAT, func() { size = int64(len(h.file.now)) })
	return size, err
}

func (h *handle) Lock(want vfs.LockLevel) error {
	h.disk.mu.Lock()
	defer h.disk.mu.Unlock()
	if h.lock >= want {
		return nil
	}
	if h.readOnly && want > vfs.LOCK_SHARED {
		return sqlite3.IOERR_LOCK // as the system answers, who locks nothing for writing that was opened for reading
	}
	f := h.file
	switch want {
	case vfs.LOCK_SHARED:
		if f.waiting {
			return sqlite3.BUSY
		}
		f.shared++
	case vfs.LOCK_RESERVED:
		if f.reserved {
			return sqlite3.BUSY
		}
		f.reserved = true
	case vfs.LOCK_EXCLUSIVE:
		if h.lock < vfs.LOCK_PENDING {
			if f.waiting {
				return sqlite3.BUSY
			}
			f.waiting = true
			h.lock = vfs.LOCK_PENDING
		}
		if f.shared > 1 {
			return sqlite3.BUSY
		}
	default:
		return fmt.Errorf("lock level %d is not asked for", want)
	}
	h.lock = want
	return nil
}

func (h *handle) Unlock(want vfs.LockLevel) error {
	h.disk.mu.Lock()
	defer h.disk.mu.Unlock()
	if h.lock <= want {
		return nil
	}
	if h.lock >= vfs.LOCK_RESERVED {
		h.file.reserved = false
	}
	if h.lock >= vfs.LOCK_PENDING {
		h.file.waiting = false
	}
	if want < vfs.LOCK_SHARED {
		h.file.shared--
	}
	h.lock = want
	return nil
}

func (h *handle) CheckReservedLock() (bool, error) {
	h.disk.mu.Lock()
	defer h.disk.mu.Unlock()
	return h.file.reserved, nil
}

func (h *handle) SectorSize() int { return 4096 }

// DeviceCharacteristics says of the disk what SQLite assumes of every disk: a write damages nothing beside it.
func (h *handle) DeviceCharacteristics() vfs.DeviceCharacteristic {
	return vfs.IOCAP_POWERSAFE_OVERWRITE
}
