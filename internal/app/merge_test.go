package app_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/trade"
)

// A desk is a data file with the season file beside it, as text to change and put in again.
type desk struct {
	*testing.T
	app       *app.App
	dir, data string
	text      string
}

func newDesk(t *testing.T) *desk {
	a, dir := kept(t)
	text, err := os.ReadFile(filepath.Join(dir, "season.toml"))
	if err != nil {
		t.Fatal(err)
	}
	d := &desk{t, a, dir, filepath.Join(dir, "farm.db"), string(text)}
	d.put()
	return d
}

// put puts the text in.
func (d *desk) put() *app.Imported {
	d.Helper()
	path := filepath.Join(d.dir, "changed.toml")
	if err := os.WriteFile(path, []byte(d.text), 0o600); err != nil {
		d.Fatal(err)
	}
	im, err := d.app.Import(context.Background(), path, d.data, "Ada")
	if err != nil {
		d.Fatal(err)
	}
	return im
}

// change exchanges a piece of the text that must be there.
func (d *desk) change(from, to string) {
	d.Helper()
	if !strings.Contains(d.text, from) {
		d.Fatalf("no %q in\n%s", from, d.text)
	}
	d.text = strings.Replace(d.text, from, to, 1)
}

func (d *desk) export() string {
	d.Helper()
	text, _, err := d.app.Export(context.Background(), d.data)
	if err != nil {
		d.Fatal(err)
	}
	return string(text)
}

func (d *desk) reading(field string, moisture trade.Percent) string {
	d.Helper()
	e, err := d.app.AddReading(context.Background(), d.data, farm.Reading{Field: field, At: morningAt("05:30"), Moisture: moisture, Device: "meter"}, nil, "")
	if err != nil {
		d.Fatal(err)
	}
	return e.ID
}

func (d *desk) bid(outlet string, cash trade.Price, at time.Time) string {
	d.Helper()
	e, err := d.app.AddBid(context.Background(), d.data, farm.Bid{Outlet: outlet, Crop: crop.Soybean, Cash: &cash, Taken: at}, nil, app.Signed{})
	if err != nil {
		d.Fatal(err)
	}
	return e.ID
}

func (d *desk) holds(want ...string) {
	d.Helper()
	text := d.export()
	for _, w := range want {
		if no, not := strings.CutPrefix(w, "no "); not == strings.Contains(text, strings.TrimPrefix(w, "no ")) {
			d.Errorf("export: want %q (%s)\n%s", w, no, text)
		}
	}
}

func TestASeasonPutInAgainKeepsWhatWasEntered(t *testing.T) {
	d := newDesk(t)
	id := d.reading("creek-80", 16_40)
	d.change("acres = 78", "acres = 77.5")
	if im := d.put(); im.Again || len(rules(im.Findings)) != 0 {
		t.Errorf("put in: %+v", im)
	}
	d.holds("acres = 77.5", id, `"16.4%"`)
	if im := d.put(); !im.Again {
		t.Error("the same text twice is one entry")
	}
}

func TestTheBookStandsOverALineOfTheSameID(t *testing.T) {
	d := newDesk(t)
	id := d.reading("creek-80", 16_40)
	d.text = d.export()
	if im := d.put(); rules(im.Findings) != "" {
		t.Errorf("what was exported says nothing else than the book: %v", im.Findings)
	}
	if d.export() != d.text {
		t.Error("a text that says what the book says comes back byte for byte")
	}
	d.change(`"16.4%"`, `"17.4%"`)
	if im := d.put(); rules(im.Findings) != "season.overruled" || !strings.Contains(im.Findings[0].Where.Path, id) {
		t.Errorf("a line changed by hand is told: %v", im.Findings)
	}
	d.holds(`"16.4%"`, `no "17.4%"`)
	if _, err := d.app.Void(context.Background(), d.data, id, "wrong field", "Ada"); err != nil {
		t.Fatal(err)
	}
	d.holds(`no "16.4%"`, `no "17.4%"`)
	d.change(`"17.4%"`, `"18.4%"`)
	if im := d.put(); rules(im.Findings) != "season.void" {
		t.Errorf("an old copy does not bring a voided reading back: %v", im.Findings)
	}
	d.holds(`no "18.4%"`)
}

func TestOfTwoBidsTheOneHeardLastStands(t *testing.T) {
	d := newDesk(t)
	later := d.bid("ossing", 9_95000, morningAt("05:50"))
	earlier := d.bid("ossing", 9_55000, morningAt("05:50").Add(-48*time.Hour))
	d.holds(later, "no "+earlier, `no id = "b1"`, `id = "b2"`)
	if _, err := d.app.Void(context.Background(), d.data, later, "never said", "Ada"); err != nil {
		t.Fatal(err)
	}
	d.holds("no "+later, "no "+earlier, `id = "b1"`)
}

