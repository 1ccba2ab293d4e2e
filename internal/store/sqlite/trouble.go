package sqlite

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"syscall"

	"threshday/internal/core/problem"
)

// A Trouble is what befell the data file, said for the person in front of it.
type Trouble struct {
	Rule string // stable name, one of those below
	Say  string // what happened and what it means for what was entered
	Next string // what to do
	Err  error  // the cause; may be nil
}

// The rules.
const (
	Full     = "store.full"      // no space left; what is in the book is intact
	ReadOnly = "store.read-only" // the disk or the file takes no changes
	Locked   = "store.locked"    // another program holds the file
	Running  = "store.running"   // this program runs already
	Damaged  = "store.damaged"   // the file is not what was written
	Foreign  = "store.foreign"   // not one of our files
	Newer    = "store.newer"     // written by a later version
	Stopped  = "store.stopped"   // the disk failed; nothing more is taken until a restart
	Sides    = "store.side-file" // what lies beside the file belongs to another
	Missing  = "store.missing"   // there is no such file or folder
	Network  = "store.network"   // the file lies on another machine
	TooOld   = "store.engine"    // this build's database engine must not be used
	Migrated = "store.migration" // the file could not be brought to this version
	BadCopy  = "store.backup"    // a copy is not good
)

// Error returns both sentences.
func (t *Trouble) Error() string { return t.Say + " " + t.Next }

// Unwrap returns the cause.
func (t *Trouble) Unwrap() error { return t.Err }

// Finding returns t as pages and the command line show it.
func (t *Trouble) Finding() problem.Finding {
	return problem.Finding{Rule: t.Rule, Severity: problem.Error, Label: "Data file", Say: t.Say, Next: t.Next}
}

// Is reports whether target is a Trouble of the same rule.
func (t *Trouble) Is(target error) bool {
	other, ok := target.(*Trouble)
	return ok && other.Rule == t.Rule
}

// Of returns the rule of the Trouble in err, or "".
func Of(err error) string {
	var t *Trouble
	if errors.As(err, &t) {
		return t.Rule
	}
	return ""
}

// Result codes. [sqlite-rescode]
const (
	codeBusy     = 5
	codeLocked   = 6
	codeReadOnly = 8
	codeIO       = 10
	codeCorrupt  = 11
	codeFull     = 13
	codeCantOpen = 14
	codeNotADB   = 26
	codeMoved    = codeReadOnly | 4<<8 // the file was renamed or deleted under us
	codeShmSize  = codeIO | 19<<8      // no room for the index of the log
	codeShmMap   = codeIO | 21<<8
)

// Explain returns err as a Trouble about the file at path when it is one, and err wrapped otherwise.
func (e Engine) Explain(path, doing string, err error) error {
	if err == nil || Of(err) != "" {
		return err
	}
	file := filepath.Base(path)
	t := &Trouble{Err: fmt.Errorf("%s: %w", doing, err)}
	code, ok := e.Code(err)
	switch {
	case ok && code&0xff == codeFull, ok && code == codeShmSize, errors.Is(err, syscall.ENOSPC):
		t.Rule = Full
		t.Say = fmt.Sprintf("The disk that holds %s is full: this entry was not stored; everything stored before is intact.", file)
		t.Next = "Make room on the disk, then enter it again; no restart is needed."
	case ok && code == codeMoved:
		t.Rule = Stopped
		t.Say = fmt.Sprintf("%s was moved, renamed or deleted while the program had it open; nothing more is stored.", file)
		t.Next = "Put the file back and start the program again."
	case ok && code&0xff == codeReadOnly, errors.Is(err, syscall.EROFS), errors.Is(err, fs.ErrPermission):
		t.Rule = ReadOnly
		t.Say = fmt.Sprintf("%s lies where nothing may be written: it can be read, and no entry is taken.", file)
		t.Next = "Make the disk or the file writable, or copy the file to another folder and open it there."
	case ok && (code&0xff == codeBusy || code&0xff == codeLocked):
		t.Rule = Locked
		t.Say = fmt.Sprintf("Another program holds %s; this entry was not stored after a wait of five seconds.", file)
		t.Next = "Close the other program, then try again."
	case ok && code&0xff == codeNotADB:
		t.Rule = Damaged
		t.Say = fmt.Sprintf("%s is no data file of this program, or its beginning is damaged. It was left as it is.", file)
		t.Next = "Name the right file. If this was one, restore the newest good backup."
	case ok && code&0xff == codeCorrupt:
		t.Rule = Damaged
		t.Say = fmt.Sprintf("%s is damaged: what it holds is not what was written. It was left as it is.", file)
		t.Next = "Run doctor to see what still reads, then restore the newest good backup."
	case ok && code&0xff == codeIO:
		t.Rule = Stopped
		t.Say = fmt.Sprintf("The disk failed while %s was being written: this entry may not be stored, and no more are taken.", file)
		t.Next = "Start the program again; it reads what reached the disk. Send the entry again then: it counts once. Check the disk."
	case ok && code&0xff == codeCantOpen, errors.Is(err, fs.ErrNotExist):
		t.Rule = Missing
		t.Say = fmt.Sprintf("%s cannot be opened.", path)
		t.Next = "Check that the folder exists and may be read."
	default:
		return t.Err
	}
	return t
}

// Stops reports whether err means that nothing more may be written until the file was opened anew. A failed
// sync is never tried again: the system may have dropped the pages and report success the second time.
// [pg-fsync]
func Stops(err error) bool {
	switch Of(err) {
	case Stopped, Damaged:
		return true
	}
	return false
}
