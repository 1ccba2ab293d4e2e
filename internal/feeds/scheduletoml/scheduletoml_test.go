package scheduletoml_test

import (
	"flag"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/demo"
	"threshday/internal/feeds/schedulefile"
	"threshday/internal/feeds/scheduletoml"
)

var update = flag.Bool("update", false, "write the golden files anew")

func family(t testing.TB, name string) *settlement.Terms {
	text, ok := scheduletoml.Family(name)
	if !ok {
		t.Fatalf("no family %s", name)
	}
	s, err := scheduletoml.Read(name, text)
	if err != nil {
		t.Fatal(err)
	}
	terms, _, err := settlement.Prepare(s)
	if err != nil {
		t.Fatal(err)
	}
	return terms
}

// The worked loads, settled under the starting points: what a person reads in the file is what the engine does. Figures computed by
// hand from the invented schedules, [settled-loads].
func TestTheStartingPointsSettleTheWorkedLoads(t *testing.T) {
	reading := func(f settlement.Factor, x trade.Percent, r settlement.Readings) settlement.Readings {
		return r.With(f, x)
	}
	none := settlement.Readings{}
	a := reading(settlement.Moisture, 14_20, reading(settlement.ForeignMaterial, 1_80, reading(settlement.TestWeight, 55_10, reading(settlement.DamageTotal, 2_40, reading(settlement.Splits, 12_00, none)))))
	b := reading(settlement.Moisture, 14_80, reading(settlement.ForeignMaterial, 1_30, none))
	c := reading(settlement.Moisture, 19_30, reading(settlement.TestWeight, 53_20, reading(settlement.BCFM, 3_40, none)))
	f := reading(settlement.Moisture, 13_20, reading(settlement.TestWeight, 57_40, reading(settlement.Protein, 12_60, reading(settlement.Dockage, 1_10, none))))
	for _, w := range []struct {
		family      string
		crop        crop.Kind
		gross, tare trade.Pounds
		readings    settlement.Readings
		prices      settlement.Prices
		want        trade.Amount
	}{
		{"soybean-discount", crop.Soybean, 78_460, 27_180, a, settlement.Prices{Cash: 987250, Premium: 6000}, 8049_80},
		{"soybean-shrink", crop.Soybean, 84_120, 28_040, b, settlement.Prices{Cash: 998000}, 8882_54},
		{"corn-shrink", crop.Corn, 81_240, 26_980, c, settlement.Prices{Cash: 413000}, 3536_90},
		{"corn-discount", crop.Corn, 81_240, 26_980, c, settlement.Prices{Cash: 413000}, 3548_70},
		{"wheat-protein", crop.Wheat, 62_300, 24_100, f, settlement.Prices{Cash: 548000}, 3478_92},
	} {
		got, err := family(t, w.family).Net(settlement.Load{Crop: w.crop, Gross: w.gross, Tare: w.tare, Readings: w.readings}, w.prices)
		if err != nil || got != w.want {
			t.Errorf("%s nets %s, %v; want %s", w.family, got, err, w.want)
		}
	}
	if n := len(scheduletoml.Families()); n != 5 {
		t.Errorf("%d families, and 5 are tried", n)
	}
}

func TestEveryStartingPointSaysThatItIsAnExample(t *testing.T) {
	for _, name := range scheduletoml.Families() {
		text, _ := scheduletoml.Family(name)
		if !strings.HasPrefix(string(text), "# Example with invented figures") || !strings.Contains(family(t, name).Schedule().Note, "replace with your buyer's posted figures") {
			t.Errorf("%s does not say it", name)
		}
	}
}

// roundTrip writes a schedule and reads it back.
func roundTrip(t interface{ Fatalf(string, ...any) }, s settlement.Schedule) {
	text := scheduletoml.Write(s)
	back, err := scheduletoml.Read("written", text)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if !reflect.DeepEqual(s, back) {
		t.Fatalf("read back as another schedule:\n%+v\n%+v\n%s", s, back, text)
	}
}

