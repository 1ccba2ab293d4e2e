package journal_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/journal"
)

// The worked example of a version 7 UUID, [rfc-9562] A.6: 22 February 2022, 14:22:22 at UTC−5.
func ExampleNewID() {
	at := time.Date(2022, 2, 22, 19, 22, 22, 0, time.UTC)
	fmt.Println(journal.NewID(at, [10]byte{0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f}))
	// Output: 017f22e2-79b0-7cc3-98c4-dc0c0c07398f
}

func TestIDsAreVersion7AndSortByInstant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		instant := func(name string) time.Time {
			return time.UnixMilli(rapid.Int64Range(0, 1<<47).Draw(t, name)).UTC()
		}
		random := [10]byte(rapid.SliceOfN(rapid.Byte(), 10, 10).Draw(t, "random"))
		a, b := instant("a"), instant("b")
		x, y := journal.NewID(a, random), journal.NewID(b, [10]byte{})
		u, err := uuid.Parse(string(x))
		if err != nil || u.Version() != 7 || u.Variant() != uuid.RFC4122 || u.String() != string(x) || !x.Valid() {
			t.Fatalf("%s: version %d, variant %v, %v", x, u.Version(), u.Variant(), err)
		}
		if sec, nsec := u.Time().UnixTime(); !time.Unix(sec, nsec).UTC().Equal(a) {
			t.Fatalf("%s: instant %v, want %v", x, time.Unix(sec, nsec).UTC(), a)
		}
		if a.Before(b) != (x < y) && !a.Equal(b) {
			t.Fatalf("%s of %v and %s of %v do not sort as their instants", x, a, y, b)
		}
	})
}

func TestIDsAreLowerCaseUUIDs(t *testing.T) {
	for text, want := range map[string]bool{
		"017f22e2-79b0-7cc3-98c4-dc0c0c07398f":  true,
		"9b2f8d9e-5c1a-4f0e-8b1a-2d3c4e5f6a7b":  true, // version 4: an old phone's
		"017F22E2-79B0-7CC3-98C4-DC0C0C07398F":  false,
		"017f22e279b07cc398c4dc0c0c07398f":      false,
		"017f22e2-79b0-7cc3-98c4-dc0c0c07398":   false,
		"017f22e2-79b0-7cc3-98c4-dc0c0c07398fa": false,
		"":                                      false,
	} {
		if got := journal.ID(text).Valid(); got != want {
			t.Errorf("%q: got %v, want %v", text, got, want)
		}
	}
}

func TestCanonicalForm(t *testing.T) {
	for _, c := range []struct{ name, in, want, source string }{
		{"keys sort, spaces go", `{ "b" : 2, "a" : [ true , "x" ] }`, `{"a":[true,"x"],"b":2}`, "[rfc-8785] 3.2.1, 3.2.3"},
		{
			"a string takes its shortest escapes",
			"{\"string\": \"\\u20ac$\\u000F\\u000aA'\\u0042\\u0022\\u005c\\\\\\\"\\/\"}",
			`{"string":"€$\u000f\nA'B\"\\\\\"/"}`, "[rfc-8785] 3.2.2, the standard's own example, from memory",
		},
		{"a pair of halves is one character", `{"s":"\ud83d\ude02"}`, `{"s":"😂"}`, "[rfc-8785] 3.2.2.2"},
		{"no escape for a line separator", `{"s":"\u2028"}`, "{\"s\":\"\u2028\"}", "[rfc-8785] 3.2.2.2"},
		{"integers to the end of the exact range", `{"n":[-9007199254740991,0,9007199254740991]}`, `{"n":[-9007199254740991,0,9007199254740991]}`, "[rfc-8785] 3.1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := journal.Canonical([]byte(c.in))
			if err != nil || string(got) != c.want {
				t.Fatalf("got %s, %v; want %s; source %s", got, err, c.want, c.source)
			}
		})
	}
}

func TestWhatJSONAllowsAndTheBookDoesNot(t *testing.T) {
	for name, in := range map[string]string{
		"fraction":              `{"n":1.5}`,
		"exponent":              `{"n":1e3}`,
		"an endless exponent":   `{"n":1e999}`,
		"beyond exact integers": `{"n":9007199254740992}`,
		"leading zero":          `{"n":07}`,
		"minus zero":            `{"n":-0}`,
		"null":                  `{"n":null}`,
		"not a number":          `{"n":NaN}`,
		"key twice":             `{"n":1,"n":1}`,
		"text after the end":    `{"n":1} x`,
		"no end":                `{"n":`,
		"half a character":      `{"s":"\ud83d"}`,
		"bare control":          "{\"s\":\"a\nb\"}",
		"not UTF-8":             "{\"s\":\"\xff\"}",
		"not an object":         `[1]`,
		"nested too deep":       strings.Repeat(`{"a":`, 10) + "1" + strings.Repeat("}", 10),
		"nested without end":    `{"a":` + strings.Repeat("[", 20_000),
	} {
		if got, err := journal.Canonical([]byte(in)); err == nil {
			t.Errorf("%s: %s was taken as %s", name, in, got)
		}
	}
}

