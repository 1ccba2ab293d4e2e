package seasonfile_test

import (
	"bytes"
	"fmt"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	_ "time/tzdata"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"threshday/internal/core/farm"
	"threshday/internal/core/units"
	"threshday/internal/feeds/seasonfile"
)

const example = "../../../docs/reference/example-season.toml"

// equal compares seasons: instants by what they mean, empty lists and maps as absent.
var equal = cmp.Options{cmp.AllowUnexported(units.Temperature{}), cmpopts.EquateEmpty()}

func readExample(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile(example)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// kept fails unless s survives writing and reading, and the text of it is canonical. It returns the text.
func kept(t rapid.TB, s *farm.Season) []byte {
	t.Helper()
	text := seasonfile.Write(s)
	again, _, err := seasonfile.Read("written.toml", text)
	if err != nil {
		t.Fatalf("what was written is refused: %v\n%s", err, text)
	}
	if diff := cmp.Diff(s, again, equal); diff != "" {
		t.Fatalf("writing and reading changes the season (-first +again):\n%s\n%s", diff, text)
	}
	if twice := seasonfile.Write(again); !bytes.Equal(text, twice) {
		t.Fatalf("the text changes when it is written again:\n%s", cmp.Diff(strings.Split(string(text), "\n"), strings.Split(string(twice), "\n")))
	}
	return text
}

func TestTheExampleIsReadAndKept(t *testing.T) {
	s, findings, err := seasonfile.Read("example-season.toml", readExample(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		if f.Rule != seasonfile.NotUsed {
			t.Errorf("the example is doubtful: %+v", f)
		}
	}
	golden(t, "testdata/example.golden", string(kept(t, s)))
	want := []string{"schedules/elevator-corn.json", "schedules/elevator-soybean.json", "schedules/river-soybean.json", "weather/station.csv"}
	if got := seasonfile.Files(s); !slices.Equal(got, want) {
		t.Errorf("it refers to %q, want %q", got, want)
	}
}

func TestEverySeasonIsKept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { kept(t, seasons(false).Draw(t, "season")) })
}

// A field that is added to a record and forgotten here would be lost in every file.
func TestNoPartOfARecordIsForgotten(t *testing.T) {
	filled := map[string]bool{}
	keys := map[string]bool{}
	for seed := range 40 {
		s := seasons(true).Example(seed)
		corners("Season", reflect.ValueOf(*s), filled)
		text := string(kept(t, s))
		section := ""
		for _, line := range strings.Split(text, "\n") {
			if name, ok := strings.CutPrefix(line, "["); ok {
				section = strings.Trim(name, "[]")
				keys[section] = true
			} else if name, _, ok := strings.Cut(line, " = "); ok {
				keys[section+"."+name] = true
			}
		}
	}
	for corner, ok := range filled {
		if !ok {
			t.Errorf("no season of the test has %s", corner)
		}
	}
	for _, k := range seasonfile.Keys() {
		if !keys[k.Path] && !strings.HasPrefix(k.Path, "field.shares.") {
			t.Errorf("key %s is never written", k.Path)
		}
	}
}

// corners notes for each part of v, by its path in the type, whether it was ever anything but its zero.
func corners(path string, v reflect.Value, filled map[string]bool) {
	switch v.Kind() {
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[farm.Season]() || strings.HasPrefix(v.Type().String(), "farm.") {
			for i := range v.NumField() {
				corners(path+"."+v.Type().Field(i).Name, v.Field(i), filled)
			}
			return
		}
	case reflect.Slice:
		for i := range v.Len() {
			corners(path, v.Index(i), filled)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			corners(path, v.Elem(), filled)
			return
		}
	default:
	}
	filled[path] = filled[path] || !v.IsZero()
}

func ExampleRead() {
	_, _, err := seasonfile.Read("season.toml", []byte(`
[farm]
name = "Plover Hill"
zone = "America/Chicago"
year = 2031

[[field]]
id = "creek80"
crop = "soybeans"
acres = "78"
yield = "55"
base = "13%"
`))
	fmt.Println(err)
	// Output:
	// season.toml, line 9, column 8: field "creek80" crop is "soybeans"; accepted: one of soybean, corn, wheat, sorghum, canola, sunflower, barley, oats. Write "soybean" if that is meant.
	// season.toml, line 10, column 9: field "creek80" acres is "78"; accepted: acres from 0.01 to 20000. Write it without quotes.
	// season.toml, line 11, column 9: field "creek80" yield is "55"; accepted: a yield from 1bu/ac to 600bu/ac, as 55bu/ac or 3.7t/ha. Write the unit after the number: 55bu/ac or 55t/ha.
}
