package store

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"threshday/internal/core/journal"
	"threshday/internal/store/fault"
	"threshday/internal/store/proof"
	"threshday/internal/store/sqlite"
)

// maxBatch is how many waiting entries share one commit, and so one wait for the disk.
const maxBatch = 64

// A request is the entries of one caller on their way to the writer.
type request struct {
	ctx    context.Context
	events []journal.Event
	whole  bool                        // all of them or none
	do     func(context.Context) error // instead of events: work on the writer's connection, between commits
	reply  chan reply
}

type reply struct {
	answers []journal.Answer
	err     error
}

// Append puts events in the book in their order and answers each by itself. It returns once everything answered
// as stored is on the disk. Events of other callers may share the commit; one bad event spoils no other.
//
// An error means that nothing is known of the events: send them again, they count once.
func (s *Store) Append(ctx context.Context, events ...journal.Event) ([]journal.Answer, error) {
	if len(events) == 0 {
		return nil, nil
	}
	return s.send(request{ctx: ctx, events: events})
}

// AppendAll puts all events in the book, or none when one of them is refused; the answers then say which and why.
func (s *Store) AppendAll(ctx context.Context, events []journal.Event) ([]journal.Answer, error) {
	if len(events) == 0 {
		return nil, nil
	}
	if err := s.beforeImport(ctx, len(events)); err != nil {
		return nil, err
	}
	return s.send(request{ctx: ctx, events: events, whole: true})
}

// largeImport is from how many entries on an import is preceded by a backup; judgement.
const largeImport = 1000

// beforeImport refuses an import that might fill the disk, and backs up before a large one.
func (s *Store) beforeImport(ctx context.Context, entries int) error {
	if s.readOnly != nil {
		return s.readOnly
	}
	if s.engine.Virtual {
		return nil
	}
	if free, err := sqlite.Free(filepath.Dir(s.path)); err == nil && free < noImports {
		return &sqlite.Trouble{
			Rule: sqlite.Full, Say: fmt.Sprintf("Only %d MB are free on the disk that holds the book: nothing was imported.", free>>20),
			Next: "Make room for at least 500 MB, then import again.",
		}
	}
	if entries <= largeImport {
		return nil
	}
	heads, err := proof.Heads(ctx, s.reads)
	if err == nil && len(heads) > 0 {
		_, err = s.backUp(ctx, "before-import")
	}
	return err
}

// exclusive runs work on the writer's connection, between two commits.
func (s *Store) exclusive(ctx context.Context, work func(context.Context) error) error {
	_, err := s.send(request{ctx: ctx, do: work})
	return err
}

func (s *Store) send(r request) ([]journal.Answer, error) {
	if s.readOnly != nil {
		return nil, s.readOnly
	}
	r.reply = make(chan reply, 1)
	select {
	case s.requests <- r:
	case <-s.stopped:
		return nil, s.whyStopped()
	case <-r.ctx.Done():
		return nil, r.ctx.Err()
	}
	select {
	case got := <-r.reply:
		return got.answers, got.err
	case <-r.ctx.Done():
		return nil, r.ctx.Err()
	}
}

func (s *Store) whyStopped() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.failure != nil {
		return s.failure
	}
	return errors.New("the store is closed")
}

// write is the writer: it alone touches the connection that writes. It ends when the store is closed or the disk
// fails; nothing is acknowledged after that.
func (s *Store) write() {
	defer close(s.stopped)
	for {
		var quiet <-chan time.Time
		if s.inLog >= logEntries {
			quiet = time.After(logQuiet)
		}
		var err error
		select {
		case first := <-s.requests:
			batch := s.gather(first)
			if err = s.serve(batch); err == nil && s.logFull(batch) {
				err = s.emptyLog()
			}
		case <-quiet:
			err = s.emptyLog()
		case <-s.closing:
			s.drain()
			return
		}
		if err != nil && sqlite.Stops(err) {
			s.fail(err)
			s.drain()
			return
		}
	}
}

// When the log is copied into the file, which takes the disk for tenths of a second; judgement.
const (
	logEntries = 256                   // from so many entries on, some megabytes, once none has come for a while
	logQuiet   = 50 * time.Millisecond // that while
	mostLog    = 2048                  // from so many on at once
)

// logFull counts what was served, and reports whether the log is to be copied before anything else is taken. A disk that is
// simulated keeps no time.
func (s *Store) logFull(served []request) bool {
	for _, r := range served {
		s.inLog += len(r.events)
	}
	return s.inLog >= mostLog || s.engine.Virtual && s.inLog >= logEntries
}

// emptyLog copies the log into the file now and then. SQLite would do it by itself within a commit, and keep a
// failed sync to itself: entries taken after that would be gone with the next power cut.
func (s *Store) emptyLog() error {
	s.inLog = 0
	if err := s.w.exec(context.Background(), "PRAGMA wal_checkpoint(PASSIVE)"); err != nil {
		return s.explain("copy the log into the file", err)
	}
	return nil
}

// drain answers what still waits.
func (s *Store) drain() {
	for {
		select {
		case r := <-s.requests:
			r.reply <- reply{err: s.whyStopped()}
		default:
			return
		}
	}
}

// gather takes what waits behind first, up to a batch.
func (s *Store) gather(first request) []request {
	batch, n := []request{first}, len(first.events)
	for n < maxBatch && !first.whole && first.do == nil {
		select {
		case r := <-s.requests:
			batch, n = append(batch, r), n+len(r.events)
			if r.whole || r.do != nil {
				return batch
			}
		default:
			return batch
		}
	}
	return batch
}

