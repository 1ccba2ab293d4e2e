package schedulefile_test

import (
	"encoding/json"
	"errors"
	"flag"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/feeds/schedulefile"
)

var update = flag.Bool("update", false, "write the golden files of testdata")

func open(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func terms(t testing.TB) *settlement.Terms {
	t.Helper()
	s, err := schedulefile.ReadSchedule("beans.json", open(t, "beans.json"))
	if err != nil {
		t.Fatal(err)
	}
	out, _, err := settlement.Prepare(s)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// golden compares got with a file of testdata, read by a person when it changes.
func golden(t *testing.T, name string, v any) {
	t.Helper()
	var got strings.Builder
	enc := json.NewEncoder(&got)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile("testdata/"+name, []byte(got.String()), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if diff := cmp.Diff(string(open(t, name)), got.String()); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", name, diff)
	}
}

func TestASettledLoadAsScriptsReadIt(t *testing.T) {
	load, err := schedulefile.ReadTicket("load.json", open(t, "load.json"))
	if err != nil {
		t.Fatal(err)
	}
	under := terms(t)
	s, err := under.Settle(load, settlement.Prices{Cash: 987250, Premium: 6000})
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "settled.json", schedulefile.NewAnswer(under, s, nil))
}

func TestARefusedLoadHasNoMoney(t *testing.T) {
	load, err := schedulefile.ReadTicket("load.json", open(t, "load.json"))
	if err != nil {
		t.Fatal(err)
	}
	load.Readings = load.Readings.With(settlement.Moisture, 17_10)
	under := terms(t)
	s, err := under.Settle(load, settlement.Prices{Cash: 987250})
	var rejection *settlement.Rejection
	if !errors.As(err, &rejection) {
		t.Fatalf("got %v, want a rejection", err)
	}
	golden(t, "rejected.json", schedulefile.NewAnswer(under, s, rejection))
}

func TestBadScheduleFilesAreRefusedWithTheirPlace(t *testing.T) {
	good := string(open(t, "beans.json"))
	for _, c := range []struct{ name, old, new, want string }{
		{"number for a decimal", `"from": "1.0"`, `"from": 1.0`, `s.json, line 6, column 95: rows[0].from is "1.0"; accepted: the number as a string, "1.0", so that no digit is lost.`},
		{"unknown key", `"average"`, `"avarage"`, `s.json, line 3, column 115: avarage is "an unknown key"; accepted: one of applies_to, average,`},
		{"repeated key", `"seq": 21,`, `"seq": 21, "seq": 23,`, `line 8, column 24: rows[2].seq is "given twice"; accepted: once.`},
		{"missing key", `"seq": 22, `, ``, `line 9, column 5: rows[3].seq is missing; accepted: a value.`},
		{"unknown enum", `"net_price"`, `"netto"`, `style is "netto"; accepted: one of net_price, line_item.`},
		{"unknown factor", `"damage_total"`, `"damage"`, `rows[4].factor is "damage"; accepted: one of moisture, test_weight,`},
		{"wrong type", `"rows": [`, `"note": ["x"], "rows": [`, `note is "a list"; accepted: a string, "…".`},
		{"whole number", `"bu_decimals": 2`, `"bu_decimals": 2.5`, `bu_decimals is "2.5"; accepted: a whole number from 0 to 3.`},
		{"decimals out of range", `"bu_decimals": 2`, `"bu_decimals": 4`, `bu_decimals is "4"; accepted: a whole number from 0 to 3.`},
		{"exponent", `"60"`, `"6e1"`, `lb_per_bu is "6e1"; accepted: a plain decimal number`},
		{"date that is none", `"2031-09-01"`, `"2031-02-30"`, `valid_from is "2031-02-30"; accepted: a date like 2031-09-14.`},
		{"crop", `"soybean"`, `"soybeans"`, `crop is "soybeans"; accepted: one of soybean, corn,`},
		{"cut short", `"qty": "net_bu"}
  ]
}`, `"qty": "net_bu"`, `JSON is "an early end"; accepted: a whole JSON object.`},
		{"syntax", `"seq": 10,`, `"seq": 10,,`, `s.json, line 6, column 15: JSON is "a mistake`},
		{"two documents", "  ]\n}", "  ]\n} {}", `JSON is "more text behind the end"; accepted: one JSON object.`},
		{"not UTF-8", `"2031-09-01"`, "\"\xff\"", `JSON is "a byte that is not UTF-8"; accepted: text in UTF-8.`},
		{"a list", good, `[]`, `The file is "a list"; accepted: an object, {…}.`},
		{"deep", good, strings.Repeat("[", 40), `JSON is "nested too deeply"`},
		{"empty", good, ``, `JSON is "an early end"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			bad := strings.Replace(good, c.old, c.new, 1)
			if bad == good {
				t.Fatal("the case changes nothing")
			}
			s, err := schedulefile.ReadSchedule("s.json", []byte(bad))
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v\nwant %s", err, c.want)
			}
			if s.Rows != nil {
				t.Error("a refused file still gives rows")
			}
		})
	}
}

func TestBadTicketsAreRefusedWithTheirPlace(t *testing.T) {
	good := string(open(t, "load.json"))
	for _, c := range []struct{ name, old, new, want string }{
		{"number for a decimal", `"14.2"`, `14.2`, `moisture is "14.2"; accepted: the number as a string, "14.2"`},
		{"too fine", `"14.2"`, `"14.225"`, `moisture is "14.225"; accepted: at most two decimals, like 14.2.`},
		{"unknown factor", `"splits"`, `"split"`, `split is "an unknown key"; accepted: one of`},
		{"a flag as a key", `"splits": "12.0"`, `"odour_musty": "1"`, `odour_musty is "an unknown key"`},
		{"unknown flag", `[]`, `["smell"]`, `flags[0] is "smell"; accepted: one of odour_musty, odour_sour`},
		{"no weight", `"gross_lb": "78,460", `, ``, `gross_lb is missing`},
		{"half a pound", `"78,460"`, `"78460.5"`, `gross_lb is "78460.5"; accepted: whole pounds`},
		{"net that does not follow", `"flags"`, `"net_lb": "51,380", "flags"`, `net_lb is "51380"; accepted: 51280, gross less tare.`},
	} {
		t.Run(c.name, func(t *testing.T) {
			bad := strings.Replace(good, c.old, c.new, 1)
			if bad == good {
				t.Fatal("the case changes nothing")
			}
			if _, err := schedulefile.ReadTicket("t.json", []byte(bad)); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v\nwant %s", err, c.want)
			}
		})
	}
}

func TestEverythingWrongIsSaidAtOnce(t *testing.T) {
	_, err := schedulefile.ReadTicket("t.json", []byte(`{"crop": "hops", "gross_lb": "x", "moisture": 3, "colour": "red"}`))
	var all problem.InputErrors
	if !errors.As(err, &all) || len(all) != 5 {
		t.Errorf("got %v, want five refusals", err)
	}
}

func TestNullIsLeftOut(t *testing.T) {
	l, err := schedulefile.ReadTicket("t.json", []byte(`{"crop": "corn", "gross_lb": 100, "tare_lb": 40, "moisture": null, "bcfm": "3.4", "flags": ["heating"]}`))
	if err != nil {
		t.Fatal(err)
	}
	if _, measured := l.Readings.Of(settlement.Moisture); measured {
		t.Error("a null moisture was taken as a reading")
	}
	if x, _ := l.Readings.Of(settlement.BCFM); x != 3_40 || !l.Readings.Noted(settlement.Heating) || l.Net() != 60 {
		t.Errorf("read %+v", l)
	}
}

func FuzzReadSchedule(f *testing.F) {
	f.Add(open(f, "beans.json"))
	f.Add([]byte(`{"crop":"corn","rows":[{"seq":1,"factor":"glass","kind":"reject","direction":"flag"}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := schedulefile.ReadSchedule("s.json", data)
		if err != nil {
			if err.Error() == "" {
				t.Error("refused without a word")
			}
			return
		}
		terms, _, err := settlement.Prepare(s)
		if err != nil {
			return
		}
		// Whatever is accepted settles a load or says why not, and never panics.
		l := settlement.Load{Crop: s.Crop, Gross: 80_000, Tare: 26_000}
		for _, need := range terms.Needs() {
			low, high := need.Range(s.Crop)
			l.Readings = l.Readings.With(need, (low+high)/2)
		}
		futures := trade.Price(1_100_000)
		p := settlement.Prices{Cash: 1_000_000, Premium: 5000, Futures: &futures}
		st, err := terms.Settle(l, p)
		net, quickErr := terms.Net(l, p)
		if (err == nil) != (quickErr == nil) || err == nil && net != st.Net {
			t.Errorf("with lines %s, %v; without %s, %v", st.Net, err, net, quickErr)
		}
	})
}

// The sheet of a buyer who rounds each line: net a cent lower than ours.
func TestAnAuditAsScriptsReadIt(t *testing.T) {
	load, err := schedulefile.ReadTicket("load.json", open(t, "load.json"))
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := schedulefile.ReadSheet("sheet.json", open(t, "sheet.json"))
	if err != nil {
		t.Fatal(err)
	}
	out, _, err := settlement.Audit(settlement.AuditInput{
		Schedule: terms(t).Schedule(), Load: load, Prices: settlement.Prices{Cash: 987250, Premium: 6000}, Sheet: sheet,
	})
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "audited.json", schedulefile.NewAuditAnswer(out))
}

// What settle prints, read back as a sheet, agrees with itself.
func TestAnAnswerIsASheetThatAgrees(t *testing.T) {
	load, err := schedulefile.ReadTicket("load.json", open(t, "load.json"))
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := schedulefile.ReadSheet("settled.json", open(t, "settled.json"))
	if err != nil {
		t.Fatal(err)
	}
	out, _, err := settlement.Audit(settlement.AuditInput{
		Schedule: terms(t).Schedule(), Load: load, Prices: settlement.Prices{Cash: 987250, Premium: 6000}, Sheet: sheet,
	})
	if err != nil || !out.Agrees || len(sheet.Lines) != 7 {
		t.Errorf("got %+v, %v", out.Differ, err)
	}
}

func TestBadSheetsAreRefused(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`{"net_usd": 8049.79}`, `net_usd is "8049.79"; accepted: the number as a string, "8049.79"`},
		{`{"net_usd": "8049.795"}`, `net_usd is "8049.795"; accepted: dollars and cents`},
		{`{"lines": [{"usd": "-3.00"}]}`, `lines[0].factor is missing`},
		{`{"lines": [{"factor": "moistness"}]}`, `lines[0].factor is "moistness"; accepted: one of moisture,`},
		{`{"total": "1"}`, `total is "an unknown key"; accepted: one of charges, checkoff_usd`},
	} {
		if _, err := schedulefile.ReadSheet("sheet.json", []byte(c.text)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %s", c.text, err, c.want)
		}
	}
}

