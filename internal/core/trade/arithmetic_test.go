package trade_test

import (
	"encoding/csv"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/cockroachdb/apd/v3"
	"pgregory.net/rapid"

	"threshday/internal/core/trade"
)

// rows reads a table of testdata; a row is a map from column to cell.
func rows(t *testing.T, file string) []map[string]string {
	t.Helper()
	f, err := os.Open("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, record := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = record[i]
		}
		out = append(out, row)
	}
	return out
}

func percent(t *testing.T, s string) trade.Percent {
	t.Helper()
	p, err := trade.ParsePercent("value", s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestRecordedFiguresAndSteps(t *testing.T) {
	modes := map[string]trade.Rounding{"half_up": trade.HalfUp, "half_even": trade.HalfEven, "floor": trade.Floor, "ceil": trade.Ceiling}
	for _, row := range rows(t, "rounding.csv") {
		value := percent(t, row["value"])
		base, step, two := strings.Cut(row["by"], " ")
		var got string
		switch row["quantity"] {
		case "steps":
			got = fmt.Sprint(value.StepsOver(percent(t, base), percent(t, step)))
		case "started":
			got = fmt.Sprint(value.StartedOver(percent(t, base), percent(t, step)))
		default:
			mode := modes[row["quantity"]]
			if mode.String() != row["quantity"] || two {
				t.Fatalf("unreadable row %v", row)
			}
			got = value.Round(percent(t, base), mode).String()
		}
		if got != row["want"] {
			t.Errorf("%s of %s by %s: got %s, want %s [%s]", row["quantity"], row["value"], row["by"], got, row["want"], row["source"])
		}
	}
}

func TestSharesOfALoad(t *testing.T) {
	for _, row := range rows(t, "split.csv") {
		var shares []trade.Fraction
		var weights []int64
		for _, s := range strings.Fields(row["shares"]) {
			f := trade.MustFraction(s)
			shares, weights = append(shares, f), append(weights, f.Num())
		}
		if !strings.Contains(row["shares"], "/") {
			shares = trade.Proportions(weights...)
		}
		got, err := splitAs(row["of"], row["whole"], shares)
		if err != nil || got != row["want"] {
			t.Errorf("%s %s by %s: got %s, %v, want %s [%s]", row["whole"], row["of"], row["shares"], got, err, row["want"], row["source"])
		}
	}
}

func splitAs(of, whole string, shares []trade.Fraction) (string, error) {
	switch of {
	case "pounds":
		w, err := trade.ParsePounds(of, whole)
		if err != nil {
			return "", err
		}
		parts, err := w.Split(shares)
		return strings.Trim(fmt.Sprint(parts), "[]"), err
	case "bushels":
		b, err := trade.ParseBushels(of, whole)
		if err != nil {
			return "", err
		}
		parts, err := b.Split(shares, 2)
		return strings.Trim(fmt.Sprint(parts), "[]"), err
	}
	a, err := trade.ParseAmount(of, whole)
	if err != nil {
		return "", err
	}
	parts, err := a.Split(shares)
	return strings.Trim(fmt.Sprint(parts), "[]"), err
}

func TestSharesThatAreNotAWholeAreRefused(t *testing.T) {
	for _, c := range []struct{ shares, want string }{
		{"1/3 1/3", "1/3 + 1/3 = 2/3"},
		{"0.333 0.667 0.001", "0.333 + 0.667 + 0.001 = 1.001"},
		{"3/2 -1/2", "1.5 + -0.5"},
		{"", " = 0"},
	} {
		var shares []trade.Fraction
		for _, s := range strings.Fields(c.shares) {
			shares = append(shares, trade.MustFraction(s))
		}
		_, err := trade.Amount(100).Split(shares)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want a refusal that shows %s", c.shares, err, c.want)
		}
	}
}

func TestSplitLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weights := rapid.SliceOfN(rapid.Int64Range(0, 90_000), 1, 7).Draw(t, "weights")
		weights[0]++
		shares := trade.Proportions(weights...)
		whole := trade.Amount(rapid.Int64Range(-1e12, 1e12).Draw(t, "cents"))
		parts, err := whole.Split(shares)
		if err != nil {
			t.Fatal(err)
		}
		var sum trade.Amount
		for i, p := range parts {
			sum += p
			exact := whole.Float() * 100 * shares[i].Float()
			if diff := float64(p) - exact; diff > 1+1e-3 || diff < -1-1e-3 {
				t.Fatalf("part %d of %s is %d cents, its quota %v", i, whole, p, exact)
			}
		}
		if sum != whole {
			t.Fatalf("parts of %s sum to %s", whole, sum)
		}
		again, _ := whole.Split(shares)
		if fmt.Sprint(again) != fmt.Sprint(parts) {
			t.Fatal("the same split twice differs")
		}
	})
}

