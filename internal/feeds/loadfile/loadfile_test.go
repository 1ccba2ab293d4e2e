package loadfile_test

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"threshday/internal/core/crop"
	"threshday/internal/core/ledger"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/feeds/loadfile"
)

var central = time.FixedZone("", -5*3600)

// examples are the blocks of the reference page.
func examples(t testing.TB) []string {
	t.Helper()
	page, err := os.ReadFile("../../../docs/reference/loads.md")
	if err != nil {
		t.Fatal(err)
	}
	blocks := strings.Split(string(page), "```csv\n")[1:]
	for i := range blocks {
		blocks[i], _, _ = strings.Cut(blocks[i], "```")
	}
	if len(blocks) != 2 {
		t.Fatalf("%d examples, want loads and cheques", len(blocks))
	}
	return blocks
}

func TestTheReferencePageIsTrue(t *testing.T) {
	got, err := loadfile.Read("loads.csv", []byte(examples(t)[0]), central)
	if err != nil || len(got) != 6 {
		t.Fatalf("%d entries, %v", len(got), err)
	}
	first := got[0].Ticket
	if first.Number != "4711" || first.Place != "elevator" || first.Load.Net() != 51_280 || first.Load.Crop != crop.Soybean || first.Where.Line != 2 {
		t.Errorf("first %+v", first)
	}
	if !slices.Equal(first.From, []ledger.Source{{Field: "creek80", Part: 19_840}, {Field: "ridge", Part: 31_520}}) {
		t.Errorf("from %+v", first.From)
	}
	if at := time.Date(2031, 10, 2, 15, 20, 0, 0, time.UTC); !first.Weighed.Gross.Equal(at) {
		t.Errorf("weighed %s, want %s", first.Weighed.Gross, at)
	}
	if x, read := first.Load.Readings.Of(settlement.Moisture); !read || x != 14_20 {
		t.Errorf("moisture %s", x)
	}
	if _, read := got[2].Ticket.Load.Readings.Of(settlement.DamageTotal); read {
		t.Error("an empty cell was taken as a reading")
	}
	if got[4].Ticket != nil || got[4].Back != got[3].Ticket.ID || got[4].Reason != "the same paper as 4712" {
		t.Errorf("taken back %+v", got[4])
	}
	if s := got[5].Ticket.From; len(s) != 1 || s[0].Bin != "bin1" || s[0].Field != "" {
		t.Errorf("out of a bin %+v", s)
	}
	page, _ := os.ReadFile("../../../docs/reference/loads.md")
	for _, column := range loadfile.Columns()[:17] {
		if !strings.Contains(string(page), "`"+column+"`") {
			t.Errorf("the page does not name %s", column)
		}
	}
	cheques, err := loadfile.ReadCheques("cheques.csv", []byte(examples(t)[1]))
	if err != nil || len(cheques) != 2 || cheques[0].Total != 8512_40 || len(cheques[0].Lines) != 2 || cheques[1].Lines[0].Ticket != "" {
		t.Errorf("cheques %+v, %v", cheques, err)
	}
}

const head = "ticket,date,time_in,time_out,to,crop,from,gross_lb,tare_lb,net_lb,moisture,flags,takes_back,reason\n"

