package web

import (
	"context"
	"fmt"
	"runtime/debug"
	"sync"
	"time"

	"threshday/internal/app"
)

// A ledger keeps the books as they were last added up. Adding up fifty thousand tickets takes a second or two, so it is done
// beside the pages: one that asks meanwhile is shown the books up to an earlier entry, which they name.
type ledger struct {
	mu     sync.Mutex
	last   *addedBooks
	making *making // nil: nothing is being added up
	rest   *time.Timer
}

// making is an adding up that goes on.
type making struct {
	tag  string
	done chan struct{}
	err  error // once it is done
}

// addedBooks are the books up to one entry, with the pages that were made of them.
type addedBooks struct {
	tag     string
	head    app.Head
	books   *app.Books
	example bool // of the invented farm's later weeks

	mu    sync.Mutex
	pages map[string][]byte // packed
}

const (
	// patience is how long a page waits for the books up to the newest entry before it is shown earlier ones. [judgement]
	patience = 40 * time.Millisecond
	// booksRest is how long books are kept that nobody asks for; those of a large season are many megabytes. [judgement]
	booksRest = 2 * time.Minute
	// largeSeason is from how many loads on what adding up leaves behind is given back at once: a hundred megabytes of fifty
	// thousand. [judgement]
	largeSeason = 5000
)

// addedUp returns the books of the book, up to the newest entry where that takes no time.
func (s *Server) addedUp(ctx context.Context) (*addedBooks, error) {
	head, err := s.set.App.HeadOf(ctx, s.set.Data)
	if err != nil {
		return nil, err
	}
	// The day is part of it: contracts run out, and bids.
	tag := fmt.Sprintf("%d-%.8s-%s-books", head.Seq, head.Hash, s.set.App.Now().UTC().Format("0102"))
	l := &s.ledger
	l.mu.Lock()
	l.resting()
	if l.last != nil && l.last.tag == tag {
		defer l.mu.Unlock()
		return l.last, nil
	}
	if l.making == nil {
		begun := &making{tag: tag, done: make(chan struct{})}
		l.making = begun
		s.jobs.Go(func() { s.addUp(begun, head) })
	}
	m, last := l.making, l.last
	l.mu.Unlock()
	var soon <-chan time.Time
	if last != nil {
		soon = time.After(patience)
	}
	select {
	case <-m.done:
	case <-soon:
		return last, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.last == nil {
		return nil, m.err
	}
	return l.last, m.err
}

// addUp adds the season up and puts the books in the place of the last ones.
func (s *Server) addUp(m *making, head app.Head) {
	now := &addedBooks{tag: m.tag, head: head, pages: map[string][]byte{}}
	defer func() {
		if bug := recover(); bug != nil {
			number := incident()
			s.set.Log.Error("adding up broke", "incident", number, "bug", fmt.Sprint(bug))
			m.err = fmt.Errorf("adding up broke; the log has it under %s", number)
		}
		s.ledger.mu.Lock()
		defer s.ledger.mu.Unlock()
		if s.ledger.making = nil; m.err == nil {
			s.ledger.last = now
		}
		close(m.done)
	}()
	now.books, now.example, m.err = s.added(s.ctx)
	if now.books != nil && len(now.books.Loads) > largeSeason {
		debug.FreeOSMemory()
	}
}

// added adds the season up. The invented farm, until somebody enters a load in it, shows the books that it will have.
func (s *Server) added(ctx context.Context) (b *app.Books, example bool, err error) {
	if b, err = s.set.App.Books(ctx, app.BooksRequest{Book: s.set.Data}); err != nil || !s.set.Demo || len(b.Loads) > 0 {
		return b, false, err
	}
	files, season, err := s.set.App.Demo()
	if err != nil {
		return nil, false, err
	}
	b, err = s.set.App.Books(ctx, s.set.App.DemoBooks(app.BooksRequest{Files: files, Season: season}))
	return b, true, err
}

// resting lets the books go once nobody has asked for them for a while. The caller holds the lock.
func (l *ledger) resting() {
	if l.rest != nil {
		l.rest.Reset(booksRest)
		return
	}
	l.rest = time.AfterFunc(booksRest, func() {
		l.mu.Lock()
		l.last = nil
		l.mu.Unlock()
		debug.FreeOSMemory()
	})
}

// page returns a page of the books, made where it is not kept.
func (b *addedBooks) page(name string, write func() ([]byte, error)) ([]byte, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if body, ok := b.pages[name]; ok {
		return body, nil
	}
	body, err := write()
	if err != nil {
		return nil, err
	}
	b.pages[name] = pack(body)
	return b.pages[name], nil
}