func FuzzCanonical(f *testing.F) {
	f.Add([]byte(`{"a":[1,-2,true,"\u00e9\n"],"b":{"c":false}}`))
	f.Add([]byte(`{"s":"\ud83d\ude02\"\\"}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		once, err := journal.Canonical(raw)
		if err != nil {
			return
		}
		twice, err := journal.Canonical(once)
		if err != nil || string(twice) != string(once) {
			t.Fatalf("%q became %q, then %q, %v", raw, once, twice, err)
		}
	})
}

func entry() journal.Entry {
	return journal.Entry{
		Event: journal.Event{
			Farm: "home", ID: "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", Kind: "load.recorded", Body: []byte(`{"net_lb":51280}`),
			Origin: journal.Outbox, Device: "truck-2", Counter: 7, At: time.Date(2031, 9, 14, 18, 2, 11, 5e6, time.UTC), Offset: -300,
			Day: calendar.MustDay("2031-09-14"), By: "driver",
		},
		Seq: 3, Received: time.Date(2031, 9, 14, 18, 2, 12, 0, time.UTC), Status: journal.Review, Rules: []string{"load.double"},
	}
}

// The chain's hash can be recomputed with any SHA-256 tool from a line of the dump.
func TestChainIsSHA256OfThePreviousHashAndTheLine(t *testing.T) {
	const line = `{"at":"2031-09-14T18:02:11.005Z","body":{"net_lb":51280},"by":"driver","counter":7,"day":"2031-09-14",` +
		`"device":"truck-2","farm":"home","id":"017f22e2-79b0-7cc3-98c4-dc0c0c07398f","kind":"load.recorded","offset_min":-300,` +
		`"origin":"outbox","received_at":"2031-09-14T18:02:12.000Z","rules":["load.double"],"seq":3,"status":"review"}`
	if got := string(journal.Line(entry())); got != line {
		t.Fatalf("line\n got %s\nwant %s", got, line)
	}
	// computed: printf '%s\n%s' "$(printf '0%.0s' $(seq 64))" "$line" | sha256sum
	const want = "ee4fbabc15aae89d9a2b2be815177a0ae23a6fd4029f2d370837ff7e08388e6f"
	if got := journal.Chain(journal.Hash{}, entry()).String(); got != want {
		t.Errorf("hash got %s, want %s", got, want)
	}
}

func TestALineReadsBackAsTheEntry(t *testing.T) {
	e := entry()
	skew := -3 * time.Second
	e.Skew = &skew
	back, err := journal.ParseLine(journal.Line(e))
	if err != nil {
		t.Fatal(err)
	}
	if canonical, err := journal.Canonical(journal.Line(e)); err != nil || string(canonical) != string(journal.Line(e)) {
		t.Errorf("got %s, its canonical form is %s, %v", journal.Line(e), canonical, err)
	}
	if string(journal.Line(back)) != string(journal.Line(e)) || *back.Skew != skew || back.Day != e.Day || !back.At.Equal(e.At) {
		t.Errorf("got %+v, want %+v", back, e)
	}
}

func TestEveryPartOfAnEntryMovesTheHash(t *testing.T) {
	was := journal.Chain(journal.Hash{}, entry())
	for name, change := range map[string]func(*journal.Entry){
		"farm":     func(e *journal.Entry) { e.Farm = "other" },
		"id":       func(e *journal.Entry) { e.ID = "117f22e2-79b0-7cc3-98c4-dc0c0c07398f" },
		"kind":     func(e *journal.Entry) { e.Kind = "load.voided" },
		"body":     func(e *journal.Entry) { e.Body = []byte(`{"net_lb":51281}`) },
		"origin":   func(e *journal.Entry) { e.Origin = journal.Form },
		"device":   func(e *journal.Entry) { e.Device = "truck-3" },
		"counter":  func(e *journal.Entry) { e.Counter++ },
		"at":       func(e *journal.Entry) { e.At = e.At.Add(time.Millisecond) },
		"offset":   func(e *journal.Entry) { e.Offset = -360 },
		"day":      func(e *journal.Entry) { e.Day = e.Day.AddDays(1) },
		"by":       func(e *journal.Entry) { e.By = "owner" },
		"seq":      func(e *journal.Entry) { e.Seq++ },
		"received": func(e *journal.Entry) { e.Received = e.Received.Add(time.Second) },
		"status":   func(e *journal.Entry) { e.Status = journal.Stored },
		"rules":    func(e *journal.Entry) { e.Rules = nil },
	} {
		e := entry()
		change(&e)
		if journal.Chain(journal.Hash{}, e) == was {
			t.Errorf("changing the %s leaves the hash", name)
		}
	}
	if journal.Chain(journal.Hash{1}, entry()) == was {
		t.Error("another predecessor leaves the hash")
	}
}

func BenchmarkChain(b *testing.B) {
	e := entry()
	b.ReportAllocs()
	for b.Loop() {
		e.Hash = journal.Chain(e.Hash, e)
	}
}
