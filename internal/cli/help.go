package cli

import (
	"bufio"

	"github.com/alecthomas/kong"
)

// printHelp prints the page of a command for a person.
func (s *session) printHelp(node *kong.Node) error {
	pg := s.pageOf(node)
	p := printer{Writer: bufio.NewWriter(s.Stdout), color: s.Color, width: s.textWidth()}
	p.line(p.bold(usageLine(pg)))
	p.line("")
	p.wrapped("", pg.summary)
	if pg.detail != "" {
		p.line("")
		p.wrapped("", pg.detail)
	}
	p.entries("What it takes", pg.args)
	p.entries("Commands", pg.commands)
	p.entries("Flags", neededFirst(pg.flags))
	if len(pg.commands) == 0 {
		p.entries("Flags of the commands above", pg.shared)
	}
	p.examples(pg.examples)
	if len(pg.commands) > 0 {
		p.line("")
		p.wrapped("", "`"+pg.path+" COMMAND --help` says more about one of them.")
	}
	return p.Flush()
}

func usageLine(pg page) string {
	line := pg.path
	if len(pg.commands) > 0 {
		line += " COMMAND"
	}
	for _, e := range append(pg.args[:len(pg.args):len(pg.args)], neededFirst(pg.flags)...) {
		if e.needed {
			line += " " + e.name
		}
	}
	for _, e := range append(pg.flags[:len(pg.flags):len(pg.flags)], pg.args...) {
		if !e.needed {
			return line + " [more]"
		}
	}
	return line
}

// neededFirst returns the flags that must be given, then the others, each in the order declared.
func neededFirst(flags []entry) []entry {
	var needed, others []entry
	for _, f := range flags {
		if f.needed {
			needed = append(needed, f)
		} else {
			others = append(others, f)
		}
	}
	return append(needed, others...)
}

func (p *printer) entries(title string, list []entry) {
	if len(list) == 0 {
		return
	}
	p.line("")
	p.line(p.bold(title))
	rows := make([]row, len(list))
	for i, e := range list {
		rows[i] = row{e.name, said(e)}
	}
	p.table(rows)
}

// said returns the help of an entry with whether it must be given and what it accepts.
func said(e entry) string {
	text := e.help
	if e.accepts != "" {
		text += " Accepts " + e.accepts + "."
	}
	if e.def != "" {
		text += " Left out: " + e.def + "."
	}
	if e.needed {
		text += " Must be given."
	}
	return text
}

func (p *printer) examples(lines []string) {
	if len(lines) == 0 {
		return
	}
	p.line("")
	p.line(p.bold("Try"))
	for _, l := range lines {
		p.line("  threshday " + l)
	}
}
