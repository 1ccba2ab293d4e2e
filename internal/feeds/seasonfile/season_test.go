package seasonfile_test

import (
	"os"
	"testing"
	_ "time/tzdata"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"threshday/internal/core/units"
	"threshday/internal/feeds/seasonfile"
)

const example = "../../../docs/reference/example-season.toml"

// equal compares seasons; instants by what they mean, nothing by its address.
var equal = cmp.Options{cmp.AllowUnexported(units.Temperature{}), cmpopts.EquateEmpty()}

func readExample(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile(example)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestTheExampleIsReadAndKept(t *testing.T) {
	s, findings, err := seasonfile.Read("example-season.toml", readExample(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		t.Logf("%+v", f)
	}
	text := seasonfile.Write(s)
	t.Logf("%s", text)
	again, _, err := seasonfile.Read("written.toml", text)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(s, again, equal); diff != "" {
		t.Errorf("writing and reading changes the season (-first +again):\n%s", diff)
	}
}
