package cli

import (
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"threshday/docs"
)

func TestDigitsPartThousandsAndKeepTheNumber(t *testing.T) {
	for _, c := range []struct {
		x        float64
		decimals int
		want     string
	}{
		{0, 0, "0"}, {999, 0, "999"}, {1000, 0, "1,000"}, {1934.55, 2, "1,934.55"}, {-1234567.891, 1, "-1,234,567.9"}, {-0.001, 2, "0.00"}, {-100, 0, "-100"},
	} {
		if got := digits(c.x, c.decimals); got != c.want {
			t.Errorf("digits(%v, %d) = %q, want %q", c.x, c.decimals, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e9, 1e9).Draw(t, "x")
		decimals := rapid.IntRange(0, 4).Draw(t, "decimals")
		back, err := strconv.ParseFloat(strings.ReplaceAll(digits(x, decimals), ",", ""), 64)
		if err != nil || math.Abs(back-x) > 0.5001*math.Pow10(-decimals) {
			t.Fatalf("digits(%v, %d) = %q", x, decimals, digits(x, decimals))
		}
	})
}

func TestShortLeavesNoZerosBehindThePoint(t *testing.T) {
	for x, want := range map[float64]string{12: "12", 4.5: "4.5", 100: "100", 0.019: "0.019", 1934.5: "1,934.5", 0: "0"} {
		if got := short(x, 4); got != want {
			t.Errorf("short(%v) = %q, want %q", x, got, want)
		}
	}
}

func TestTwoDigitsAreTwo(t *testing.T) {
	for x, want := range map[float64]string{7.04: "7.0", 0.64: "0.64", 15.16: "15", 9.96: "10", 0.996: "1.0", 0: "0.00"} {
		if got := twoDigits(x); got != want {
			t.Errorf("twoDigits(%v) = %q, want %q", x, got, want)
		}
	}
}

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

func TestFiguresRoundToSixPlaces(t *testing.T) {
	for x, want := range map[float64]string{1.0 / 3: "0.333333", 80000: "80000", -31.62: "-31.62", 1e-9: "0"} {
		got, err := figure(x).MarshalJSON()
		if err != nil || string(got) != want {
			t.Errorf("figure(%v) = %s, %v; want %s", x, got, err, want)
		}
	}
}

func TestEverySourceAPencilNamesIsInTheTable(t *testing.T) {
	known := docs.Sources()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	calls := regexp.MustCompile(`(?:sources\(|keys: +\[\]string\{|keys = (?:append\(keys, |\[\]string\{))("[^)}]*")`)
	named := 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, call := range calls.FindAllStringSubmatch(string(text), -1) {
			for _, quoted := range strings.Split(call[1], ",") {
				key, err := strconv.Unquote(strings.TrimSpace(quoted))
				if err != nil {
					continue
				}
				named++
				if _, ok := known[key]; !ok {
					t.Errorf("%s names the source %s, which the table does not have", file, key)
				}
			}
		}
	}
	if named < 20 {
		t.Errorf("only %d sources found in the pencils: the pattern no longer fits", named)
	}
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