func TestEntriesThatTheSeasonHasNoPlaceForStayInTheBook(t *testing.T) {
	d := newDesk(t)
	id := d.reading("creek-80", 16_40)
	d.change(`id = "creek-80"`, `id = "creek-west"`)
	d.change("field = \"creek-80\"", "field = \"creek-west\"")
	if im := d.put(); rules(im.Findings) != "season.no-field" {
		t.Errorf("an entry without its field is told: %v", im.Findings)
	}
	d.holds("no " + id)
	if h, err := d.app.History(context.Background(), d.data, id); err != nil || h.State != string(journal.Live) {
		t.Errorf("it stays readable: %+v, %v", h, err)
	}
}

func TestNextYearsSeasonBeginsWithoutLastYearsReadings(t *testing.T) {
	d := newDesk(t)
	id := d.reading("creek-80", 16_40)
	d.change("year = 2004", "year = 2005")
	d.put()
	d.holds("no "+id, "year = 2005")
}

func TestAnotherFarmsSeasonIsRefused(t *testing.T) {
	d := newDesk(t)
	other := strings.Replace(d.text, `id = "my-farm"`, `id = "next-door"`, 1)
	path := filepath.Join(d.dir, "other.toml")
	if err := os.WriteFile(path, []byte(other), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := d.app.Import(context.Background(), path, d.data, "Ada"); err == nil || !strings.Contains(err.Error(), "next-door") {
		t.Errorf("got %v", err)
	}
	if d.export() != d.text {
		t.Error("nothing was changed")
	}
}

// Sent again with the id that the sender made, an entry counts once; with other content it is refused.
func TestWhatIsSentAgainCountsOnce(t *testing.T) {
	d := newDesk(t)
	ctx := context.Background()
	const id = "01a212aa-397a-7a11-b9a3-ee2d1028c9d9"
	r := farm.Reading{Field: "creek-80", At: morningAt("05:30"), Moisture: 16_40, Device: "meter"}
	for i := range 3 {
		e, err := d.app.AddReading(ctx, d.data, r, nil, id)
		if err != nil || e.ID != id || e.Again != (i > 0) {
			t.Fatalf("time %d: %+v, %v", i+1, e, err)
		}
	}
	if n := strings.Count(d.export(), id); n != 1 {
		t.Errorf("it stands %d times", n)
	}
	r.Moisture = 15_40
	if _, err := d.app.AddReading(ctx, d.data, r, nil, id); err == nil || !strings.Contains(err.Error(), "1540") {
		t.Errorf("other content under the same id: %v", err)
	}
	h, err := d.app.Recent(ctx, d.data, 100)
	if err != nil || len(h.Lines) != 2 {
		t.Errorf("%d entries, %v; want the season and the reading", len(h.Lines), err)
	}
}

func TestWhatWasSaidIsTakenBack(t *testing.T) {
	d := newDesk(t)
	ctx := context.Background()
	id := d.reading("creek-80", 16_40)
	dry := func(_ journal.Subject, body []byte) ([]byte, error) {
		r, typed, err := journal.ReadReading(body)
		r.Moisture = 15_80
		return journal.ReadingBody(r, typed), err
	}
	correction, err := d.app.Correct(ctx, d.data, id, "misread", "Ada", dry)
	if err != nil {
		t.Fatal(err)
	}
	d.holds(`"15.8%"`)
	if _, err := d.app.Correct(ctx, d.data, id, "misread", "Ada", dry); err == nil {
		t.Error("a correction that changes nothing is refused")
	}
	if _, err := d.app.Undo(ctx, d.data, id, "it was right", "Ada"); err == nil {
		t.Error("a record itself is voided, not undone")
	}
	if _, err := d.app.Undo(ctx, d.data, correction.ID, "it was right", "Ada"); err != nil {
		t.Fatal(err)
	}
	d.holds(`"16.4%"`, `no "15.8%"`)
	void, err := d.app.Void(ctx, d.data, correction.ID, "wrong field", "Ada")
	if err != nil {
		t.Fatal(err)
	}
	d.holds("no " + id)
	if _, err := d.app.Undo(ctx, d.data, void.ID, "it was the field", "Ada"); err != nil {
		t.Fatal(err)
	}
	d.holds(id)
}
