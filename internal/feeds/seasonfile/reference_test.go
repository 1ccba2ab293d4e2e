package seasonfile_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"threshday/internal/core/problem"
	"threshday/internal/feeds/seasonfile"
)

// The page is made from the keys, which are what the reader reads by.
func TestTheReferencePageTellsEveryKey(t *testing.T) {
	golden(t, "../../../docs/reference/season-file.md", page(seasonfile.Keys()))
}

const preface = `# The season file

A season file holds the records of one farm in one season as text: fields, machines, outlets, bids, contracts, bins,
readings. A person writes it in any editor; the program reads it, and writes it back without losing anything but remarks.
[example-season.toml](example-season.toml) is a whole one for a farm with three fields.

This page is made from the table that the reader itself goes by.

## How it is written

- It is [TOML](https://toml.io): ` + "`[farm]`" + ` opens the one table of that name, ` + "`[[field]]`" + ` one more record of its kind, and the lines
  below it, ` + "`name = value`" + `, belong to it. ` + "`[[field.entrance]]`" + ` belongs to the field above it. What follows ` + "`#`" + ` is a remark.
- A quantity carries its unit, in quotes. Where two units are common a bare number is refused; where only one is (percent, bushels, days) it may be left out.

  | what | as |
  | --- | --- |
  | length | ` + "`\"35ft\"` `\"13ft6in\"` `\"10.7m\"` `\"30in\"` `\"75cm\"`" + ` |
  | distance by road | ` + "`\"18mi\"` `\"29km\"`" + ` |
  | weight | ` + "`\"80000lb\"` `\"36.3t\"` `\"450kg\"`" + ` (t is the metric tonne) |
  | speed | ` + "`\"4.5mph\"` `\"7.2km/h\"`" + ` |
  | temperature | ` + "`\"77F\"` `\"25C\"`" + ` |
  | yield | ` + "`\"55bu/ac\"` `\"3.7t/ha\"` `\"3300lb/ac\"`" + ` |
  | time needed | ` + "`\"12min\"` `\"1.5h\"` `\"45s\"`" + ` |
  | money | ` + "`\"$9.8725\"` `\"-35c\"`" + `, with or without ` + "`/bu`" + ` and the like |
  | percentage, moisture | ` + "`\"15.5%\"` or `15.5`" + ` |
  | bushels | ` + "`\"350bu\"` or `350`" + ` |
  | date | ` + "`2031-09-14`" + ` |
  | moment | ` + "`\"2031-09-14 07:10\"`" + ` on the farm's clock, or ` + "`2031-09-14T07:10:00-05:00`" + ` |
  | hours of a day | ` + "`\"07:00-19:00\"`" + ` |

- A local time that the clock skipped or showed twice, when clocks change, is refused; write it with its offset.
- An id is a short name without spaces; other records refer to it. Places of other files are named from the season file's own folder, parted by ` + "`/`" + `.
- A key that is not on this page, a key given twice, a reference to a record that is not there: each is refused with line and column. Nothing is read by half.
- Ranges are what a farm can have at all, not what is usual.

## The keys

**Use** says whether an answer depends on a key, whether it is only shown, or kept and *not used yet*. A key in **bold** must be given.

`

// page returns the reference page.
func page(keys []seasonfile.Key) string {
	var b strings.Builder
	b.WriteString(preface)
	inside := func(path string) string { return path[:max(strings.LastIndex(path, "."), 0)] }
	for _, section := range keys {
		if !section.Table && !section.Repeat {
			continue
		}
		title := "[" + section.Path + "]"
		switch {
		case section.Inline:
			title = section.Path + " = [{…}, …]"
		case section.Repeat:
			title = "[[" + section.Path + "]]"
		}
		fmt.Fprintf(&b, "### `%s`\n\n%s\n\n| key | what it means | accepted | use |\n| --- | --- | --- | --- |\n", title, section.About)
		for _, k := range keys {
			if inside(k.Path) != section.Path {
				continue
			}
			name := "`" + strings.TrimPrefix(k.Path, section.Path+".") + "`"
			if k.Need {
				name = "**" + name + "**"
			}
			want := strings.ReplaceAll(k.Want, "|", `\|`)
			fmt.Fprintf(&b, "| %s | %s | %s | %s |\n", name, k.About, strings.ToUpper(want[:1])+want[1:], k.Use)
		}
		b.WriteString("\n")
	}
	return strings.TrimRight(b.String(), "\n") + "\n"
}

func TestEveryKeyExplainsItself(t *testing.T) {
	keys := seasonfile.Keys()
	seen := map[string]bool{}
	for _, k := range keys {
		if k.About == "" || k.Want == "" || !strings.HasSuffix(k.About, ".") || seen[k.Path] {
			t.Errorf("key %+v", k)
		}
		seen[k.Path] = true
	}
	if len(keys) < 180 {
		t.Errorf("only %d keys", len(keys))
	}
}

// Every key that no answer uses yet is said, once, where it first stands.
func TestKeysThatAreNotUsedYetAreSaid(t *testing.T) {
	s := seasons(true).Example(1)
	_, findings, err := seasonfile.Read("season.toml", seasonfile.Write(s))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, f := range findings {
		if f.Rule == seasonfile.NotUsed {
			got = append(got, f.Label)
			if f.Where.Line == 0 || f.Severity != problem.Note || !strings.Contains(f.Say, f.Label) {
				t.Errorf("said poorly: %+v", f)
			}
		}
	}
	var want []string
	for _, k := range seasonfile.Keys() {
		table := slices.IndexFunc(want, func(path string) bool { return strings.HasPrefix(k.Path, path+".") })
		if k.Use == seasonfile.NotYet && table < 0 { // a table is said as a whole
			want = append(want, k.Path)
		}
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("said %q, want %q", got, want)
	}
}
