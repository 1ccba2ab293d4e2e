package journal

import (
	"fmt"
	"slices"
	"strconv"
	"unicode/utf8"
)

const (
	maxDepth   = 8         // lists and objects inside one another; judgement
	maxInteger = 1<<53 - 1 // the largest a phone's number holds exactly [rfc-8785] 3.1
)

// Canonical returns the one form in which the JSON object raw is stored: keys sorted, no space, the shortest
// escapes [rfc-8785] 3.2. It takes less than JSON does: no null, no fraction, no exponent, no integer beyond
// ±(2^53−1), no key twice, at most eight levels, well-formed UTF-8. Keys are ASCII in every body there is, so
// sorting bytes equals the sorting of UTF-16 units that the standard asks for.
func Canonical(raw []byte) ([]byte, error) {
	v, err := parseObject(raw)
	if err != nil {
		return nil, err
	}
	return appendValue(nil, v), nil
}

// parseObject reads one JSON object and nothing after it.
func parseObject(raw []byte) (map[string]any, error) {
	if !utf8.Valid(raw) {
		return nil, fmt.Errorf("the text is not UTF-8")
	}
	p := parser{raw: raw}
	v, err := p.value(0)
	if err != nil {
		return nil, fmt.Errorf("at byte %d: %w", p.at, err)
	}
	if p.space(); p.at < len(raw) {
		return nil, fmt.Errorf("at byte %d: text after the end", p.at)
	}
	m, ok := v.(map[string]any)
	if !ok {
		return nil, fmt.Errorf("not an object")
	}
	return m, nil
}

