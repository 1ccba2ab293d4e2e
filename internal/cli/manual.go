package cli

import (
	"fmt"
	"io"
	"strings"

	"github.com/alecthomas/kong"
)

type manCmd struct{}

// Explain says how to use what is printed.
func (manCmd) Explain() string {
	return "The page is in the format of the man program: `threshday man >threshday.1`, then `man ./threshday.1`."
}

// Run prints the manual page.
func (manCmd) Run(s *session) error {
	w := new(strings.Builder)
	s.manual(w)
	_, err := io.WriteString(s.Stdout, w.String())
	return err
}

// manual writes the manual page of the whole tree.
func (s *session) manual(w *strings.Builder) {
	fmt.Fprintf(w, ".TH THRESHDAY 1 \"\" \"threshday %s\"\n", roff(s.Version))
	fmt.Fprintf(w, ".SH NAME\nthreshday \\- decides and keeps the books of a grain harvest\n")
	fmt.Fprintf(w, ".SH SYNOPSIS\n.B threshday\n.I COMMAND\n[flags]\n")
	fmt.Fprintf(w, ".SH DESCRIPTION\n%s\n", roff(purpose))
	walk(s.model.Node, func(n *kong.Node) {
		if n != s.model.Node {
			manualOf(w, s.pageOf(n))
		}
	})
	fmt.Fprint(w, ".SH EXIT STATUS\n")
	for _, e := range exitCodes {
		fmt.Fprintf(w, ".TP\n.B %d\n%s\n", e.code, roff(e.means))
	}
}

func manualOf(w *strings.Builder, pg page) {
	fmt.Fprintf(w, ".SH %s\n%s\n", strings.ToUpper(roff(pg.path)), roff(pg.summary))
	for _, paragraph := range strings.Split(pg.detail, "\n\n") {
		if paragraph != "" {
			fmt.Fprintf(w, ".PP\n%s\n", roff(paragraph))
		}
	}
	for _, e := range append(pg.args[:len(pg.args):len(pg.args)], neededFirst(pg.flags)...) {
		fmt.Fprintf(w, ".TP\n.B %s\n%s\n", roff(e.name), roff(said(e)))
	}
	for _, l := range pg.examples {
		fmt.Fprintf(w, ".PP\n.EX\nthreshday %s\n.EE\n", roff(l))
	}
}

// roff escapes text for the manual page.
func roff(s string) string {
	s = strings.NewReplacer(`\`, `\e`, "-", `\-`, "\n", " ").Replace(s)
	if strings.HasPrefix(s, ".") || strings.HasPrefix(s, "'") {
		s = `\&` + s
	}
	return s
}

// exitCodes are what scripts rely on.
var exitCodes = []struct {
	code  int
	means string
}{
	{exitAnswered, "Answered."},
	{exitNoAnswer, "The question has no answer; the message says why and what would change it."},
	{exitInput, "The input cannot be used; the message says which file, row and field, and what is allowed."},
	{exitWorld, "The world failed: a missing file, a disk, a network, a locked database."},
}
