package cli

import (
	"fmt"
	"io"
	"sync"
	"time"
)

// A busyLine tells a person at a terminal that a long command is still at work: a line on standard error from the first
// second on, gone as soon as something is printed. It is nothing where standard error is no terminal.
type busyLine struct {
	to     io.Writer
	mu     sync.Mutex
	doing  string // how far it is, "3 of 5 years"; empty: not known
	shown  bool
	ended  bool
	ticker *time.Ticker
	stop   chan struct{}
}

// clearLine goes to the start of the line and erases it.
const clearLine = "\r\x1b[K"

// startBusy begins to wait; end must be called.
func startBusy(to io.Writer, every time.Duration) *busyLine {
	b := &busyLine{to: to, stop: make(chan struct{})}
	if to == nil {
		b.ended = true
		return b
	}
	b.ticker = time.NewTicker(every)
	go func() {
		for n := 1; ; n++ {
			select {
			case <-b.ticker.C:
				b.show(n)
			case <-b.stop:
				return
			}
		}
	}()
	return b
}

func (b *busyLine) show(ticks int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.ended {
		b.shown = true
		far := ""
		if b.doing != "" {
			far = ", " + b.doing
		}
		_, _ = fmt.Fprintf(b.to, "%sworking, %d s%s; Ctrl-C stops", clearLine, ticks, far) // a lost word of progress is no loss
	}
}

// say sets how far the work is; the next tick shows it.
func (b *busyLine) say(doing string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.doing = doing
}

// end takes the line away. It may be called more than once.
func (b *busyLine) end() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.ended {
		return
	}
	b.ended = true
	b.ticker.Stop()
	close(b.stop)
	if b.shown {
		_, _ = io.WriteString(b.to, clearLine)
	}
}

// before returns w, with the line taken away before the first byte.
func (b *busyLine) before(w io.Writer) io.Writer { return &afterBusy{b, w} }

type afterBusy struct {
	busy *busyLine
	io.Writer
}

func (a *afterBusy) Write(p []byte) (int, error) {
	a.busy.end()
	return a.Writer.Write(p)
}
