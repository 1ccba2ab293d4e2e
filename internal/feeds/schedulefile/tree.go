package schedulefile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"threshday/internal/core/problem"
)

// maxBytes and maxDepth bound what is read: a posted schedule is a few kilobytes, five levels deep.
const (
	maxBytes = 1 << 20
	maxDepth = 16
)

// A node is one value of a JSON text with the place it stands.
type node struct {
	kind   byte // '{', '[', '"', '0' number, 't' boolean, 'n' null
	text   string
	keys   []string // of an object, as many as items
	items  []node
	offset int
}

// tree parses data; unlike the standard decoder it keeps places and repeated keys.
func tree(file string, data []byte) (node, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	at := func(offset int, got, want string) error {
		return &problem.InputError{Rule: "json.form", Label: "JSON", Got: got, Want: want, Where: place(file, data, offset, "")}
	}
	if len(data) > maxBytes {
		return node{}, at(0, fmt.Sprintf("%d bytes", len(data)), fmt.Sprintf("at most %d bytes", maxBytes))
	}
	if !utf8.Valid(data) {
		return node{}, at(badByte(data), "a byte that is not UTF-8", "text in UTF-8")
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	root, err := value(dec, data, 0)
	if err == nil {
		if _, err = dec.Token(); errors.Is(err, io.EOF) {
			return root, nil
		}
		return node{}, at(int(dec.InputOffset()), "more text behind the end", "one JSON object")
	}
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &syntax):
		return node{}, at(int(syntax.Offset)-1, "a mistake ("+syntax.Error()+")", "a JSON object")
	case errors.Is(err, errDeep):
		return node{}, at(int(dec.InputOffset()), "nested too deeply", fmt.Sprintf("at most %d levels", maxDepth))
	case errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF):
		return node{}, at(len(data), "an early end", "a whole JSON object")
	}
	return node{}, at(int(dec.InputOffset()), "a mistake ("+err.Error()+")", "a JSON object")
}

var errDeep = errors.New("nested too deeply")

// value reads the next value of dec.
func value(dec *json.Decoder, data []byte, depth int) (node, error) {
	if depth > maxDepth {
		return node{}, errDeep
	}
	token, err := dec.Token()
	if err != nil {
		return node{}, err
	}
	n := node{offset: int(dec.InputOffset()) - 1}
	switch v := token.(type) {
	case string:
		n.kind, n.text = '"', v
		n.offset = start(data, n.offset)
	case json.Number:
		n.kind, n.text = '0', v.String()
		n.offset -= len(n.text) - 1
	case bool:
		n.kind, n.text = 't', fmt.Sprint(v)
		n.offset -= len(n.text) - 1
	case nil:
		n.kind, n.text = 'n', "null"
		n.offset -= len(n.text) - 1
	case json.Delim:
		n.kind = byte(v) //nolint:gosec // a bracket
		for dec.More() {
			if n.kind == '{' {
				key, err := dec.Token()
				if err != nil {
					return node{}, err
				}
				n.keys = append(n.keys, key.(string)) // the decoder lets nothing else stand there
			}
			item, err := value(dec, data, depth+1)
			if err != nil {
				return node{}, err
			}
			n.items = append(n.items, item)
		}
		if _, err := dec.Token(); err != nil {
			return node{}, err
		}
	}
	return n, nil
}

// start returns where the string that ends at the quote data[end] begins.
func start(data []byte, end int) int {
	for i := end - 1; i >= 0; i-- {
		if data[i] != '"' {
			continue
		}
		slashes := 0
		for j := i - 1; j >= 0 && data[j] == '\\'; j-- {
			slashes++
		}
		if slashes%2 == 0 {
			return i
		}
	}
	return 0
}

func badByte(data []byte) int {
	for i := 0; i < len(data); {
		r, size := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && size == 1 {
			return i
		}
		i += size
	}
	return len(data)
}

// place turns an offset into line and column, counted from 1 in characters.
func place(file string, data []byte, offset int, path string) problem.Place {
	offset = max(0, min(offset, len(data)))
	before := data[:offset]
	line := bytes.Count(before, []byte("\n")) + 1
	column := utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1
	return problem.Place{File: file, Line: line, Column: column, Path: path}
}