// appendValue appends the canonical form of v: map[string]any, []any, string, int64 or bool.
func appendValue(dst []byte, v any) []byte {
	switch v := v.(type) {
	case map[string]any:
		keys := make([]string, 0, len(v))
		for k := range v {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		dst = append(dst, '{')
		for i, k := range keys {
			if i > 0 {
				dst = append(dst, ',')
			}
			dst = append(appendString(dst, k), ':')
			dst = appendValue(dst, v[k])
		}
		return append(dst, '}')
	case []any:
		dst = append(dst, '[')
		for i, x := range v {
			if i > 0 {
				dst = append(dst, ',')
			}
			dst = appendValue(dst, x)
		}
		return append(dst, ']')
	case string:
		return appendString(dst, v)
	case int64:
		return strconv.AppendInt(dst, v, 10)
	case bool:
		return strconv.AppendBool(dst, v)
	case canonical:
		return append(dst, v...)
	}
	panic(fmt.Sprintf("journal: no canonical form of %T", v))
}

// canonical is JSON that already has its canonical form.
type canonical []byte

func appendString(dst []byte, s string) []byte {
	const hexDigits = "0123456789abcdef"
	dst = append(dst, '"')
	for i := range len(s) {
		switch c := s[i]; {
		case c == '"' || c == '\\':
			dst = append(dst, '\\', c)
		case c >= 0x20:
			dst = append(dst, c)
		case c == '\b':
			dst = append(dst, '\\', 'b')
		case c == '\t':
			dst = append(dst, '\\', 't')
		case c == '\n':
			dst = append(dst, '\\', 'n')
		case c == '\f':
			dst = append(dst, '\\', 'f')
		case c == '\r':
			dst = append(dst, '\\', 'r')
		default:
			dst = append(dst, '\\', 'u', '0', '0', hexDigits[c>>4], hexDigits[c&15])
		}
	}
	return append(dst, '"')
}

type parser struct {
	raw []byte
	at  int
}

func (p *parser) space() {
	for p.at < len(p.raw) {
		switch p.raw[p.at] {
		case ' ', '\t', '\n', '\r':
			p.at++
		default:
			return
		}
	}
}

// next returns the next byte that is not space, without taking it; 0 at the end.
func (p *parser) next() byte {
	p.space()
	if p.at == len(p.raw) {
		return 0
	}
	return p.raw[p.at]
}

func (p *parser) take(c byte) bool {
	if p.next() != c {
		return false
	}
	p.at++
	return true
}

func (p *parser) value(depth int) (any, error) {
	if depth > maxDepth {
		return nil, fmt.Errorf("nested more than %d deep", maxDepth)
	}
	switch c := p.next(); {
	case c == '{':
		return p.object(depth)
	case c == '[':
		return p.list(depth)
	case c == '"':
		return p.text()
	case c == '-' || c >= '0' && c <= '9':
		return p.integer()
	}
	for word, v := range map[string]bool{"true": true, "false": false} {
		if end := p.at + len(word); end <= len(p.raw) && string(p.raw[p.at:end]) == word {
			p.at = end
			return v, nil
		}
	}
	return nil, fmt.Errorf("expected an object, a list, a text, an integer, true or false")
}

func (p *parser) object(depth int) (any, error) {
	p.at++
	m := map[string]any{}
	if p.take('}') {
		return m, nil
	}
	for {
		if p.next() != '"' {
			return nil, fmt.Errorf("expected a key")
		}
		k, err := p.text()
		if err != nil {
			return nil, err
		}
		if _, twice := m[k]; twice {
			return nil, fmt.Errorf("the key %q stands twice", k)
		}
		if !p.take(':') {
			return nil, fmt.Errorf("expected a colon after %q", k)
		}
		if m[k], err = p.value(depth + 1); err != nil {
			return nil, err
		}
		if p.take('}') {
			return m, nil
		}
		if !p.take(',') {
			return nil, fmt.Errorf("expected a comma or } after %q", k)
		}
	}
}

func (p *parser) list(depth int) (any, error) {
	p.at++
	list := []any{}
	if p.take(']') {
		return list, nil
	}
	for {
		v, err := p.value(depth + 1)
		if err != nil {
			return nil, err
		}
		list = append(list, v)
		if p.take(']') {
			return list, nil
		}
		if !p.take(',') {
			return nil, fmt.Errorf("expected a comma or ] in a list")
		}
	}
}

func (p *parser) integer() (any, error) {
	from := p.at
	if p.raw[p.at] == '-' {
		p.at++
	}
	digits := p.at
	for p.at < len(p.raw) && p.raw[p.at] >= '0' && p.raw[p.at] <= '9' {
		p.at++
	}
	text := string(p.raw[from:p.at])
	if p.at < len(p.raw) && (p.raw[p.at] == '.' || p.raw[p.at] == 'e' || p.raw[p.at] == 'E') {
		return nil, fmt.Errorf("numbers are integers; %q goes on with a fraction or an exponent", text)
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n > maxInteger || n < -maxInteger {
		return nil, fmt.Errorf("%q is not an integer of at most 15 digits", text)
	}
	if text == "-0" || len(p.raw[digits:p.at]) > 1 && p.raw[digits] == '0' {
		return nil, fmt.Errorf("%q is not how an integer is written", text)
	}
	return n, nil
}

func (p *parser) text() (string, error) {
	p.at++
	var out []byte
	for p.at < len(p.raw) {
		c := p.raw[p.at]
		p.at++
		switch {
		case c == '"':
			return string(out), nil
		case c < 0x20:
			return "", fmt.Errorf("a control character stands in a text")
		case c != '\\':
			out = append(out, c)
			continue
		}
		if p.at == len(p.raw) {
			break
		}
		c = p.raw[p.at]
		p.at++
		switch c {
		case '"', '\\', '/':
			out = append(out, c)
		case 'b':
			out = append(out, '\b')
		case 'f':
			out = append(out, '\f')
		case 'n':
			out = append(out, '\n')
		case 'r':
			out = append(out, '\r')
		case 't':
			out = append(out, '\t')
		case 'u':
			r, err := p.unicode()
			if err != nil {
				return "", err
			}
			out = utf8.AppendRune(out, r)
		default:
			return "", fmt.Errorf("%q is not an escape", `\`+string(c))
		}
	}
	return "", fmt.Errorf("a text has no end")
}

// unicode reads the four digits after \u, and the second half of a pair where the first asks for it.
func (p *parser) unicode() (rune, error) {
	hi, err := p.hex4()
	if err != nil {
		return 0, err
	}
	if hi < 0xd800 || hi > 0xdfff {
		return hi, nil
	}
	if hi < 0xdc00 && p.at+1 < len(p.raw) && p.raw[p.at] == '\\' && p.raw[p.at+1] == 'u' {
		p.at += 2
		lo, err := p.hex4()
		if err != nil {
			return 0, err
		}
		if lo >= 0xdc00 && lo <= 0xdfff {
			return 0x10000 + (hi-0xd800)<<10 + (lo - 0xdc00), nil
		}
	}
	return 0, fmt.Errorf("half a character stands alone")
}

func (p *parser) hex4() (rune, error) {
	if p.at+4 > len(p.raw) {
		return 0, fmt.Errorf(`\u needs four digits`)
	}
	n, err := strconv.ParseUint(string(p.raw[p.at:p.at+4]), 16, 32)
	if err != nil {
		return 0, fmt.Errorf(`\u needs four digits`)
	}
	p.at += 4
	return rune(n), nil //nolint:gosec // within range by construction
}
