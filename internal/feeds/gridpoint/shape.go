package gridpoint

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxDepth is how deep brackets may stand in an answer; real ones reach 8.
const maxDepth = 16

// checkShape refuses an answer that is too large, no text, no object or nested too deep, before it is parsed.
func checkShape(name string, data []byte) error {
	const want = "the JSON answer of the service"
	switch {
	case len(data) > MaxBytes:
		return refused(name, "forecast.size", "forecast", fmt.Sprintf("%.1f MB", float64(len(data))/(1<<20)), fmt.Sprintf("at most %d MB", MaxBytes>>20), "")
	case !utf8.Valid(data) || !strings.HasPrefix(strings.TrimSpace(string(data[:min(len(data), 64)])), "{"):
		return refused(name, "forecast.json", "forecast", begin(data), want, "Fetch it again.")
	case depth(data) > maxDepth:
		return refused(name, "forecast.depth", "forecast", fmt.Sprintf("nested %d deep", depth(data)), fmt.Sprintf("at most %d brackets in each other", maxDepth), "")
	}
	return nil
}

// depth returns how deep brackets stand in each other.
func depth(data []byte) int {
	deepest, now, quoted, escaped := 0, 0, false, false
	for _, c := range data {
		switch {
		case escaped:
			escaped = false
		case quoted && c == '\\':
			escaped = true
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '{' || c == '[':
			now++
			deepest = max(deepest, now)
		case c == '}' || c == ']':
			now--
		}
	}
	return deepest
}

// begin returns how a text begins, for messages.
func begin(data []byte) string { return printable(data, 40) }

// printable returns up to most bytes of a text on one line.
func printable(data []byte, most int) string {
	text := strings.ToValidUTF8(string(data[:min(len(data), most)]), "?")
	text = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return ' '
		}
		return r
	}, text)
	if text = strings.Join(strings.Fields(text), " "); text == "" {
		return "empty"
	}
	return text
}
