package treefile

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"unicode/utf8"

	"threshday/internal/core/problem"
)

// A scanner reads JSON from the front, value by value. A tree holds millions of numbers; they are read where they
// stand, without a value for each in between.
type scanner struct {
	file string
	data []byte
	at   int
}

// fail returns the complaint about what stands at an offset.
func (s *scanner) fail(offset int, rule, label, got, want string) error {
	before := s.data[:min(offset, len(s.data))]
	return &problem.InputError{
		Rule: rule, Label: label, Got: got, Want: want,
		Where: problem.Place{
			File: s.file, Line: bytes.Count(before, []byte("\n")) + 1,
			Column: utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1,
		},
	}
}

// skipMark passes over a byte order mark.
func (s *scanner) skipMark() { s.data = bytes.TrimPrefix(s.data, []byte("\xef\xbb\xbf")) }

// next passes over blanks and returns the byte that stands there, 0 at the end.
func (s *scanner) next() byte {
	for s.at < len(s.data) {
		switch c := s.data[s.at]; c {
		case ' ', '\t', '\n', '\r':
			s.at++
		default:
			return c
		}
	}
	return 0
}

// open passes over the bracket that a value must begin with.
func (s *scanner) open(bracket byte, label, want string) error {
	if s.next() != bracket {
		return s.fail(s.at, "json.type", label, s.shown(), want)
	}
	s.at++
	return nil
}

// more says whether another item stands before the closing bracket, and passes over the comma or the bracket.
func (s *scanner) more(closing byte, first bool) (bool, error) {
	c := s.next()
	switch {
	case c == closing:
		s.at++
		return false, nil
	case first:
		return true, nil
	case c == ',':
		s.at++
		if s.next() == closing {
			return false, s.form(fmt.Sprintf("another value behind the comma, or no comma before %q", string(closing)))
		}
		return true, nil
	}
	return false, s.form(fmt.Sprintf("a comma or %q", string(closing)))
}

// end refuses what stands behind the end.
func (s *scanner) end() error {
	if s.next() != 0 || s.at < len(s.data) {
		return s.form("nothing behind the end of the object")
	}
	return nil
}

func (s *scanner) form(want string) error {
	return s.fail(s.at, "json.form", "JSON", s.shown(), want)
}

// shown returns what stands here, for a message.
func (s *scanner) shown() string {
	switch c := s.next(); {
	case c == 0 && s.at >= len(s.data):
		return "an early end"
	case c == '{':
		return "an object"
	case c == '[':
		return "a list"
	}
	return shorten(string(s.data[s.at:s.wordEnd()]))
}

// wordEnd returns where the number, word or string that begins here ends.
func (s *scanner) wordEnd() int {
	k := s.at
	if s.data[k] == '"' {
		for k++; k < len(s.data) && s.data[k] != '"' && s.data[k] != '\n'; k++ {
			if s.data[k] == '\\' {
				k++
			}
		}
		return min(k+1, len(s.data))
	}
	for k < len(s.data) && !bytes.ContainsRune([]byte(" \t\r\n,:[]{}\""), rune(s.data[k])) {
		k++
	}
	return max(k, s.at+1)
}

// shorten keeps what fits a sentence.
func shorten(text string) string {
	const most = 40
	if utf8.RuneCountInString(text) > most {
		text = string([]rune(text)[:most]) + "…"
	}
	return text
}

// key reads a string and the colon behind it.
func (s *scanner) key() (string, error) {
	if s.next() != '"' {
		return "", s.form("a key, \"…\"")
	}
	end := s.wordEnd()
	var key string
	if err := json.Unmarshal(s.data[s.at:end], &key); err != nil {
		return "", s.form("a key, \"…\"")
	}
	s.at = end
	if s.next() != ':' {
		return "", s.form("a colon behind the key")
	}
	s.at++
	return key, nil
}

// A path says where a value stands, as nodes[5][3][0]. It is a function, for it is wanted in complaints only.
type path func() string

func named(key string) path { return func() string { return key } }

// list calls each for every item of a list.
func (s *scanner) list(at path, want string, each func(path) error) error {
	if s.next() != '[' {
		return s.fail(s.at, "json.type", at(), s.shown(), want)
	}
	s.at++
	count := 0
	inner := func() string { return at() + "[" + strconv.Itoa(count) + "]" }
	for ; ; count++ {
		more, err := s.more(']', count == 0)
		if err != nil || !more {
			return err
		}
		if err := each(inner); err != nil {
			return err
		}
	}
}

// null passes over a null, if one stands here.
func (s *scanner) null() bool {
	if s.next() == 'n' && string(s.data[s.at:s.wordEnd()]) == "null" {
		s.at += len("null")
		return true
	}
	return false
}

// number reads a number.
func (s *scanner) number(at path, want string) (float64, error) {
	if s.next() == 0 {
		return 0, s.fail(s.at, "json.type", at(), s.shown(), want)
	}
	word := s.data[s.at:s.wordEnd()]
	if !isNumber(word) {
		return 0, s.fail(s.at, "json.type", at(), s.shown(), want)
	}
	v, err := strconv.ParseFloat(string(word), 64)
	if err != nil {
		return 0, s.fail(s.at, "json.range", at(), s.shown(), "a number between -1e308 and 1e308")
	}
	s.at += len(word)
	return v, nil
}

// whole reads a whole number.
func (s *scanner) whole(at path, low, high int) (int, error) {
	want := fmt.Sprintf("a whole number from %d to %d", low, high)
	s.next()
	start := *s
	v, err := s.number(at, want)
	if err == nil && (v != math.Trunc(v) || v < float64(low) || v > float64(high)) {
		err = s.fail(start.at, "json.type", at(), start.shown(), want)
	}
	return int(v), err
}

// isNumber says whether a word is a number as JSON writes it.
func isNumber(w []byte) bool {
	digits := func() int {
		n := 0
		for n < len(w) && w[n] >= '0' && w[n] <= '9' {
			n++
		}
		w = w[n:]
		return n
	}
	if len(w) > 0 && w[0] == '-' {
		w = w[1:]
	}
	zero := len(w) > 0 && w[0] == '0'
	if n := digits(); n == 0 || zero && n > 1 {
		return false
	}
	if len(w) > 0 && w[0] == '.' {
		w = w[1:]
		if digits() == 0 {
			return false
		}
	}
	if len(w) > 0 && (w[0] == 'e' || w[0] == 'E') {
		w = w[1:]
		if len(w) > 0 && (w[0] == '-' || w[0] == '+') {
			w = w[1:]
		}
		if digits() == 0 {
			return false
		}
	}
	return len(w) == 0
}
