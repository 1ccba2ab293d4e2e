package cli

import (
	"bufio"
	"strings"
	"unicode/utf8"

	"threshday/internal/answer"
	"threshday/internal/pencil"
)

// A figure is a modelled number in JSON.
type figure = answer.Figure

// A row is one further figure below the result.
type row struct{ name, value string }

// pencils returns the desk that pencils reckon at.
func (s *session) pencils() *pencil.Desk {
	s.desk = &pencil.Desk{Read: s.read, Boundaries: s.Files.Boundaries, Source: s.Source, Answer: s.reckoned}
	if s.App != nil {
		s.desk.Zone = s.App.Zone
	}
	return s.desk
}

// reckoned prints a pencil's result: the JSON form, or for a person the lead large and first, what it is, further rows,
// and what stands behind it.
func (s *session) reckoned(sum pencil.Sum) error {
	if s.json {
		return s.print(sum.Doc)
	}
	p := printer{Writer: bufio.NewWriter(s.Stdout), color: s.Color, width: s.textWidth()}
	p.line(p.bold(sum.Lead))
	p.wrapped("", sum.Is)
	if len(sum.Rows) > 0 {
		p.line("")
		rows := make([]row, len(sum.Rows))
		for i, r := range sum.Rows {
			rows[i] = row{r.Name, r.Value}
		}
		p.table(rows)
	}
	w := sum.Doc.Reasons()
	p.line("")
	p.section("How", w.Formula)
	p.section("Source", sourceLines(w.Sources))
	p.section("Assumed", w.Assumed)
	p.section("Mind", w.Cautions)
	return p.Flush()
}

func sourceLines(sources []Source) []string {
	lines := make([]string, len(sources))
	for i, src := range sources {
		lines[i] = src.Title
		if by := strings.TrimPrefix(strings.TrimSuffix(src.Publisher+", "+src.Year, ", "), ", "); by != "" && src.How != "judgement" {
			lines[i] += " (" + by + ")"
		}
		if src.How == "memory" {
			lines[i] += "; recalled, not seen again: check before money hangs on it"
		}
		lines[i] += " [" + src.Key + "]"
	}
	return lines
}

const (
	defaultWidth = 100
	minWidth     = 40
)

func (s *session) textWidth() int {
	if s.Width == 0 {
		return defaultWidth
	}
	return max(minWidth, min(s.Width, defaultWidth))
}

// A printer lays out text for a person. The first error of writing is kept by the buffer and returned by Flush.
type printer struct {
	*bufio.Writer
	color bool
	width int
}

func (p *printer) bold(s string) string {
	if !p.color {
		return s
	}
	return "\x1b[1m" + s + "\x1b[0m"
}

// line prints one line. The buffer keeps the first error for Flush.
func (p *printer) line(s string) { _, _ = p.WriteString(s + "\n") }

// wrapped prints text broken between words to the width, each line after indent.
func (p *printer) wrapped(indent, text string) {
	for _, l := range wrap(text, p.width-utf8.RuneCountInString(indent)) {
		p.line(indent + l)
	}
}

// table prints rows with their values in one column.
func (p *printer) table(rows []row) {
	widest := 0
	for _, r := range rows {
		widest = max(widest, utf8.RuneCountInString(r.name))
	}
	for _, r := range rows {
		p.hung("  "+pad(r.name, widest)+"  ", r.value)
	}
}

// section prints a title in the margin and the lines beside it.
func (p *printer) section(title string, lines []string) {
	const margin = 9
	lead := pad(title, margin)
	for _, l := range lines {
		p.hung(lead, l)
		lead = strings.Repeat(" ", margin)
	}
}

// hung prints text after lead, its further lines under the first.
func (p *printer) hung(lead, text string) {
	n := utf8.RuneCountInString(lead)
	for i, l := range wrap(text, max(minWidth/2, p.width-n)) {
		if i > 0 {
			lead = strings.Repeat(" ", n)
		}
		p.line(strings.TrimRight(lead+l, " "))
	}
}

func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// together puts percent signs to the numbers before them, where both fit in width.
func together(words []string, width int) []string {
	var out []string
	for _, word := range words {
		if n := len(out) - 1; n >= 0 && word[0] == '%' {
			number := out[n]
			if last := number[len(number)-1]; '0' <= last && last <= '9' && utf8.RuneCountInString(number+" "+word) <= width {
				out[n] = number + " " + word
				continue
			}
		}
		out = append(out, word)
	}
	return out
}

// wrap breaks text between words into lines of at most width characters where the words allow it; a percent sign stays with
// its number.
func wrap(text string, width int) []string {
	var lines []string
	for _, paragraph := range strings.Split(text, "\n") {
		line, n := "", 0
		for _, word := range together(strings.Fields(paragraph), width) {
			w := utf8.RuneCountInString(word)
			if n > 0 && n+1+w > width {
				lines = append(lines, line)
				line, n = "", 0
			}
			if n > 0 {
				line += " "
				n++
			}
			line += word
			n += w
		}
		lines = append(lines, line)
	}
	return lines
}