func TestWhatCannotBeUsedIsRefusedWithItsPlace(t *testing.T) {
	good := "4711,2031-10-02,10:20,10:41,elevator,soybean,ridge,78460,27180,51280,14.2,heating,,\n"
	if _, err := loadfile.Read("l.csv", []byte(head+good), central); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, old, new, want string }{
		{"date form", "2031-10-02", "10/02/2031", `l.csv, line 2, date: date is "10/02/2031"; accepted: a date of the calendar, as 2031-09-14.`},
		{"date that is none", "2031-10-02", "2031-02-30", `date is "2031-02-30"`},
		{"no date", "2031-10-02", "", `date is missing; accepted: the day at the buyer`},
		{"time form", "10:20", "10.20", `time_in is "10.20"; accepted: a date and time`},
		{"time order", "10:41", "10:02", `time_out is "10:02"; accepted: not before the time that stands before it. After midnight write the date too`},
		{"no place", "elevator", " ", `to is missing; accepted: the id of the outlet or bin`},
		{"crop", "soybean", "beans", `crop is "beans"; accepted: one of soybean, corn`},
		{"no crop", "soybean", "", `crop is missing`},
		{"decimal comma", "14.2", `"14,2"`, `moisture is "14,2"; accepted: a plain decimal number`},
		{"too fine", "14.2", "14.225", `moisture is "14.225"; accepted: 0 to 10,000, at most two decimals`},
		{"negative", "14.2", "-14.2", `moisture is "-14.2"`},
		{"formula", "14.2", "=14+0.2", `moisture is "=14+0.2"`},
		{"half a pound", "78460", "78460.5", `gross_lb is "78460.5"; accepted: whole pounds`},
		{"kilograms", "78460", "35589 kg", `gross_lb is "35589 kg"`},
		{"no tare", "27180", "", `tare_lb is missing`},
		{"net that does not follow", "51280", "51380", `net_lb is "51380"; accepted: 51280, gross less tare.`},
		{"flag", "heating", "smell", `flags is "smell"; accepted: one of odour_musty`},
		{"fee as a flag", "heating", "every_load", `flags is "every_load"`},
		{"a field twice", "ridge", "ridge=1 + ridge=2", `from is "ridge=1 + ridge=2"; accepted: each field once.`},
		{"parts without pounds", "ridge", "ridge + creek", `from is "ridge "; accepted: its pounds too, as ridge=19840`},
		{"no pounds", "ridge", "ridge=0 + creek=4", `accepted: whole pounds from 1, as ridge=19840`},
		{"no field", "ridge", "=19840", `from is "=19840"; accepted: a field's id or bin:ID.`},
		{"no bin", "ridge", "bin:", `from is "bin:"; accepted: a field's id or bin:ID.`},
		{"a reason for nothing", "heating,,", "heating,,moved", `reason is "moved"; accepted: a reason only in a row that takes a ticket back.`},
		{"a cell too many", good, good[:len(good)-1] + ",\n", `the row is "15 cells"; accepted: 14 cells`},
		{"thousands without quotes", "78460", "78,460", `the row is "15 cells"`},
		{"a quote in the middle", "ridge", `ri"dge`, `l.csv, line 2, column 48: the file is "bare \" in non-quoted-field"`},
		{"text too long", "ridge", strings.Repeat("x", 300), `accepted: at most 200 bytes`},
		{"control characters", "elevator", "ele\x07vator", `none of them control characters`},
		{"taken back and not there", good, ",,,,elevator,,,,,,,,4711,twice\n", `takes_back is "4711"; accepted: the number of an earlier ticket at "elevator". It stands above`},
		{"taken back without a reason", good, good + ",,,,elevator,,,,,,,,4711,\n", `line 3, reason: reason is missing; accepted: why the ticket counts no more`},
		{"taken back and entered", good, good + "4711,,,,elevator,,,,,,,,4711,twice\n", `line 3, ticket: ticket is "4711"; accepted: nothing in a row that takes a ticket back.`},
		{"taken back twice", good, good + ",,,,elevator,,,,,,,,4711,a\n,,,,elevator,,,,,,,,4711,b\n", `line 4, takes_back`},
		{"unknown column", "moisture,", "moist,", `line 1, moist: the column is "moist"; accepted: one of ticket, date`},
		{"column twice", "moisture,", "flags,", `the column is "flags, twice"; accepted: each column once.`},
		{"missing column", "gross_lb,", "", `the column gross_lb is missing`},
		{"semicolons", head, strings.ReplaceAll(head, ",", ";"), `accepted: columns parted by commas. Save it as CSV with commas.`},
		{"a spreadsheet", head, "PK\x03\x04" + head, `the file is "a spreadsheet"; accepted: a CSV file in UTF-8 with a header line. Save it as CSV UTF-8.`},
		{"not UTF-8", "elevator", "\xff", `the file is "bytes that are not UTF-8"`},
		{"zeros", "elevator", "\x00", `the file is "a byte of zero"`},
		{"empty", head + good, " \n", `the file is missing; accepted: a CSV file`},
	} {
		t.Run(c.name, func(t *testing.T) {
			bad := strings.Replace(head+good, c.old, c.new, 1)
			if bad == head+good {
				t.Fatal("the case changes nothing")
			}
			got, err := loadfile.Read("l.csv", []byte(bad), central)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v\nwant %s", err, c.want)
			}
			if got != nil {
				t.Error("a refused file still gives entries")
			}
		})
	}
}

