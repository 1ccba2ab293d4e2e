// Package powercut is a disk for SQLite that loses power at a chosen call, and one that answers a chosen call with
// an error. What survives a power cut is what was synced, and of what was not any part that a real disk may have
// written: nothing, the first of it, or pieces of 512 bytes in any order.
//
// It leaves out what no disk of a farm office does: files that swap contents, and syncs that lie.
package powercut

import (
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"github.com/ncruces/go-sqlite3"
	"github.com/ncruces/go-sqlite3/util/vfsutil"
	"github.com/ncruces/go-sqlite3/vfs"
)

// piece is the least that a disk writes whole. [sqlite-powersafe]
const piece = 512

// A Disk holds files between two power cuts. It is a vfs.VFS.
type Disk struct {
	shm string // folder for the shared index of the log, which is memory and not on the disk

	mu    sync.Mutex
	files map[string]*file
	gone  map[string]*file // deleted, and the deletion not yet synced: may come back
	calls int
	syncs int // calls to sync, whatever came of them

	cutAt int // call at which the power goes; 0: never
	dark  bool

	failAt  int // call to answer with an error; 0: none
	failFor int // how many calls from there on
	full    bool
	failed  string // the call that failed
	failOn  string // the kind of call that fails the next time; empty: none
}

// A file is what was synced and what was done to it since.
type file struct {
	synced  []byte
	durable bool // its name is on the disk
	now     []byte
	pending []change

	shared   int
	reserved bool
	waiting  bool // the lock that SQLite calls pending
}

// A change is a write, or with nil data a truncation.
type change struct {
	at   int64
	data []byte
}

var errDark = sqlite3.IOERR

// NewDisk returns an empty disk. shm is a folder that is empty and stays the disk's own.
func NewDisk(shm string) *Disk {
	return &Disk{shm: shm, files: map[string]*file{}, gone: map[string]*file{}}
}

// Calls returns how many calls the disk has answered.
func (d *Disk) Calls() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.calls
}

// Syncs returns how many calls to sync there were.
func (d *Disk) Syncs() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.syncs
}

// CutAt takes the power away at the n-th call from now: it is not carried out, nor is any after it.
func (d *Disk) CutAt(n int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.cutAt = d.calls + n
}

// Cut takes the power away now.
func (d *Disk) Cut() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.dark = true
}

// FailAt answers the n-th call from now, and count-1 after it, with an error: that the disk is full when full is
// true and the call would write, and that it failed otherwise.
func (d *Disk) FailAt(n, count int, full bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.failAt, d.failFor, d.full = d.calls+n, count, full
}

// FailNext answers the next call of a kind with an error: "sync", "write", "read".
func (d *Disk) FailNext(kind string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.failOn = kind
}

// Failed returns which call was answered with an error; "" when none was.
func (d *Disk) Failed() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.failed
}

// call counts one call and says whether it may go on. writes says that it takes room on the disk.
func (d *Disk) call(name string, writes bool, failure error) error {
	d.calls++
	if strings.HasPrefix(name, "sync") {
		d.syncs++
	}
	if d.cutAt > 0 && d.calls >= d.cutAt {
		d.dark = true
	}
	if d.dark {
		return errDark
	}
	if d.failOn != "" && strings.HasPrefix(name, d.failOn) {
		d.failOn, d.failed = "", name
		return failure
	}
	if d.failAt > 0 && d.calls >= d.failAt && d.calls < d.failAt+d.failFor {
		if d.full {
			if !writes {
				return nil
			}
			failure = sqlite3.FULL
		}
		d.failed = name
		return failure
	}
	return nil
}

// After returns the disk as it is when the power comes back, by chance of rng.
func (d *Disk) After(shm string, rng *rand.Rand) *Disk {
	d.mu.Lock()
	defer d.mu.Unlock()
	next := NewDisk(shm)
	// In the order of names: the same seed gives the same disk.
	for _, name := range sorted(d.files) {
		f := d.files[name]
		content := f.survive(rng)
		if !f.durable && (content == nil || rng.IntN(2) == 0) {
			continue
		}
		next.files[name] = whole(content)
	}
	for _, name := range sorted(d.gone) {
		if f := d.gone[name]; f.durable && next.files[name] == nil && rng.IntN(2) == 0 {
			next.files[name] = whole(f.survive(rng))
		}
	}
	return next
}

func sorted(m map[string]*file) []string {
	var names []string
	for name := range m {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

func whole(content []byte) *file {
	return &file{synced: content, now: slices.Clone(content), durable: true}
}

// survive returns the content after a power cut.
func (f *file) survive(rng *rand.Rand) []byte {
	content := slices.Clone(f.synced)
	switch rng.IntN(3) {
	case 0:
	case 1:
		for _, c := range f.pending[:rng.IntN(len(f.pending)+1)] {
			content = c.apply(content)
		}
	case 2:
		for _, c := range f.pending {
			for at := int64(0); at < int64(len(c.data)); at += piece {
				if rng.IntN(2) == 0 {
					content = change{c.at + at, c.data[at:min(at+piece, int64(len(c.data)))]}.apply(content)
				}
			}
			if c.data == nil && rng.IntN(2) == 0 {
				content = c.apply(content)
			}
		}
	}
	return content
}

func (c change) apply(content []byte) []byte {
	if c.data == nil {
		if c.at < int64(len(content)) {
			return content[:c.at]
		}
		return content
	}
	if end := c.at + int64(len(c.data)); end > int64(len(content)) {
		content = append(content, make([]byte, end-int64(len(content)))...)
	}
	copy(content[c.at:], c.data)
	return content
}

// Open is vfs.VFS.
func (d *Disk) Open(name string, flags vfs.OpenFlag) (vfs.File, vfs.OpenFlag, error) {
	if flags&(vfs.OPEN_TEMP_JOURNAL|vfs.OPEN_TEMP_DB|vfs.OPEN_TRANSIENT_DB|vfs.OPEN_SUBJOURNAL) != 0 {
		return &vfsutil.SliceFile{}, flags | vfs.OPEN_MEMORY, nil
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.call("open "+name, false, sqlite3.CANTOPEN); err != nil {
		return nil, flags, err
	}
	f := d.files[name]
	if f == nil {
		if flags&vfs.OPEN_CREATE == 0 {
			return nil, flags, sqlite3.CANTOPEN
		}
		f = &file{}
		d.files[name] = f
	}
	h := &handle{disk: d, file: f, name: name, readOnly: flags&vfs.OPEN_READONLY != 0}
	h.shm = vfs.NewSharedMemory(filepath.Join(d.shm, strings.ReplaceAll(name, "/", "_")+"-shm"), flags)
	return h, flags, nil
}

// Delete is vfs.VFS.
func (d *Disk) Delete(name string, syncDir bool) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.call("delete "+name, false, sqlite3.IOERR_DELETE); err != nil {
		return err
	}
	f := d.files[name]
	if f == nil {
		return sqlite3.IOERR_DELETE_NOENT
	}
	delete(d.files, name)
	if !syncDir {
		d.gone[name] = f
	}
	return nil
}

// Access is vfs.VFS.
func (d *Disk) Access(name string, _ vfs.AccessFlag) (bool, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.call("access "+name, false, sqlite3.IOERR_ACCESS); err != nil {
		return false, err
	}
	return d.files[name] != nil, nil
}

// FullPathname is vfs.VFS.
func (d *Disk) FullPathname(name string) (string, error) { return name, nil }
