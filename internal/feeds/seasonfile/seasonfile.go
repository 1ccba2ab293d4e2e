// Package seasonfile reads and writes the season file, a TOML text in which a person keeps the records of one farm
// in one season: fields, machines, outlets, bids, contracts, bins, readings.
//
// [Read] is strict: what it does not know or cannot use is refused, each with one sentence that names file, line,
// column and key, what was found, what is accepted and what to do; nothing is guessed and nothing is half read.
// [Write] gives the canonical text of a season; reading it back gives the same season. [Keys] lists every key, with
// its unit and whether the plan uses it; the reference page is made from it.
//
// Left out: the files that a season names (posted schedules, the weather record) are listed by [Files] and opened by
// the caller; comments are for people and do not survive Write.
package seasonfile

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2/unstable"

	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
)

// MaxBytes is the largest season file that is read. A farm of sixty fields with a year of readings needs a tenth.
const MaxBytes = 4 << 20

// Read returns the season that data holds. The name of the file is used in messages only.
//
// The error is a [problem.InputErrors] in the order of the file; there is no season then. Findings, in the order of the
// file as well, come with a season that can be used: what [farm.Check] doubts, what [farm.CheckDates] doubts at the
// moment the file says it speaks of, each with the line of the record, and under the rule [NotUsed] one for each key
// that no answer uses yet. A file that speaks of no moment is checked for dates by whoever has a clock.
func Read(name string, data []byte) (*farm.Season, []problem.Finding, error) {
	src, findings, unreadable := decode(name, data)
	if unreadable != nil {
		return nil, nil, problem.InputErrors{unreadable}
	}
	r := newReader(name, src)
	root, stop, err := parse(src)
	r.partial = err != nil
	r.zone = zoneOf(root)
	s := new(farm.Season)
	season.read(r, "", "", root, s)
	if err != nil {
		r.syntax(stop, err)
	} else {
		r.resolve()
	}
	if err := r.errors(); err != nil {
		return nil, nil, err
	}
	doubts := farm.Check(s)
	if s.Farm.AsOf != nil {
		doubts = append(doubts, farm.CheckDates(s, *s.Farm.AsOf, r.zone)...)
	}
	for i := range doubts {
		record := doubts[i].Where.Path
		doubts[i].Where = r.place(r.records[record].offset)
		doubts[i].Where.Path = record
	}
	findings = slices.Concat(findings, doubts, r.notUsed())
	slices.SortStableFunc(findings, byPlace)
	return s, findings, nil
}

// Files returns the names of the files that s refers to, relative to the season file, each once and in order.
func Files(s *farm.Season) []string {
	var files []string
	if s.Farm.Weather.Record != "" {
		files = append(files, s.Farm.Weather.Record)
	}
	for _, o := range s.Outlets {
		for _, file := range o.Schedules {
			files = append(files, file)
		}
	}
	slices.Sort(files)
	return slices.Compact(files)
}

// decode returns data as UTF-8 text, or why it cannot be read as text at all.
func decode(name string, data []byte) (src []byte, findings []problem.Finding, unreadable *problem.InputError) {
	refused := func(rule, got, want, next string) *problem.InputError {
		return &problem.InputError{Rule: rule, Label: "the file", Got: got, Want: want, Where: problem.Place{File: name}, Next: next}
	}
	if len(data) > MaxBytes {
		return nil, nil, refused("file.size", fmt.Sprintf("%.1f MB", float64(len(data))/(1<<20)), fmt.Sprintf("at most %d MB", MaxBytes>>20),
			"A season file is text of a few pages; was another file meant?")
	}
	for _, mark := range [][]byte{{0xff, 0xfe}, {0xfe, 0xff}} {
		if bytes.HasPrefix(data, mark) {
			return nil, nil, refused("file.encoding", "UTF-16 text", "UTF-8 text", "In the editor choose Save as, encoding UTF-8.")
		}
	}
	src = data
	if rest, ok := bytes.CutPrefix(data, []byte("\ufeff")); ok {
		src = rest
		findings = append(findings, problem.Finding{
			Rule: "file.mark", Severity: problem.Note, Where: problem.Place{File: name},
			Label: "the file", Got: "a byte order mark", Say: "The file begins with a byte order mark, which was passed over.",
			Next: "Nothing to do; an editor set to UTF-8 without it would leave it out.",
		})
	}
	if bytes.IndexByte(src, 0) >= 0 {
		return nil, nil, refused("file.kind", "not text", "a text file in UTF-8", "Was a spreadsheet or a picture meant as the season file?")
	}
	for at := 0; at < len(src); {
		c, size := utf8.DecodeRune(src[at:])
		if c == utf8.RuneError && size == 1 {
			e := refused("file.encoding", fmt.Sprintf("byte 0x%X", src[at]), "UTF-8 text", "In the editor choose Save as, encoding UTF-8.")
			e.Where = newReader(name, src[:at]).place(at)
			return nil, nil, e
		}
		at += size
	}
	return src, findings, nil
}

