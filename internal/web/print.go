package web

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/words"
)

//go:embed print
var printFiles embed.FS

// sheets are the pages to print.
var sheets = template.Must(template.ParseFS(printFiles, "print/*.html"))

type sheetPage struct {
	Farm, Place, Of, Made, Window, OrdersFor, Foot string
	Demo                                           bool
	Loud, Cautions, Assumed                        []string
	Fields                                         []sheetField
	Orders                                         []sheetOrder
	Earlier                                        string // what became of orders given out before
	Drivers                                        []sheetTruck
	Hauling                                        []string // how the day's loads go
}

type sheetField struct {
	Name, Crop, Acres, Advice, Worth, Moisture, Limit, Because string
	Flips                                                      []string
}

type sheetOrder struct {
	Machine, From, To, Field, What, Entrance, Before string
	Loads                                            []string
}

// show writes a page.
func (s *Server) show(w http.ResponseWriter, name string, page any) error {
	var b bytes.Buffer
	if err := sheets.ExecuteTemplate(&b, name, page); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(b.Bytes()) // whoever asked may have gone
	return nil
}

// printSheet shows the last plan as a page to print.
func (s *Server) printSheet(w http.ResponseWriter, r *http.Request) error {
	_, last := s.job.now()
	if last == nil {
		return s.notice(w, "No plan has been made yet.", "Make one on the screen, then print it.")
	}
	var sheet answer.Sheet
	if err := json.Unmarshal(last.Sheet, &sheet); err != nil {
		return err
	}
	snap, err := s.set.App.Snapshot(r.Context(), s.set.Data)
	if err != nil {
		return err
	}
	page := pageOf(&sheet, last, snap)
	page.Demo = s.set.Demo
	if n := behind(snap.Head.Seq, last); n > 0 {
		page.Loud = append(page.Loud, fmt.Sprintf("%s came after this plan; plan again to have them in it.", sentenceCase(words.Plural(n, "entry"))))
	}
	return s.show(w, "day-sheet.html", page)
}

// pageOf lays a day sheet out for paper.
func pageOf(sheet *answer.Sheet, plan *keptPlan, snap *app.Snapshot) sheetPage {
	names := map[string]string{}
	if snap.Season != nil {
		for _, m := range (view{season: snap.Season}).machines() {
			names[m.ID] = m.Name
		}
		for _, o := range snap.Season.Outlets {
			names[o.ID] = named(o.Name, o.ID)
		}
		for _, b := range snap.Season.Bins {
			names[b.ID] = named(b.Name, b.ID)
		}
	}
	page := sheetPage{
		Farm: sheet.Farm, Of: clockWords(sheet.AsOf, "Monday 2 January 2006, 15:04"), Made: clockWords(plan.At, "Mon 2 Jan 15:04"), Window: windowWords(sheet.Window),
		OrdersFor: sheet.Window.Day, Loud: sheet.Stale, Cautions: sheet.Cautions,
		Foot: fmt.Sprintf("%s, seed %d, %d weathers, inputs %.12s, entry %d of the book. Dollars are modelled, in the mean of all weathers.", plan.Program, plan.Seed, plan.Members, plan.Inputs, plan.Head.Seq),
	}
	if sheet.Earlier != nil {
		page.Earlier = sheet.Earlier.Say
	}
	if snap.Season != nil {
		page.Place = snap.Season.Farm.Place
	}
	for _, a := range sheet.Assumed {
		page.Assumed = append(page.Assumed, a.What+": "+a.Value+" ("+a.From+")")
	}
	field := map[string]string{}
	for _, f := range byStake(sheet.Fields) {
		field[f.Field] = f.Name
		page.Fields = append(page.Fields, fieldRow(f))
	}
	for _, o := range sheet.Orders {
		one := sheetOrder{
			Machine: named(names[o.Machine], o.Machine), From: clockWords(o.From, "15:04"), To: clockWords(o.To, "15:04"), Field: named(field[o.Field], o.Field),
			What: fmt.Sprintf("%.0f acres, %s bu. %s", float64(o.Acres), words.Digits(float64(o.Bushels), 0), o.Why), Entrance: o.Entrance, Before: o.Before,
		}
		one.Loads = loadsByPlace(o.Loads, names)
		page.Orders = append(page.Orders, one)
	}
	if page.Drivers = driverSheets(sheet.Hauling); sheet.Hauling != nil {
		page.Hauling = sheet.Hauling.Say
	}
	return page
}

