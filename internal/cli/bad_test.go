package cli_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"threshday/internal/cli"
)

// complaint is what a script reads of a command line that cannot be used.
type complaint struct {
	Error struct{ Rule, Severity, Label, Got, Want, Say string } `json:"error"`
}

// refused runs a command line that cannot be used and returns the complaint.
func refused(t *testing.T, args []string) complaint {
	t.Helper()
	line := strings.Join(args, " ")
	r := run("", append(slices.Clone(args), "--json")...)
	if r.code != 2 || r.stdout != "" {
		t.Errorf("%s: exit %d, standard output %q; want 2 and nothing", line, r.code, r.stdout)
	}
	var c complaint
	if err := json.Unmarshal([]byte(r.stderr), &c); err != nil {
		t.Errorf("%s: %v in %q", line, err, r.stderr)
		return c
	}
	if c.Error.Rule == "" || c.Error.Severity != "error" || !strings.HasSuffix(strings.TrimSuffix(c.Error.Say, "`"), ".") && !strings.HasSuffix(c.Error.Say, "?") {
		t.Errorf("%s: %+v is no complaint with a rule and a sentence", line, c.Error)
	}
	return c
}

// Every flag of every pencil, taken from the command lines the help shows: left out, given twice, given as nonsense,
// given without its value; and a flag nobody knows.
func TestEveryFlagIsRefusedWhenItCannotBeUsed(t *testing.T) {
	flags := cli.CommandFlags()
	for line := range examples(t) {
		args := words(line)
		name := strings.Join(args[:min(2, len(args))], " ")
		known, ok := flags[name]
		if !ok || !strings.HasPrefix(name, "pencil ") {
			continue
		}
		t.Run(line, func(t *testing.T) {
			if c := refused(t, append(slices.Clone(args), "--no-such", "1")); c.Error.Rule != "command.usage" {
				t.Errorf("an unknown flag is %s: %s", c.Error.Rule, c.Error.Say)
			}
			for _, f := range known {
				at := slices.Index(args, f.Name)
				if at < 0 || !f.Value {
					continue
				}
				value := args[at+1]
				without := slices.Delete(slices.Clone(args), at, at+2)
				if f.Needed {
					if c := refused(t, without); c.Error.Rule != "flag.missing" || c.Error.Label != f.Name {
						t.Errorf("without %s: %+v", f.Name, c.Error)
					}
				}
				if !f.List {
					if c := refused(t, append(slices.Clone(args), f.Name, value)); c.Error.Rule != "flag.doubled" || c.Error.Label != f.Name {
						t.Errorf("%s twice: %+v", f.Name, c.Error)
					}
				}
				for _, nonsense := range []string{"x", "", "1e3", "NaN", "12 furlongs"} {
					if f.List && nonsense == "" {
						continue // an empty list is for the command to refuse
					}
					c := refused(t, append(slices.Clone(without), f.Name+"="+nonsense))
					if c.Error.Label != f.Name {
						t.Errorf("%s=%s: %+v", f.Name, nonsense, c.Error)
					}
				}
				if c := refused(t, append([]string{args[0], args[1], f.Name}, slices.Delete(slices.Clone(without), 0, 2)...)); len(without) > 2 && c.Error.Label != f.Name {
					t.Errorf("%s without a value: %+v", f.Name, c.Error)
				}
			}
		})
	}
}

// Quantities that come in two units never pass without one.
func TestBareNumbersAreRefusedWhereTwoUnitsAreCommon(t *testing.T) {
	for _, c := range []struct{ line, flag string }{
		{"pencil emc --crop corn --rh 60 --temp 70", "--temp"},
		{"pencil air --temp 70 --rh 50", "--temp"},
		{"pencil air --temp 70F --dew 50", "--dew"},
		{"pencil air --temp 70F --rh 50 --elevation 700", "--elevation"},
		{"pencil heat --max 88F --min 58", "--min"},
		{"pencil capacity --width 30ft --efficiency 70 --speed 4", "--speed"},
		{"pencil capacity --speed 4mph --efficiency 70 --width 30", "--width"},
		{"pencil capacity --speed 4mph --width 30ft --efficiency 70 --yield 200", "--yield"},
		{"pencil haul --miles 18 --rate-bu-per-hour 600 --payload-bu 900 --queue-min 20 --loaded 45", "--loaded"},
		{"pencil haul --miles 18 --rate-bu-per-hour 600 --payload-bu 900 --queue-min 20 --per-mile 1.53", "--per-mile"},
		{"pencil breakeven --load-bu 900 --per-mile $2 --per-hour $60 --speed 42mph --gain-per-bu 10", "--gain-per-bu"},
		{"pencil axle --spacing 12,4 --weights 1lb,2lb,3lb", "--spacing"},
		{"pencil axle --spacing 12ft,4ft --weights 12000,17000,17000", "--weights"},
		{"pencil payload --crop corn --gross 80000 --tare 26000lb", "--gross"},
		{"pencil bin --diameter 36 --eave 18ft --crop corn", "--diameter"},
		{"pencil storage --crop corn --moisture 18 --temp 60", "--temp"},
		{"pencil dry --crop corn --from 20 --to 15 --bushels 100 --lp 1.75 --kwh 11c", "--lp"},
		{"pencil lossfield --crop corn --before 1 --header 2 --behind 3 --header-width 30 --discharge-width 5ft", "--header-width"},
	} {
		if got := refused(t, words(c.line)); got.Error.Rule != "unit.missing" || got.Error.Label != c.flag {
			t.Errorf("%s: %+v", c.line, got.Error)
		}
	}
}

