//go:build fault

// Package fault names the bugs that the crash tests must catch and the points at which they kill the process.
//
// Without the build tag "fault" nothing is planted and no point does anything; the compiler leaves none of it in
// the program. With the tag, a test chooses one bug or one point by name.
package fault

import (
	"os"
	"sync/atomic"
)

var chosen atomic.Pointer[choice]

type choice struct {
	bug   string
	point string
	after atomic.Int64
}

// Choose plants one bug and sets one point of death, reached for the n-th time. Empty names choose none. It is
// called once, before anything is opened.
func Choose(bug, point string, n int) {
	c := &choice{bug: bug, point: point}
	c.after.Store(int64(n))
	chosen.Store(c)
}

// Planted reports whether the named bug is planted.
func Planted(bug string) bool {
	c := chosen.Load()
	return c != nil && c.bug == bug
}

// Reach kills the process at the chosen point, as kill -9 does: nothing is flushed, nothing deferred runs.
func Reach(point string) {
	c := chosen.Load()
	if c == nil || c.point != point || c.after.Add(-1) > 0 {
		return
	}
	me, err := os.FindProcess(os.Getpid())
	if err == nil {
		err = me.Kill()
	}
	if err != nil {
		os.Exit(137)
	}
	select {} // the signal is on its way
}