// byStake puts the fields with most dollars at stake first.
func byStake(fields []answer.Advice) []answer.Advice {
	stake := func(f answer.Advice) float64 {
		most := 0.0
		for _, c := range f.Choices {
			most = max(most, float64(c.USD), -float64(c.USD))
		}
		return most
	}
	out := slices.Clone(fields)
	slices.SortStableFunc(out, func(a, b answer.Advice) int {
		switch x, y := stake(a), stake(b); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return out
}

func fieldRow(f answer.Advice) sheetField {
	row := sheetField{
		Name: f.Name, Crop: f.Crop, Acres: words.Short(float64(f.AcresLeft), 0), Advice: f.Advice, Because: f.Because,
		Moisture: fmt.Sprintf("%.1f %% (%.0f to %.0f)", float64(f.Moisture.MeanPct), float64(f.Moisture.P10Pct), float64(f.Moisture.P90Pct)),
		Limit:    words.Short(float64(f.LimitPct), 2) + " %",
	}
	if len(f.Choices) > 0 {
		days, worth := bestWait(f)
		row.Worth = fmt.Sprintf("$%.0f an acre, %s", max(0, float64(worth)), words.Plural(int64(days), "day"))
		if worth <= -0.5 {
			row.Worth = fmt.Sprintf("−$%.0f an acre, %s", -float64(worth), words.Plural(int64(days), "day"))
		}
	}
	if f.TossUp {
		row.Advice += ", a toss-up"
	}
	for _, flip := range f.Flips {
		row.Flips = append(row.Flips, "If "+flip.If+", "+flip.Then+".")
	}
	return row
}

// loadsByPlace sums the loads of an order up by where they go.
func loadsByPlace(loads []answer.OrderLoad, names map[string]string) []string {
	var keys []string
	n, bu := map[string]int64{}, map[string]float64{}
	for _, l := range loads {
		key := named(names[l.To], l.To)
		if l.Contract != "" {
			key += ", " + l.Contract
		}
		if n[key] == 0 {
			keys = append(keys, key)
		}
		n[key]++
		bu[key] += float64(l.Bushels)
	}
	out := make([]string, len(keys))
	for i, key := range keys {
		out[i] = fmt.Sprintf("%s (%s bu) to %s", words.Plural(n[key], "load"), words.Digits(bu[key], 0), key)
	}
	return out
}

func windowWords(w answer.Window) string {
	if w.OpensH == nil {
		return fmt.Sprintf("Today no field is likely to be fit: %s that any opens.", app.InWords(float64(w.OddsOpen)))
	}
	return fmt.Sprintf("Today the first field opens about %s and the last closes about %s; %s that any opens.", hour(*w.OpensH), hour(*w.ClosesH), app.InWords(float64(w.OddsOpen)))
}

func hour(h answer.Figure) string { return fmt.Sprintf("%02d:%02d", int(h), int(h*60)%60) }

func clockWords(stamp, layout string) string {
	t, err := time.Parse(time.RFC3339, stamp)
	if err != nil {
		return stamp
	}
	return t.Format(layout)
}

type loadsPage struct {
	Farm, At, All string
	Demo, More    bool
	Days          []loadsDay
}

type loadsDay struct {
	Day, Sum string
	Loads    []loadsRow
}

type loadsRow struct{ Ticket, Outlet, From, Crop, Net, Moisture, Pays, Mark string }

// printLoads shows the newest loads as a page to print.
func (s *Server) printLoads(w http.ResponseWriter, r *http.Request) error {
	snap, err := s.set.App.Snapshot(r.Context(), s.set.Data)
	if err != nil {
		return err
	}
	if snap.Season == nil {
		return s.notice(w, "There is no farm yet.", "Begin one on the screen.")
	}
	page := loadsPage{Farm: snap.Season.Farm.Name, At: snap.At.Format("Mon 2 Jan 2006 15:04"), Demo: s.set.Demo, More: snap.Loads.More, All: "All that count: " + sumWords(answer.LoadSum(snap.Loads.All))}
	sums := map[string]string{}
	for _, sum := range snap.Loads.By {
		sums[sum.Key] = sumWords(answer.LoadSum(sum))
	}
	for _, l := range s.loadsOf(snap.Loads, "day", snap.Settled, snap.Now.Location()).Loads {
		if n := len(page.Days); n == 0 || page.Days[n-1].Day != l.Day {
			page.Days = append(page.Days, loadsDay{Day: l.Day, Sum: named(sums[l.Day], "none counts")})
		}
		day := &page.Days[len(page.Days)-1]
		day.Loads = append(day.Loads, loadRow(l, snap.Settled[l.ID]))
	}
	return s.show(w, "loads.html", page)
}

func loadRow(l loadDoc, st app.Settled) loadsRow {
	row := loadsRow{Ticket: named(l.Ticket, "none"), Outlet: l.Outlet, From: strings.Join(l.Fields, ", "), Crop: l.Crop}
	switch {
	case l.NetLb != nil:
		row.Net = number64(*l.NetLb) + " lb"
	case l.NetKg != nil:
		row.Net = number64(*l.NetKg) + " kg"
	}
	if l.Moisture != "" {
		row.Moisture = l.Moisture + " %"
	}
	if st.WhyNot == "" && st.Terms != nil {
		row.Pays = "$" + words.Digits(st.Statement.Net.Float(), 2)
	}
	switch {
	case l.Void:
		row.Mark = "void"
	case !l.Counted:
		row.Mark = "not counted"
	case len(l.Waits) > 0:
		row.Mark = "look at it"
	}
	return row
}

func sumWords(sum answer.LoadSum) string {
	text := words.Plural(sum.Loads, "load")
	if sum.NetLb > 0 || sum.NetKg == 0 {
		text += ", " + number64(sum.NetLb) + " lb"
	}
	if sum.NetKg > 0 {
		text += ", " + number64(sum.NetKg) + " kg"
	}
	return text
}

// notice shows a page with one sentence.
func (s *Server) notice(w http.ResponseWriter, say, next string) error {
	return s.show(w, "notice.html", struct{ Say, Next string }{say, next})
}