// Combinations that the single flags cannot know.
func TestFlagsThatDoNotGoTogetherAreRefused(t *testing.T) {
	for _, c := range []struct{ line, rule string }{
		{"pencil emc --crop corn --temp 70F --rh 60 --class HRW", "flag.crop"},
		{"pencil emc --crop soybean --temp 70F --rh 60 --form oswin", "form.crop"},
		{"pencil air --temp 70F", "flag.missing"},
		{"pencil air --temp 70F --rh 50 --dew 50F", "flag.either"},
		{"pencil air --temp 70F --dew 75F", "dew.above-air"},
		{"pencil sun --lat 40 --lon -88 --date 2031-10-01 --zone America/Nowhere", "zone.unknown"},
		{"pencil heat --max 50F --min 60F", "heat.order"},
		{"pencil shrink --from 13 --to 15", "shrink.wetter"},
		{"pencil grade --crop corn --date 2031-10-01 --class HRW --test-weight 56", "flag.crop"},
		{"pencil grade --crop wheat --date 2031-10-01 --test-weight 56", "grade.table"},
		{"pencil grade --crop barley --date 2031-10-01 --test-weight 48", "grade.table"},
		{"pencil grade --crop soybean --date 2031-10-01 --damage 1 --heat 2", "T03"},
		{"pencil insured --crop barley --moisture 14 --bushels 100", "insured.crop"},
		{"pencil lossfield --crop corn", "flag.missing"},
		{"pencil lossfield --crop corn --seeds-per-sqft 3 --before 2", "flag.either"},
		{"pencil lossfield --crop corn --before 2 --header 3", "flag.missing"},
		{"pencil lossfield --crop sunflower --seeds-per-sqft 10", "flag.missing"},
		{"pencil loss --crop corn --days-ripe 10", "flag.missing"},
		{"pencil loss --crop corn --days-ripe 10 --moisture 18 --cycles 2", "flag.crop"},
		{"pencil yield --crop corn --pods 3", "flag.crop"},
		{"pencil yield --crop corn --ears 30", "flag.missing"},
		{"pencil capacity --speed 4mph --width 30ft --efficiency 70 --ceiling-bu-per-hour 2000", "flag.missing"},
		{"pencil capacity --speed 4mph --width 30ft --efficiency 70 --yield 3t/ha", "flag.missing"},
		{"pencil capacity --speed 4mph --width 30ft --efficiency 7%", "flag.range"},
		{"pencil axle --spacing 12ft --weights 12000lb,17000lb,17000lb", "axle.count"},
		{"pencil payload --crop corn --gross 20000lb --tare 26000lb", "payload.tare"},
		{"pencil dry --crop corn --from 15 --to 20 --bushels 100 --lp $1.75 --kwh 11c", "dry.order"},
		{"pencil queue --arrivals-per-hour 16 --served-per-hour 10 --pits 0", "flag.range"},
		{"pencil queue --arrivals-per-hour 16 --served-per-hour 10 --pits 1.5", "number.whole"},
	} {
		got := refused(t, words(c.line))
		if got.Error.Rule != c.rule {
			t.Errorf("%s: %+v, want rule %s", c.line, got.Error, c.rule)
		}
		if plain := run("", words(c.line)...); plain.code != 2 || !strings.HasPrefix(plain.stderr, got.Error.Say) {
			t.Errorf("%s: exit %d, says %q; with --json %q", c.line, plain.code, plain.stderr, got.Error.Say)
		}
	}
}

// Questions with no answer say why and what would change it.
func TestQuestionsWithNoAnswer(t *testing.T) {
	for _, c := range []struct{ line, rule string }{
		{"pencil emc --crop barley --temp 70F --rh 60", "emc.curves-disagree"},
		{"pencil sun --lat 80 --lon 10 --date 2031-12-21 --zone UTC", "sun.no-crossing"},
		{"pencil loss --crop oats --days-ripe 3", "loss.no-model"},
		{"pencil yield --crop canola", "yield.no-method"},
		{"pencil queue --arrivals-per-hour 30 --served-per-hour 10 --pits 3", "queue.unbounded"},
		{"pencil storage --crop canola --moisture 9 --temp 70F", "storage.no-table"},
		{"pencil breakeven --gain-per-bu=-5c --load-bu 900 --per-mile $2 --per-hour $60 --speed 42mph", "breakeven.no-gain"},
		{"pencil breakeven --gain-per-bu 5c --load-bu 900 --per-mile $0 --per-hour $0 --speed 42mph", "breakeven.free"},
	} {
		r := run("", append(words(c.line), "--json")...)
		var got struct {
			Error struct{ Rule, Say, Next string } `json:"error"`
		}
		if err := json.Unmarshal([]byte(r.stderr), &got); err != nil || r.code != 1 || r.stdout != "" {
			t.Errorf("%s: exit %d, %v, %s", c.line, r.code, err, r.stderr)
		}
		if got.Error.Rule != c.rule || got.Error.Say == "" || got.Error.Next == "" {
			t.Errorf("%s: %+v, want rule %s with why and what would change it", c.line, got.Error, c.rule)
		}
	}
}
