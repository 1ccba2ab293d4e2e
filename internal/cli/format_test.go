package cli

import (
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestWrapLosesNoWordAndKeepsTheWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOf(rapid.StringMatching(`[a-zß°%½.]{1,12}`)).Draw(t, "words")
		width := rapid.IntRange(12, 100).Draw(t, "width")
		text := strings.Join(words, " ")
		lines := wrap(text, width)
		for _, l := range lines {
			if utf8.RuneCountInString(l) > width {
				t.Fatalf("%q is wider than %d", l, width)
			}
		}
		if got := strings.Join(strings.Fields(strings.Join(lines, " ")), " "); got != text {
			t.Fatalf("%q became %q", text, got)
		}
	})
}

func TestColorStandsOnlyWhereItIsWanted(t *testing.T) {
	plain, colored := printer{}, printer{color: true}
	if got := plain.bold("x"); got != "x" {
		t.Errorf("plain %q", got)
	}
	if got := colored.bold("x"); got != "\x1b[1mx\x1b[0m" {
		t.Errorf("colored %q", got)
	}
}
