package sqlite

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// A Lock keeps every other process of this program off a file, for as long as it is held. The operating system
// lets go of it when the process ends, however it ends.
type Lock struct{ f *os.File }

// A Holder is who holds a lock, as written into the lock file for the one who comes second.
type Holder struct {
	PID   int       `json:"pid"`
	What  string    `json:"what"` // how the process introduces itself: "serve on 127.0.0.1:8088"
	Since time.Time `json:"since"`
}

// lockEvery is how often a waiting process tries again.
const lockEvery = 20 * time.Millisecond

// Acquire takes the lock of the file at path, waiting as long as wait for another process to let go.
func Acquire(ctx context.Context, path string, me Holder, wait time.Duration) (*Lock, error) {
	name := path + ".lock"
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600) //nolint:gosec // the path is the user's own
	if err != nil {
		return nil, err
	}
	for waited := time.Duration(0); ; waited += lockEvery {
		err = tryLock(f)
		if err == nil {
			break
		}
		if !errors.Is(err, errHeld) || waited >= wait || ctx.Err() != nil {
			held := holder(name)
			_ = f.Close() // nothing was written to it
			if !errors.Is(err, errHeld) {
				return nil, fmt.Errorf("lock %s: %w", name, err)
			}
			return nil, &Trouble{
				Rule: Running, Err: errors.Join(err, ctx.Err()),
				Say:  fmt.Sprintf("%s is in use by %s. Nothing was read or changed.", filepath.Base(path), held),
				Next: "Use that one, or end it first.",
			}
		}
		time.Sleep(lockEvery)
	}
	if text, err := json.Marshal(me); err == nil && f.Truncate(0) == nil {
		// On a full disk the second comer is told less; the lock holds all the same.
		_, _ = f.WriteAt(text, 0)
	}
	return &Lock{f}, nil
}

// Release lets go. The lock file stays: deleting it would let two processes hold two files of one name.
func (l *Lock) Release() error {
	if l == nil || l.f == nil {
		return nil
	}
	f := l.f
	l.f = nil
	return errors.Join(f.Truncate(0), f.Close())
}

func holder(name string) string {
	var h Holder
	text, err := os.ReadFile(name) //nolint:gosec // the path is the user's own
	if err != nil || json.Unmarshal(text, &h) != nil || h.PID == 0 {
		return "another process of this program"
	}
	return fmt.Sprintf("process %d (%s, since %s)", h.PID, h.What, h.Since.UTC().Format(time.RFC3339))
}

var errHeld = errors.New("held by another process")
