package cli

import (
	"bufio"
	"strings"
	"unicode/utf8"

	"threshday/internal/answer"
)

// A figure is a modelled number in JSON.
type figure = answer.Figure

// why is what stands behind a result; embed it in a pencil's JSON form.
type why struct {
	Formula  []string `json:"formula,omitempty"` // with the numbers put in
	Sources  []Source `json:"sources,omitempty"`
	Assumed  []string `json:"assumed,omitempty"` // what was not given, and what stood in for it
	Cautions []string `json:"cautions,omitempty"`
}

func (w why) reasons() why { return w }

// A row is one further figure below the result.
type row struct{ name, value string }

// A result is a pencil's answer in its JSON form, with what stands behind it.
type result interface{ reasons() why }

// answer prints a pencil's result: the JSON form, or for a person the lead large and first, what it is, further rows,
// and what stands behind it.
func (s *session) answer(doc result, lead, is string, rows ...row) error {
	if s.json {
		return s.print(doc)
	}
	p := printer{Writer: bufio.NewWriter(s.Stdout), color: s.Color, width: s.textWidth()}
	p.line(p.bold(lead))
	p.wrapped("", is)
	if len(rows) > 0 {
		p.line("")
		p.table(rows)
	}
	w := doc.reasons()
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

// sources returns the rows of the table of sources for keys, each once.
func (s *session) sources(keys ...string) []Source {
	var out []Source
	seen := map[string]bool{}
	for _, key := range keys {
		if key == "" || seen[key] {
			continue
		}
		seen[key] = true
		src, ok := s.Source(key)
		if !ok {
			src = Source{Key: key, Title: key} // a test holds the two together; an answer does not fail for it
		}
		out = append(out, src)
	}
	return out
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

// wrap breaks text between words into lines of at most width characters where the words allow it.
func wrap(text string, width int) []string {
	var lines []string
	for _, paragraph := range strings.Split(text, "\n") {
		line, n := "", 0
		for _, word := range strings.Fields(paragraph) {
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