// Compared with an independent implementation of decimal arithmetic.
func TestMulDivEqualsADecimalLibrary(t *testing.T) {
	ctx := apd.BaseContext.WithPrecision(60)
	halfEven := *ctx
	halfEven.Rounding = apd.RoundHalfEven
	modes := map[trade.Rounding]func(want, quotient *apd.Decimal) (apd.Condition, error){
		trade.HalfUp:   ctx.RoundToIntegralValue,
		trade.HalfEven: halfEven.RoundToIntegralValue,
		trade.Floor:    ctx.Floor,
		trade.Ceiling:  ctx.Ceil,
	}
	check := func(t *rapid.T, a, b, den int64) {
		var product, want apd.Decimal
		if _, err := ctx.Mul(&product, apd.New(a, 0), apd.New(b, 0)); err != nil {
			t.Fatal(err)
		}
		for mode, round := range modes {
			// A quotient of 60 digits decides every rounding here: den has at most 13 digits, so a
			// fractional part that is not one half differs from it by more than 1e-14.
			var quotient apd.Decimal
			if _, err := ctx.Quo(&quotient, &product, apd.New(den, 0)); err != nil {
				t.Fatal(err)
			}
			if _, err := round(&want, &quotient); err != nil {
				t.Fatal(err)
			}
			exact, err := want.Int64()
			if err != nil {
				continue // out of range, refused by a panic of its own
			}
			if got := mode.MulDiv(a, b, den); got != exact {
				t.Fatalf("%s: %d*%d/%d: got %d, want %d", mode, a, b, den, got, exact)
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		for range 40 {
			a := rapid.Int64Range(-1e13, 1e13).Draw(t, "a")
			b := rapid.Int64Range(-1e5, 1e5).Draw(t, "b")
			den := rapid.Int64Range(1, 1e13).Draw(t, "den")
			check(t, a, b, den)
			check(t, a, b, 2)
			check(t, a%100, b%100, 1+den%20) // halves are common here
			check(t, a, b*1e7, 1e13)
		}
	})
}

func TestDecimalsCompareAsADecimalLibraryDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := func(name string) (trade.Decimal, *apd.Decimal) {
			n := rapid.Int64Range(-1e6, 1e6).Draw(t, name)
			places := rapid.IntRange(0, 9).Draw(t, name+" places")
			d := trade.NewDecimal(n, places)
			ref, _, err := apd.NewFromString(d.String())
			if err != nil {
				t.Fatalf("%d at %d places printed as %q: %v", n, places, d, err)
			}
			if ref.Cmp(apd.New(n, int32(-places))) != 0 {
				t.Fatalf("%d at %d places printed as %q", n, places, d)
			}
			return d, ref
		}
		d, dref := number("d")
		e, eref := number("e")
		if got, want := d.Cmp(e), dref.Cmp(eref); got != want {
			t.Fatalf("%s against %s: got %d, want %d", d, e, got, want)
		}
		if back := trade.MustDecimal(d.String()); back.Cmp(d) != 0 {
			t.Fatalf("%s reads back as %s", d, back)
		}
		for _, places := range []int{0, 2, 9} {
			units, ok := d.Units(places)
			if ok && trade.NewDecimal(units, places).Cmp(d) != 0 || ok != (d.Places() <= places) {
				t.Fatalf("%s has %d units at %d places, %v", d, units, places, ok)
			}
		}
	})
}

func TestFractionsAreKeptInLowestTerms(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"1/3", "1/3"},
		{"2/6", "1/3"},
		{"100/84.5", "200/169"}, // pure water shrink to 15.5 %, never 1.183
		{"0.50", "0.5"},
		{"1.25", "1.25"},
		{"-3", "-3"},
		{"7/8", "0.875"},
		{"0", "0"},
		{"0/5", "0"},
	} {
		if got := trade.MustFraction(c.text).String(); got != c.want {
			t.Errorf("%s: got %s, want %s", c.text, got, c.want)
		}
	}
	if (trade.Fraction{}) != trade.MustFraction("0/7") {
		t.Error("the zero Fraction is not 0/7 in lowest terms")
	}
	for _, text := range []string{"", "1/", "/3", "1/0", "1/-3", "1/3/3", "a", "1e3", "1/1234567891", "99999999999"} {
		if f, err := trade.ParseFraction("share", text); err == nil {
			t.Errorf("%q reads as %s, want a refusal", text, f)
		}
	}
}

func ExampleAmount_Split() {
	// A load of $8,090.25 from two fields: 6,550 lb are the landlord's, 44,320 lb the tenant's.
	parts, err := trade.Amount(8090_25).Split(trade.Proportions(6550, 44320))
	fmt.Println(parts, err)
	// Output: [1041.70 7048.55] <nil>
}

func ExamplePercent_StepsOver() {
	protein, _ := trade.ParsePercent("Protein", "12.6")
	fmt.Println(protein.StepsOver(1200, 20)) // in binary fractions 0.6/0.2 is 2.9999999999999996
	// Output: 3
}

func BenchmarkMulDiv(b *testing.B) {
	b.ReportAllocs()
	var sum int64
	for i := range b.N {
		sum += trade.HalfUp.MulDiv(847_830+int64(i&1023), 954_230, 1_000_000)
	}
	if sum == 0 {
		b.Fatal("no sum")
	}
}
