package trade_test

import (
	"errors"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

func TestPeopleWriteNumbersInMoreThanOneWay(t *testing.T) {
	price := func(s string) (int64, error) { p, err := trade.ParsePrice("Price", s); return int64(p), err }
	percent := func(s string) (int64, error) { p, err := trade.ParsePercent("Moisture", s); return int64(p), err }
	pounds := func(s string) (int64, error) { p, err := trade.ParsePounds("Gross", s); return int64(p), err }
	bushels := func(s string) (int64, error) { p, err := trade.ParseBushels("Bushels", s); return int64(p), err }
	amount := func(s string) (int64, error) { p, err := trade.ParseAmount("Fee", s); return int64(p), err }
	weight := func(s string) (int64, error) { p, err := trade.ParseTestWeight("Test weight", s); return int64(p), err }
	for _, c := range []struct {
		parse func(string) (int64, error)
		text  string
		want  int64
		rule  string // of the refusal; empty: accepted
	}{
		{percent, "15.6", 1560, ""},
		{percent, " 15.60 % ", 1560, ""},
		{percent, "13", 1300, ""},
		{percent, ".5", 50, ""},
		{percent, "0", 0, ""},
		{percent, "100.00", 10000, ""},
		{percent, "100.01", 0, "percent.range"},
		{percent, "-0.1", 0, "percent.range"},
		{percent, "15.625", 0, "percent.precision"},
		{percent, "15,6", 0, "percent.form"},
		{percent, "15.", 0, "percent.form"},
		{percent, "1e1", 0, "percent.form"},
		{percent, "", 0, "percent.form"},
		{percent, "NaN", 0, "percent.form"},
		{percent, "0x10", 0, "percent.form"},
		{weight, "55.1 lb/bu", 5510, ""},
		{weight, "156", 0, "test-weight.range"},
		{price, "$9.8725", 987250, ""},
		{price, "9.8725", 987250, ""},
		{price, "0.00125", 125, ""},
		{price, "-35c", -35000, ""},
		{price, "-35 ¢", -35000, ""},
		{price, "+6.25 cents", 6250, ""},
		{price, "-$0.35", -35000, ""},
		{price, "−35c", -35000, ""},
		{price, "$-0.35", 0, "price.form"},
		{price, "$35c", 0, "price.form"},
		{price, "$$3", 0, "price.form"},
		{price, "9.872501", 0, "price.precision"},
		{price, "100000.01", 0, "price.range"},
		{price, "c", 0, "price.form"},
		{pounds, "51,280", 51280, ""},
		{pounds, "51280lb", 51280, ""},
		{pounds, "51,28", 0, "pounds.form"},
		{pounds, ",280", 0, "pounds.form"},
		{pounds, "51280.5", 0, "pounds.precision"},
		{pounds, "-20", 0, "pounds.range"},
		{pounds, "99999999999999999999", 0, "pounds.form"},
		{bushels, "1,240", 1240000, ""},
		{bushels, "847.83 bu", 847830, ""},
		{bushels, "1,240,000.125", 1240000125, ""},
		{amount, "$1,240.50", 124050, ""},
		{amount, "-12", -1200, ""},
		{amount, "0.005", 0, "amount.precision"},
	} {
		got, err := c.parse(c.text)
		if c.rule == "" {
			if err != nil || got != c.want {
				t.Errorf("%q: got %d, %v, want %d", c.text, got, err, c.want)
			}
			continue
		}
		var refused *problem.InputError
		if !errors.As(err, &refused) {
			t.Errorf("%q: got %d, %v, want a refusal %s", c.text, got, err, c.rule)
			continue
		}
		if refused.Rule != c.rule || refused.Label == "" || refused.Want == "" {
			t.Errorf("%q: refused as %+v, want rule %s with label and what is accepted", c.text, *refused, c.rule)
		}
	}
}

func TestRefusalSaysWhatIsAccepted(t *testing.T) {
	_, err := trade.ParsePercentIn("Moisture", "61,5", 0, 6000)
	const want = `Moisture is "61,5"; accepted: 0.0 to 60.0 %, at most two decimals. ` +
		`Write a point before decimals; a comma only parts groups of three digits.`
	if err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
}

func TestWhatIsPrintedReadsBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(-1e10, 1e10).Draw(t, "n")
		p := trade.Price(n)
		for _, s := range []string{p.String(), p.Fixed(), "$" + strings.TrimPrefix(p.String(), "-")} {
			got, err := trade.ParsePrice("Price", s)
			if err != nil || got != p && got != -p || strings.HasPrefix(s, "-") != (got < 0) {
				t.Fatalf("%d printed as %q reads %d, %v", n, s, got, err)
			}
		}
		a := trade.Amount(n)
		if got, err := trade.ParseAmount("Amount", a.String()); err != nil || got != a {
			t.Fatalf("amount %d printed as %q reads %d, %v", n, a, got, err)
		}
		if n < 0 {
			n = -n
		}
		b := trade.Bushels(n)
		if got, err := trade.ParseBushels("Bushels", b.String()); err != nil || got != b {
			t.Fatalf("bushels %d printed as %q reads %d, %v", n, b, got, err)
		}
		m := trade.Percent(n % 10001)
		if got, err := trade.ParsePercent("Moisture", m.String()); err != nil || got != m {
			t.Fatalf("percent %d printed as %q reads %d, %v", m, m, got, err)
		}
	})
}

func FuzzParsePrice(f *testing.F) {
	for _, s := range []string{"$9.8725", "-35c", "1,240.5", "", "-", "$", "¢", "−1", "1e9", "00.10", "9223372036854775808"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := trade.ParsePrice("Price", s)
		if err != nil {
			return
		}
		// Whatever is accepted equals what a float reader makes of the same digits, to its accuracy.
		plain := strings.NewReplacer("$", "", ",", "", "cents", "", "c", "", "¢", "", "−", "-", " ", "").Replace(strings.TrimSpace(s))
		want, ferr := strconv.ParseFloat(plain, 64)
		if ferr != nil {
			return // spaces the replacer does not know
		}
		if strings.ContainsAny(s, "c¢") {
			want /= 100
		}
		if diff := p.Float() - want; diff > 1e-6 || diff < -1e-6 {
			t.Errorf("%q reads as %s, a float reader says %v", s, p, want)
		}
	})
}
