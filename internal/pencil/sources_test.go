package pencil

import (
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"threshday/docs"
)

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
