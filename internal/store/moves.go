package store

import (
	"slices"
	"sync"

	"threshday/internal/core/journal"
)

// moves remember which loads' rows the newest entries changed, so that what was worked out from all rows can follow them. The
// writer notes them before it commits; whoever asks does so up to an entry that it has read, which is one that was committed.
type moves struct {
	mu    sync.Mutex
	farms map[string]*trail
}

// A trail is an unbroken run of entries: loads[i] are those that entry from+1+i changed.
type trail struct {
	from  int64
	loads [][]journal.ID
}

// mostTrail bounds a trail; who lags behind by more reads all rows anew.
const mostTrail = 4096

// note adds the loads that an entry changed.
func (m *moves) note(farm string, seq int64, loads []journal.ID) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.farms == nil {
		m.farms = map[string]*trail{}
	}
	t := m.farms[farm]
	if t == nil || seq <= t.from || seq > t.from+int64(len(t.loads))+1 {
		t = &trail{from: seq - 1}
		m.farms[farm] = t
	}
	// What stands behind this place was noted for entries that were taken back.
	t.loads = append(t.loads[:seq-t.from-1], loads)
	if drop := len(t.loads) - mostTrail; drop > 0 {
		t.from, t.loads = t.from+mostTrail/2, slices.Clone(t.loads[mostTrail/2:])
	}
}

// forget makes everybody read all rows anew.
func (m *moves) forget() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.farms = nil
}

// between returns the loads that the entries after the one and up to the other changed; ok is false where that is not remembered.
func (m *moves) between(farm string, after, upTo int64) (loads []journal.ID, ok bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	t := m.farms[farm]
	if t == nil || after < t.from || upTo > t.from+int64(len(t.loads)) || after > upTo {
		return nil, false
	}
	for _, ids := range t.loads[after-t.from : upTo-t.from] {
		loads = append(loads, ids...)
	}
	slices.Sort(loads)
	return slices.Compact(loads), true
}
