package cli

import (
	"io"
	"strings"
	"testing"
	"time"
)

func TestBusyLineIsGoneBeforeTheAnswer(t *testing.T) {
	var terminal strings.Builder // standard output and standard error of one screen
	b := startBusy(&terminal, time.Hour)
	b.show(1)
	b.say("3 of 5 years")
	b.show(2)
	if _, err := io.WriteString(b.before(&terminal), "answer\n"); err != nil {
		t.Fatal(err)
	}
	b.show(3) // a tick that comes late
	b.end()
	want := clearLine + "working, 1 s; Ctrl-C stops" + clearLine + "working, 2 s, 3 of 5 years; Ctrl-C stops" + clearLine + "answer\n"
	if got := terminal.String(); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestBusyLineOfAQuickCommandIsNeverSeen(t *testing.T) {
	var terminal strings.Builder
	b := startBusy(&terminal, time.Hour)
	b.end()
	if terminal.String() != "" {
		t.Errorf("got %q", terminal.String())
	}
	none := startBusy(nil, time.Nanosecond)
	none.end()
	none.end()
}