func TestOddAndTrue(t *testing.T) {
	for _, c := range []struct{ name, text string }{
		{"byte order mark and old line ends", "\xef\xbb\xbf" + strings.ReplaceAll(head+"4711,2031-10-02,,,elevator,corn,ridge,78460,27180,,,,,\n", "\n", "\r\n")},
		{"capitals and spaces in the header", " Ticket , DATE,time_in,time_out,to,crop,from,gross_lb,tare_lb,net_lb,moisture,flags,takes_back,reason\n 4711 , 2031-10-02 ,,,elevator, Corn ,ridge, 78460 lb ,27180,,14.2 %,,,\n"},
		{"no number", head + ",2031-10-02,,,elevator,corn,ridge,78460,27180,,,,,\n,2031-10-02,,,elevator,corn,ridge,78460,27180,,,,,\n"},
		{"one number twice", head + "1,2031-10-02,,,elevator,corn,ridge,78460,27180,,,,,\n1,2031-10-02,,,elevator,corn,ridge,78460,27180,,,,,\n"},
		{"foreign letters", head + "№ 7,2031-10-02,,,Grünfeld,corn,élan,78460,27180,,,,,\n"},
		{"after midnight", head + "1,2031-10-02,23:50,2031-10-03 00:20,elevator,corn,ridge,78460,27180,,,,,\n"},
		{"an offset", head + "1,2031-10-02,2031-10-02T10:20:00-05:00,,elevator,corn,ridge,78460,27180,,,,,\n"},
		{"blank lines", head + "\n,,,,,,,,,,,,,\n1,2031-10-02,,,elevator,corn,ridge,78460,27180,,,,,\n\n"},
		{"no rows", head},
		{"gross under tare is for the ledger to say", head + "1,2031-10-02,,,elevator,corn,ridge,27180,78460,,,,,\n"},
	} {
		got, err := loadfile.Read("l.csv", []byte(c.text), central)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		ids := map[string]bool{}
		for _, e := range got {
			if ids[e.Ticket.ID] {
				t.Errorf("%s: two loads are %s", c.name, e.Ticket.ID)
			}
			ids[e.Ticket.ID] = true
		}
	}
	got, _ := loadfile.Read("l.csv", []byte(head+"1,2031-10-02,23:50,2031-10-03 00:20,elevator,corn,ridge,78460,27180,,,,,\n"), central)
	if got[0].Ticket.Day.String() != "2031-10-03" {
		t.Errorf("the day is %s, want that of the empty weighing", got[0].Ticket.Day)
	}
}

func TestEverythingWrongIsSaidAtOnceUpToFifty(t *testing.T) {
	_, err := loadfile.Read("l.csv", []byte(head+strings.Repeat("1,x,,,elevator,beans,ridge,a,b,,,,,\n", 3)), central)
	var all problem.InputErrors
	if !errors.As(err, &all) || len(all) != 12 {
		t.Errorf("%d refusals, want 12: %v", len(all), err)
	}
	_, err = loadfile.Read("l.csv", []byte(head+strings.Repeat("1,x,,,elevator,beans,ridge,a,b,,,,,\n", 300)), central)
	if !errors.As(err, &all) || len(all) < 50 || len(all) > 54 {
		t.Errorf("%d refusals, want about fifty", len(all))
	}
}

func TestBadChequesAreRefused(t *testing.T) {
	head := "cheque,outlet,party,date,total_usd,ticket,line_usd\n"
	for _, c := range []struct{ row, want string }{
		{"1,elevator,home,2031-10-20,100,4711,\n", "line_usd is missing"},
		{"1,elevator,home,2031-10-20,\"1.000,00\",4711,5\n", `total_usd is "1.000,00"`},
		{"1,elevator,,2031-10-20,100,4711,100\n", "party is missing"},
		{"1,elevator,home,20 Oct,100,4711,100\n", `date is "20 Oct"`},
		{"1,elevator,home,2031-10-20,100,1,50\n1,elevator,home,2031-10-20,101,2,50\n", `line 3, total_usd: total_usd is "101.00 on 2031-10-20"; accepted: 100.00 on 2031-10-20, as in its first row.`},
	} {
		if _, err := loadfile.ReadCheques("c.csv", []byte(head+c.row)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %s", c.row, err, c.want)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(examples(f)[0]))
	f.Add([]byte(head + ",2031-10-02,,,elevator,corn,bin:a=1 + b=2,78460,27180,,,,,\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := loadfile.Read("l.csv", data, central)
		if err != nil {
			if err.Error() == "" || got != nil {
				t.Error("refused without a word, or in part")
			}
			return
		}
		ids := map[string]bool{}
		for _, e := range got {
			if e.Ticket == nil {
				if !ids[e.Back] {
					t.Errorf("took %q back, which is not there", e.Back)
				}
				continue
			}
			if ids[e.Ticket.ID] || len(e.Ticket.From) == 0 {
				t.Errorf("ticket %+v", e.Ticket)
			}
			ids[e.Ticket.ID] = true
			_ = settlement.CheckLoad(e.Ticket.Load) // must not panic
		}
	})
}

func FuzzReadCheques(f *testing.F) {
	f.Add([]byte(examples(f)[1]))
	f.Fuzz(func(t *testing.T, data []byte) {
		if got, err := loadfile.ReadCheques("c.csv", data); err != nil && (err.Error() == "" || got != nil) {
			t.Error("refused without a word, or in part")
		}
	})
}

func BenchmarkRead10000(b *testing.B) {
	var text strings.Builder
	text.WriteString(head)
	for i := range 10_000 {
		fmt.Fprintf(&text, "%d,2031-10-02,10:20,10:41,elevator,soybean,creek=19840 + ridge=31520,78460,27180,51280,14.2,,,\n", i)
	}
	b.ReportAllocs()
	b.SetBytes(int64(text.Len()))
	for b.Loop() {
		if _, err := loadfile.Read("l.csv", []byte(text.String()), central); err != nil {
			b.Fatal(err)
		}
	}
}