// zoneOf returns the farm's zone, or nil when it is not given or not known. It is needed before anything is read,
// for local times may stand anywhere.
func zoneOf(root *node) *time.Location {
	section := root.child("farm")
	if section == nil {
		return nil
	}
	name := section.child("zone")
	if name == nil || name.form != aText || name.text == "" || name.text == "Local" {
		return nil
	}
	zone, err := time.LoadLocation(name.text)
	if err != nil {
		return nil
	}
	return zone
}

// syntax reports text that is no TOML. What comes after it has not been read.
func (r *reader) syntax(stop int, err error) {
	if errors.Is(err, errTooDeep) {
		r.refuseAt(stop, refusal{"file.depth", "this value", "brackets in brackets", fmt.Sprintf("at most %d levels", maxDepth), "Take brackets away."})
		return
	}
	var wrong *unstable.ParserError
	if !errors.As(err, &wrong) {
		panic("seasonfile: " + err.Error())
	}
	message := wrong.Message
	end := len(bytes.TrimRight(r.src, " \t\r\n"))
	if stop >= end-1 && endsEarly(message) {
		from := max(0, end-maxGot/2)
		if cut := bytes.LastIndexByte(r.src[:end], '\n'); cut >= from {
			from = cut + 1
		}
		for from < end && !utf8.RuneStart(r.src[from]) {
			from++
		}
		r.refuseAt(min(stop, end), refusal{
			"file.truncated", "the end of the file", string(r.src[from:end]), "a whole file",
			"It stops in the middle of a line; copy the file again or finish the line.",
		})
		return
	}
	if stop < len(r.src) && r.src[stop] == '\n' && stop > 0 {
		stop-- // the end of the line that is wrong, not the start of the next
		for stop > 0 && !utf8.RuneStart(r.src[stop]) {
			stop--
		}
	}
	line := r.src[r.lines[r.line(stop)-1]:]
	if end := bytes.IndexAny(line, "\r\n"); end >= 0 {
		line = line[:end]
	}
	why := refusal{"file.syntax", "the line", strings.TrimSpace(string(line)), "", ""}
	why.want, why.next = mend(message)
	r.refuseAt(stop, why)
}

// endsEarly reports whether a message of the parser says that more text should have come.
func endsEarly(message string) bool {
	for _, part := range []string{
		"end of input", "incomplete", "untermin", "not terminated", "expected '=' after key",
		"to close", "after array value", "after inline table", "need a character", "too short", "strings must be quoted", "expected keyword", "digit",
	} {
		if strings.Contains(message, part) {
			return true
		}
	}
	return false
}

// mend turns a message of the parser into what is accepted and what to do.
func mend(message string) (want, next string) {
	for _, m := range []struct{ part, want, next string }{
		{"nested more than", fmt.Sprintf("at most %d levels of brackets", maxDepth), "Take brackets away."},
		{"cannot have new lines", "text that ends on its line", "Close the quote at the end of the text."},
		{"expected '=' after key", "name = value, [table] or [[table]]", "Put = between name and value, or # before a remark."},
		{"strings must be quoted", "text in double quotes", `Write it as "…"; units too: "35ft".`},
		{"at start of value", "a value: text in double quotes, a number, true, false or a date", "Put the value in double quotes."},
		{"expected keyword", "a value: text in double quotes, a number, true, false or a date", "Put the value in double quotes."},
		{"U+000D", "lines that end in LF or CRLF", "Save the file with the line ends of this computer."},
		{"expected newline", "one key on a line", "Start a new line, put the value in double quotes, or put # before a remark."},
		{"start of key", "name = value, [table] or [[table]]", "Put = between name and value, or # before a remark."},
		{"close table name", "[table] with its bracket closed", "Close the bracket."},
		{"close array table name", "[[table]] with both brackets closed", "Close both brackets."},
		{"after array value", "a list in brackets, values parted by commas", "Put a comma between values, or close the bracket."},
		{"inline table", "names and values in braces, parted by commas", "Put a comma between them, or close the brace."},
		{"incomplete", "brackets and braces that are closed", "Close what is open."},
		{"leading zeroes", "a number without zeros in front", "Take the zeros away, or put it in double quotes."},
		{"escape", `text in which \ stands as \\`, `Write \\ for \, or / in the names of files.`},
		{`after \`, `text in which \ stands as \\`, `Write \\ for \, or / in the names of files.`},
		{"control characters", "text that prints", "Take the hidden character out."},
		{"untermin", "text that ends on its line", "Close the quote at the end of the text."},
		{"not terminated", "text that ends", "Close the three quotes."},
		{"carriage return", "lines that end as on this computer", "Save the file again with line ends CRLF or LF."},
	} {
		if strings.Contains(message, m.part) {
			return m.want, m.next
		}
	}
	return "TOML text", "The reader says: " + message + "."
}

// byPlace orders findings as they stand in the file.
func byPlace(a, b problem.Finding) int {
	return cmp.Or(cmp.Compare(a.Where.Line, b.Where.Line), cmp.Compare(a.Where.Column, b.Where.Column))
}