func TestTheDemosSchedulesAreHeldWhole(t *testing.T) {
	files := demo.Farm()
	tried := 0
	for _, name := range []string{"ossing-corn", "ossing-soybean", "ossing-sorghum", "pell-soybean", "narrow-corn", "narrow-soybean", "quern-corn", "tarrow-corn", "tarrow-sorghum"} {
		f, err := files.Open("schedules/" + name + ".json")
		if err != nil {
			t.Fatal(err)
		}
		info, _ := f.Stat()
		data := make([]byte, info.Size())
		if _, err := f.Read(data); err != nil {
			t.Fatal(err)
		}
		s, err := schedulefile.ReadSchedule(name, data)
		if err != nil {
			t.Fatal(err)
		}
		roundTrip(t, s)
		tried++
	}
	if tried == 0 {
		t.Error("none")
	}
}

// What either form can hold, the other holds too.
func TestAnyScheduleIsHeldWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { roundTrip(t, anySchedule(t)) })
}

func pick[T any](t *rapid.T, name string, from ...T) T { return rapid.SampledFrom(from).Draw(t, name) }

func anySchedule(t *rapid.T) settlement.Schedule {
	text := rapid.StringMatching(`[a-zA-Z0-9"\\ äß.-]{0,12}[a-z]`)
	day := calendar.MustDay("2031-09-01")
	places := rapid.IntRange(0, 3).Draw(t, "decimals")
	lb := trade.MustDecimal("56.0")
	s := settlement.Schedule{
		ID: text.Draw(t, "id"), Buyer: text.Draw(t, "buyer"), Crop: pick(t, "crop", crop.Kinds()...), Note: text.Draw(t, "note"), BuDecimals: &places, LbPerBu: &lb,
		Style: pick(t, "style", "", settlement.NetPrice, settlement.LineItem), DeductBasis: pick(t, "of", "", settlement.Sequential, settlement.Additive),
		PctBase: pick(t, "pct", "", settlement.CashNoPremium, settlement.CashWithPremium, settlement.FuturesPrice), Average: pick(t, "avg", "", settlement.LoadByLoad, settlement.PerDay, settlement.PerContract),
		PriceUnit: pick(t, "unit", "", settlement.PerBu, settlement.PerCwt),
	}
	if rapid.Bool().Draw(t, "dated") {
		s.ValidFrom, s.ValidTo, s.AppliesTo = &day, &day, []string{"spot", "hta"}
	}
	if rapid.Bool().Draw(t, "checkoff") {
		s.Checkoff = &settlement.Checkoff{Kind: pick(t, "kind", settlement.CheckoffPercent, settlement.CheckoffCents), Rate: trade.MustFraction(pick(t, "rate", "0.5", "7/8")), Base: pick(t, "base", "", settlement.AfterCharges)}
	}
	for i := range rapid.IntRange(0, 4).Draw(t, "rows") {
		s.Rows = append(s.Rows, anyRow(t, i))
	}
	return s
}

func anyRow(t *rapid.T, i int) settlement.Row {
	from, to, step := trade.MustDecimal(pick(t, "from", "13.0", "1", "0.25")), trade.MustDecimal("15.0"), trade.MustDecimal("0.5")
	r := settlement.Row{Seq: 10 * (i + 1), Factor: pick(t, "factor", settlement.Factors()...), Kind: pick(t, "kind", settlement.RejectRow, settlement.WarnRow, settlement.WeightRow, settlement.PriceRow, settlement.ChargeRow)}
	if rapid.Bool().Draw(t, "seq") {
		r.Seq = rapid.IntRange(0, 1000).Draw(t, "seq number")
	}
	if r.Direction = pick(t, "direction", settlement.Above, settlement.Below, settlement.Flagged); r.Direction != settlement.Flagged {
		r.From, r.To = &from, &to
	}
	if r.Kind == settlement.RejectRow || r.Kind == settlement.WarnRow {
		return r
	}
	r.Step, r.StepMode, r.Qty = &step, pick(t, "mode", settlement.OrFraction, settlement.EachFull, settlement.Prorated, settlement.Flat), pick(t, "qty", "", settlement.NetBu, settlement.GrossBu, settlement.NetLb, settlement.AfterPriorLb, settlement.PerLoad)
	r.Group, r.Text = pick(t, "group", "", "max", "max:heat"), pick(t, "text", "", `as "printed"`)
	r.Unit = pick(t, "unit", settlement.PctPrice, settlement.CentsPerBu, settlement.CentsPerCwt, settlement.DollarsPerLoad)
	if r.Kind == settlement.WeightRow {
		r.Unit = pick(t, "weight unit", settlement.PctWeightPerStep, settlement.PctExcess, settlement.TablePct)
	}
	r.Printed = pick(t, "amount", "1.25", "2.0", "1/3", "1")
	amount := trade.MustFraction(r.Printed)
	if r.Kind == settlement.PriceRow && rapid.Bool().Draw(t, "premium") {
		amount, r.Printed = trade.NewFraction(-amount.Num(), amount.Den()), "-"+r.Printed
	}
	r.Amount = &amount
	if rapid.Bool().Draw(t, "bounds") {
		most, least := trade.MustFraction("9"), trade.MustFraction("0.5")
		r.Cap, r.Min = &most, &least
	}
	return r
}

