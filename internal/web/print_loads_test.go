package web

import (
	"bytes"
	"strings"
	"testing"

	"threshday/internal/answer"
)

func TestEveryDriverHasAListOfHisOwn(t *testing.T) {
	at := func(clock string) string { return "2031-10-06T" + clock + ":00-05:00" }
	h := &answer.Hauling{Say: []string{"The trucks bring about 1,854 of the 2,400 bu planned."}, Loads: []answer.TruckLoad{
		{
			Number: 1, TruckName: "Semi 1", FieldName: "North 40", ToName: "Mill", Bushels: 926.7, Pounds: 51895, Entrance: "East gate", Road: "Posted bridge.", Tell: "Say the account.",
			Leaves: at("10:11"), LeavesP10: at("10:11"), LeavesP90: at("10:11"), AtScale: at("10:36"), AtScaleP10: at("10:30"), AtScaleP90: at("10:51"), Back: at("11:16"),
		},
		{
			Number: 2, TruckName: "Tandem", FieldName: "North 40", ToName: "Mill", Bushels: 536.9, Pounds: 30070,
			Leaves: at("10:40"), LeavesP10: at("10:38"), LeavesP90: at("10:55"), AtScale: at("11:06"), AtScaleP10: at("11:00"), AtScaleP90: at("11:20"), Back: at("11:50"),
		},
		{Number: 3, TruckName: "Semi 1", FieldName: "North 40", ToName: "Mill", Bushels: 400, Pounds: 22400, Overnight: true, Entrance: "East gate", Road: "Posted bridge."},
	}}
	var b bytes.Buffer
	if err := sheets.ExecuteTemplate(&b, "day-sheet.html", sheetPage{Farm: "F", OrdersFor: "2031-10-06", Drivers: driverSheets(h), Hauling: h.Say}); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	semi, tandem, found := strings.Cut(page, "<h3>Tandem</h3>")
	if !found || !strings.Contains(semi, "<h3>Semi 1</h3>") {
		t.Fatalf("the page has no list for each truck:\n%s", page)
	}
	for _, want := range []string{">10:11<", ">10:36 (10:30 to 10:51)<", "927 bu, 51,895 lb", ">stays overnight<", "North 40: in by East gate. Posted bridge.", "Mill: Say the account."} {
		if strings.Count(semi, want) != 1 {
			t.Errorf("the list of Semi 1 says %q %d times, want once", want, strings.Count(semi, want))
		}
	}
	if !strings.Contains(tandem, ">10:40 (10:38 to 10:55)<") || strings.Contains(tandem, "927 bu") {
		t.Errorf("the list of the Tandem is\n%s", tandem)
	}
	if driverSheets(nil) != nil {
		t.Error("a day without loads has lists")
	}
}