// serve runs the requests of a batch, those of events in one transaction, and answers them. The error returned
// is one that concerns the file.
func (s *Store) serve(batch []request) error {
	last := batch[len(batch)-1]
	if last.whole || last.do != nil {
		if rest := batch[:len(batch)-1]; len(rest) > 0 {
			if err := s.serve(rest); err != nil {
				last.reply <- reply{err: err}
				return err
			}
		}
		return s.serveAlone(last)
	}
	ctx := context.Background() // a caller who goes away must not break off the others' commit
	answers, err := s.commit(ctx, batch)
	for i, r := range batch {
		if err != nil {
			r.reply <- reply{err: err}
			continue
		}
		r.reply <- reply{answers: answers[i]}
	}
	return err
}

func (s *Store) serveAlone(r request) error {
	if r.do != nil {
		err := s.explain("work on the file", r.do(r.ctx))
		r.reply <- reply{err: err}
		return err
	}
	answers, err := s.commitWhole(context.Background(), r.events)
	r.reply <- reply{answers: answers, err: err}
	return err
}

// commit puts the events of a batch into the book in one transaction, each inside a savepoint of its own.
func (s *Store) commit(ctx context.Context, batch []request) ([][]journal.Answer, error) {
	if err := s.begin(ctx); err != nil {
		return nil, err
	}
	answers := make([][]journal.Answer, len(batch))
	for i, r := range batch {
		for _, e := range r.events {
			a, err := s.appendOne(ctx, e)
			if err != nil {
				return nil, s.rollback(ctx, err)
			}
			answers[i] = append(answers[i], a)
		}
		if fault.Planted("answer-before-commit") {
			r.reply <- reply{answers: answers[i]}
		}
	}
	if err := s.end(ctx); err != nil {
		return nil, err
	}
	return answers, nil
}

// commitWhole is commit for events that belong together.
func (s *Store) commitWhole(ctx context.Context, events []journal.Event) ([]journal.Answer, error) {
	if err := s.begin(ctx); err != nil {
		return nil, err
	}
	answers := make([]journal.Answer, 0, len(events))
	refused := false
	for _, e := range events {
		// No savepoint: when one is refused, all of it is taken back.
		a, err := s.enter(ctx, e)
		if err != nil {
			return nil, s.rollback(ctx, fmt.Errorf("entry %s: %w", e.ID, err))
		}
		refused = refused || a.Status == journal.Refused
		answers = append(answers, a)
	}
	if refused {
		if err := s.undo(ctx); err != nil {
			return nil, err
		}
		return answers, nil
	}
	fault.Reach("mid-import")
	return answers, s.end(ctx)
}

// appendOne puts one event in the book inside a savepoint. Its error concerns the file; what is wrong with the
// event is in the answer.
func (s *Store) appendOne(ctx context.Context, e journal.Event) (journal.Answer, error) {
	const name = "entry"
	if err := s.w.exec(ctx, "SAVEPOINT "+name); err != nil {
		return journal.Answer{}, err
	}
	a, err := s.enter(ctx, e)
	if err != nil {
		return a, fmt.Errorf("entry %s: %w", e.ID, err)
	}
	if !a.InBook() {
		// What a refused entry may have written is taken back; the raw copy of it is kept.
		if err := s.w.exec(ctx, "ROLLBACK TO "+name); err != nil {
			return a, err
		}
		if e.Origin == journal.Outbox {
			if err := s.keepRefused(ctx, e, a); err != nil {
				return a, err
			}
		}
	}
	return a, s.w.exec(ctx, "RELEASE "+name)
}

func (s *Store) begin(ctx context.Context) error {
	if err := s.w.exec(ctx, "BEGIN IMMEDIATE"); err != nil {
		return s.explain("begin", err)
	}
	s.heads = map[string]head{}
	return nil
}

func (s *Store) end(ctx context.Context) error {
	fault.Reach("before-commit")
	if err := s.w.exec(ctx, "COMMIT"); err != nil {
		if fault.Planted("swallow-sync-error") {
			return nil
		}
		return s.rollback(ctx, err)
	}
	fault.Reach("after-commit")
	if fault.Planted("projection-apart") {
		return s.projectLater(ctx)
	}
	return nil
}

// undo ends the transaction and leaves nothing of it.
func (s *Store) undo(ctx context.Context) error {
	s.names = map[string][]journal.Name{}
	if err := s.w.exec(ctx, "ROLLBACK"); err != nil {
		return s.explain("roll back", err)
	}
	return nil
}

// rollback ends the transaction because of cause, which it returns explained. SQLite may have rolled back by
// itself; a second rollback then fails, which is no news.
func (s *Store) rollback(ctx context.Context, cause error) error {
	s.names = map[string][]journal.Name{}
	_ = s.w.exec(ctx, "ROLLBACK")
	return s.explain("store the entry", cause)
}

func (s *Store) explain(doing string, err error) error { return s.engine.Explain(s.path, doing, err) }

// fail ends writing for good. The connection is closed while readers are still open: the last connection to
// close would copy the log into the file and sync again, and a sync that failed must not be tried again.
func (s *Store) fail(err error) {
	s.mu.Lock()
	s.failure = err
	s.mu.Unlock()
	s.log.Error("the store takes no more entries", "rule", sqlite.Of(err), "error", errors.Unwrap(err))
	// Both close what has failed already; there is nothing to learn from a second error.
	_ = s.w.close()
	_ = s.writeDB.Close()
}