// Every mistake is answered with a sentence, all of a file at once; the sentences stand in testdata/bad.golden, to be read by a
// person when they change.
func TestMistakesAreAnsweredWithASentence(t *testing.T) {
	golden(t, "testdata/bad.golden", "testdata/bad/*.toml", func(name string, data []byte) string {
		_, err := scheduletoml.Read(name, data)
		if err == nil {
			return "no mistake was found"
		}
		return err.Error()
	})
}

// A pasted table becomes a file whose gaps are remarks; one that cannot be read is refused with its lines.
func TestPastedTables(t *testing.T) {
	golden(t, "testdata/paste.golden", "testdata/paste/*.txt", func(name string, data []byte) string {
		k, _, _ := strings.Cut(name, "-")
		kind, _ := crop.Parse(k)
		d, err := scheduletoml.Paste(name, string(data), kind)
		if err != nil {
			return err.Error()
		}
		text := d.Text()
		if _, err := scheduletoml.Read(name, text); err != nil {
			t.Errorf("%s: the draft cannot be read: %v", name, err)
		}
		if _, _, err := settlement.Prepare(d.Schedule); err == nil {
			t.Errorf("%s: the draft settles although the buyer was not asked", name)
		}
		return string(text)
	})
}

func golden(t *testing.T, file, pattern string, of func(name string, data []byte) string) {
	t.Helper()
	paths, err := filepath.Glob(pattern)
	if err != nil || len(paths) == 0 {
		t.Fatalf("%v, %d files", err, len(paths))
	}
	slices.Sort(paths)
	var got strings.Builder
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		got.WriteString("== " + filepath.Base(path) + "\n" + of(filepath.Base(path), data) + "\n")
	}
	if *update {
		if err := os.WriteFile(file, []byte(got.String()), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got.String() != string(want) {
		t.Errorf("not as in %s (-update writes it):\n%s", file, got.String())
	}
}

func FuzzRead(f *testing.F) {
	for _, name := range scheduletoml.Families() {
		text, _ := scheduletoml.Family(name)
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := scheduletoml.Read("fuzz", data)
		if err != nil {
			return
		}
		if _, _, err := settlement.Prepare(s); err == nil {
			roundTrip(t, s)
		}
	})
}

func FuzzPaste(f *testing.F) {
	f.Add("Moisture discount, % of price, net bushels\n13.1 - 13.5  1.25%\n13.6 - 14.0  2.50%\nover 18.0 rejected\n")
	f.Add("Test weight, cents\n54.0 and up none\n53.9-53.0 1\n52.9 - 52.0 2\n")
	f.Fuzz(func(t *testing.T, text string) {
		d, err := scheduletoml.Paste("fuzz", text, crop.Soybean)
		if err != nil {
			return
		}
		if _, err := scheduletoml.Read("draft", d.Text()); err != nil {
			t.Errorf("the draft cannot be read: %v\n%s", err, d.Text())
		}
	})
}
