package app_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/journal"
	"threshday/internal/core/trade"
)

// Corn at 18 % keeps 50 days at 60 F [uk-mcneill-storage]: after 36 of them the morning's sheet says so. Where nobody read a temperature
// nothing is known and nothing said.
func TestAMorningHearsOfABinThatGoesOff(t *testing.T) {
	for _, c := range []struct{ reading, say string }{
		{"[[bin.reading]]\non = 2004-08-31\ntemp = \"60F\"\n", "Ticket 7, at 18.0 %, has used 72 % of its storage life"},
		{"", ""},
	} {
		a, dir := kept(t)
		season, data := filepath.Join(dir, "season.toml"), filepath.Join(dir, "farm.db")
		text, err := os.ReadFile(season)
		if err != nil {
			t.Fatal(err)
		}
		bin := "\n[[bin]]\nid = \"north\"\ncrop = \"corn\"\nholds = 10000\nmax_moisture = \"18%\"\nsale = \"$4.10\"\nsale_base = \"15%\"\nmiles = \"2mi\"\n"
		if err := os.WriteFile(season, []byte(string(text)+bin+c.reading), 0o600); err != nil {
			t.Fatal(err)
		}
		ctx := context.Background()
		if _, err := a.Import(ctx, season, data, "Ada"); err != nil {
			t.Fatal(err)
		}
		load := journal.Load{
			Ticket: "7", Outlet: "north", Crop: crop.Corn, CropYear: 2004, From: []journal.Part{{Field: "pump-house", Share: 1}}, Day: calendar.Day{Year: 2004, Month: 8, Date: 31},
			Weights: journal.Weights{Unit: journal.Pounds, Gross: ptrTo(int64(77800)), Tare: ptrTo(int64(27000))}, Moisture: ptrTo(trade.Percent(18_00)),
		}
		if _, _, err := a.AddLoad(ctx, data, load, app.Signed{}); err != nil {
			t.Fatal(err)
		}
		s, err := a.Plan(ctx, app.PlanRequest{Book: data, Seed: 1, Members: 20})
		if err != nil {
			t.Fatal(err)
		}
		said := fmt.Sprint(s.Findings)
		if c.say != "" && !strings.Contains(said, c.say) || c.say == "" && strings.Contains(said, "storage life") {
			t.Errorf("with %q the sheet doubts %s", c.reading, said)
		}
	}
}