func FuzzReadSheet(f *testing.F) {
	f.Add(open(f, "settled.json"))
	f.Add(open(f, "sheet.json"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if _, err := schedulefile.ReadSheet("s.json", data); err != nil && err.Error() == "" {
			t.Error("refused without a word")
		}
	})
}

func FuzzReadTicket(f *testing.F) {
	f.Add(open(f, "load.json"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if l, err := schedulefile.ReadTicket("t.json", data); err == nil {
			_ = settlement.CheckLoad(l) // must not panic
		}
	})
}

// The examples of the reference page are read as they stand.
func TestTheReferencePageIsTrue(t *testing.T) {
	page, err := os.ReadFile("../../../docs/reference/schedule.md")
	if err != nil {
		t.Fatal(err)
	}
	blocks := strings.Split(string(page), "```json\n")
	if len(blocks) != 3 {
		t.Fatalf("%d examples, want a schedule and a ticket", len(blocks)-1)
	}
	for i := range blocks {
		blocks[i], _, _ = strings.Cut(blocks[i], "```")
	}
	s, err := schedulefile.ReadSchedule("schedule.md", []byte(blocks[1]))
	if err != nil {
		t.Fatal(err)
	}
	under, findings, err := settlement.Prepare(s)
	if err != nil || len(findings) > 0 {
		t.Fatalf("got %v, %v", findings, err)
	}
	l, err := schedulefile.ReadTicket("schedule.md", []byte(blocks[2]))
	if err != nil {
		t.Fatal(err)
	}
	got, err := under.Settle(l, settlement.Prices{Cash: 987250, Premium: 6000})
	if err != nil || got.Value.String() != "8090.25" {
		t.Errorf("got %s, %v", got.Value, err)
	}
	for _, f := range settlement.Factors() {
		if !strings.Contains(string(page), f.String()) {
			t.Errorf("the page does not name %s", f)
		}
	}
}
