package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"time"
	"unicode"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/feeds/quantity"
)

// startDoc is what the first steps ask for; every value is a text as typed.
type startDoc struct {
	ID       string            `json:"id"`
	By       string            `json:"by"`
	Farm     json.RawMessage   `json:"farm"`
	Limits   json.RawMessage   `json:"limits"`
	Fields   []json.RawMessage `json:"fields"`
	Combine  json.RawMessage   `json:"combine"`
	Truck    json.RawMessage   `json:"truck"`
	Outlet   json.RawMessage   `json:"outlet"`
	Schedule json.RawMessage   `json:"schedule"`
	Bids     []json.RawMessage `json:"bids"`
	Outlook  []json.RawMessage `json:"outlook"`
}

type startedDoc struct {
	Farm     string             `json:"farm"`
	Files    []string           `json:"files"`
	Findings []answer.Complaint `json:"findings"`
}

// start begins a farm in a data file that has none.
func (s *Server) start(w http.ResponseWriter, r *http.Request) error {
	var in startDoc
	if err := readDoc(w, r, mostForm, &in); err != nil {
		return err
	}
	if !journal.ID(in.ID).Valid() {
		return &problem.InputError{Rule: "entry.id", Label: "Entry ID", Got: shortened(in.ID), Want: "a UUID in lower case", Where: problem.Place{Path: "id"}}
	}
	b := beginner{now: s.set.App.Now(), in: in}
	order, err := b.order(s.set.App.Zone)
	if err != nil {
		return err
	}
	begun, err := s.set.App.Begin(r.Context(), s.set.Data, *order)
	if err != nil {
		return err
	}
	out := startedDoc{Farm: begun.Farm, Files: answer.List(begun.Files), Findings: []answer.Complaint{}}
	for _, f := range begun.Findings {
		out.Findings = append(out.Findings, answer.OfFinding(f))
	}
	status := http.StatusCreated
	if begun.Again {
		status = http.StatusOK
	}
	reply(w, status, out)
	return nil
}

// A beginner makes a season of what the first steps asked for.
type beginner struct {
	now    time.Time
	zone   *time.Location
	in     startDoc
	season farm.Season
	posted []app.NewFile
	wrong  problem.InputErrors
}

// mostFields bounds the first steps; more fields come by the season file.
const mostFields = 60

// order returns what is to begin, or everything that is wrong with it at once.
func (b *beginner) order(zones func(string) (*time.Location, error)) (*app.BeginOrder, error) {
	place := b.open("farm", b.in.Farm)
	zone := place.text("zone")
	var err error
	if b.zone, err = zones(zone); err != nil || zone == "" || zone == "Local" {
		place.refuse(atBox(&problem.InputError{Rule: "zone.unknown", Label: "Zone", Got: zone, Want: "a name of the public time-zone list, as America/Chicago"}, "zone"))
		b.zone = time.UTC
	}
	b.farm(place, zone)
	b.limits()
	b.fields()
	b.machines()
	b.outlet()
	b.schedules()
	b.bids()
	b.outlook()
	if len(b.wrong) > 0 {
		return nil, b.wrong
	}
	return &app.BeginOrder{Sign: app.Signed{By: strings.TrimSpace(journal.Clean(b.in.By)), ID: b.in.ID}, Season: &b.season, Files: b.posted}, nil
}

// open reads one object of the document; its boxes are named after it.
func (b *beginner) open(at string, text json.RawMessage) *form {
	f := newForm(text, b.zone)
	if len(text) == 0 {
		f.refuse(&problem.InputError{Rule: "box.missing", Label: labelOf(at), Want: "it: the first steps ask for it"})
	}
	return f
}

// close gathers what is wrong in an object.
func (b *beginner) close(at string, f *form) {
	if f.done() == nil {
		return
	}
	for _, e := range f.wrong {
		with := *e
		with.Where.Path = strings.TrimSuffix(at+"."+e.Where.Path, ".")
		b.wrong = append(b.wrong, &with)
	}
}

func (b *beginner) farm(f *form, zone string) {
	to := &b.season.Farm
	f.put("name", &to.Name)
	f.put("place", &to.Place)
	f.need(to.Name != "", "name", "the farm's name")
	to.ID, to.Zone, to.Year = slug(to.Name, "farm"), zone, calendar.DayOf(b.now, b.zone).Year
	var lat, lon *float64
	read(f, "lat", "", number, &lat)
	read(f, "lon", "", number, &lon)
	f.need(lat != nil, "lat", "degrees north, as 40.05: the sun and the forecast hang on it")
	f.need(lon != nil, "lon", "degrees east, west negative, as -88.37")
	if lat != nil && lon != nil {
		if *lat < -90 || *lat > 90 || *lon < -180 || *lon > 180 {
			f.refuse(atBox(&problem.InputError{Rule: "place", Label: "Latitude", Got: fmt.Sprintf("%g, %g", *lat, *lon), Want: "latitude -90 to 90 and longitude -180 to 180 degrees"}, "lat"))
		}
		to.At = &farm.Point{Lat: *lat, Lon: *lon}
	}
	b.close("farm", f)
}

func (b *beginner) limits() {
	f := newForm(nil, b.zone)
	if len(b.in.Limits) > 0 {
		f.in = map[string]json.RawMessage{"limits": b.in.Limits}
	}
	b.season.Prefer.Limits = f.limits()
	b.season.Prefer.WorkFrom, b.season.Prefer.WorkUntil = 8*60, 22*60
	b.close("", f)
}

func (b *beginner) fields() {
	if n := len(b.in.Fields); n < 1 || n > mostFields {
		b.wrong = append(b.wrong, &problem.InputError{Rule: "start.fields", Label: "Fields", Got: fmt.Sprint(n), Want: "one to sixty", Where: problem.Place{Path: "fields"}})
		return
	}
	taken := map[string]bool{}
	for i, text := range b.in.Fields {
		at := fmt.Sprintf("fields.%d", i)
		f := b.open(at, text)
		one := farm.Field{Evenness: "", Yield: farm.Yield{How: "guess"}}
		f.put("name", &one.Name)
		f.need(one.Name != "", "name", "the field's name")
		one.ID = unique(slug(one.Name, "field"), taken)
		must(f, "acres", "", within(1, 5000, "1 to 5,000 acres"), &one.Acres)
		f.need(one.Acres > 0, "acres", "its acres")
		must(f, "crop", "", kind, &one.Crop)
		f.need(one.Crop != crop.Unknown, "crop", "the crop")
		f.put("class", &one.Class)
		must(f, "yield", "", within(1, 400, "1 to 400 bushels an acre"), &one.Yield.BuPerAcre)
		f.need(one.Yield.BuPerAcre > 0, "yield", "the bushels an acre you expect")
		read(f, "mature", "", quantity.ParseDay, &one.Mature)
		read(f, "planted", "", quantity.ParseDay, &one.Planted)
		read(f, "relative_maturity", "", number, &one.RelativeMaturity)
		dated := one.Mature != nil || one.Planted != nil && one.RelativeMaturity != nil && one.Crop != crop.Soybean
		f.need(dated, "mature", "the day half the plants were or will be ripe; but for soybean, the day it was planted and its relative maturity say it too")
		f.oneOf("evenness", &one.Evenness, "even", "some", "uneven")
		b.reading(f, one.ID)
		ripe := one.Mature == nil || !calendar.DayOf(b.now, b.zone).Before(*one.Mature)
		f.need(!ripe || f.text("moisture") != "", "moisture", "a reading of today: the weather since it ripened is not recorded here")
		if limit, ok := b.season.Prefer.Limits[one.Crop]; one.Crop != crop.Unknown && (!ok || limit == 0) {
			b.wrong = append(b.wrong, &problem.InputError{Rule: "box.missing", Label: "Limit for " + one.Crop.String(), Want: "the wettest you cut it at, percent", Where: problem.Place{Path: "limits"}})
			if b.season.Prefer.Limits == nil {
				b.season.Prefer.Limits = map[crop.Kind]trade.Percent{}
			}
			b.season.Prefer.Limits[one.Crop] = 1 // said once
		}
		b.season.Fields = append(b.season.Fields, one)
		b.close(at, f)
	}
}

// reading takes this morning's moisture of a field, where it was read.
func (b *beginner) reading(f *form, field string) {
	var m *trade.Percent
	read(f, "moisture", "", printed, &m)
	switch {
	case m == nil:
	case *m < 3_00 || *m > 60_00:
		f.refuse(atBox(&problem.InputError{Rule: "moisture.range", Label: "Moisture", Got: m.String(), Want: "3 to 60 % wet basis"}, "moisture"))
	default:
		b.season.Readings = append(b.season.Readings, farm.Reading{ID: fmt.Sprintf("first-%d", len(b.season.Readings)+1), Field: field, At: b.now.In(b.zone).Truncate(time.Minute), Moisture: *m, Device: "meter"})
	}
}

// within reads a number inside a range.
func within(low, high float64, want string) func(label, text string) (float64, error) {
	return func(label, text string) (float64, error) {
		x, err := number(label, text)
		if err == nil && (x < low || x > high) {
			err = &problem.InputError{Rule: "box.range", Label: label, Got: text, Want: want}
		}
		return x, err
	}
}

func (b *beginner) machines() {
	f := b.open("combine", b.in.Combine)
	c := farm.Combine{Name: "Combine"}
	f.put("name", &c.Name)
	c.Name = named(c.Name, "Combine")
	c.ID = slug(c.Name, "combine")
	head := farm.Head{Name: "Head"}
	var width, speed bool
	width = must(f, "head", "", quantity.ParseLength, &head.Width)
	speed = must(f, "speed", "", quantity.ParseSpeed, &head.Speed)
	f.need(width, "head", "its working width, as 30 ft")
	f.need(speed, "speed", "its fastest in a good stand, as 4 mph")
	must(f, "holds", "", within(20, 800, "20 to 800 bushels"), &c.TankBu)
	f.need(c.TankBu > 0, "holds", "the bushels its tank holds")
	c.UnloadBuS = 3 // [judgement] a slow auger; what unloading on the go leaves of it hardly counts
	seen := map[crop.Kind]bool{}
	for _, one := range b.season.Fields {
		if one.Crop != crop.Unknown && !seen[one.Crop] {
			seen[one.Crop] = true
			head.Crops = append(head.Crops, one.Crop)
		}
	}
	c.Heads = []farm.Head{head}
	b.season.Combines = []farm.Combine{c}
	b.close("combine", f)

	f = b.open("truck", b.in.Truck)
	t := farm.Truck{Name: "Truck", Count: 1}
	f.put("name", &t.Name)
	t.Name = named(t.Name, "Truck")
	t.ID = slug(t.Name, "truck")
	must(f, "count", "", count, &t.Count)
	read(f, "gross", "", quantity.ParseMass, &t.Gross)
	read(f, "tare", "", quantity.ParseMass, &t.Tare)
	f.need(t.Gross != nil, "gross", "the most it may weigh loaded, as 80000 lb")
	f.need(t.Tare != nil, "tare", "what it weighs empty, as 26500 lb")
	if t.Gross != nil && t.Tare != nil && t.Gross.Kilograms() <= t.Tare.Kilograms() {
		f.refuse(atBox(&problem.InputError{Rule: "truck.order", Label: "Tare", Got: f.text("tare"), Want: "less than the loaded weight"}, "tare"))
	}
	read(f, "per_mile", "", price, &t.PerMile)
	read(f, "per_hour", "", price, &t.PerHour)
	f.need(t.PerMile != nil, "per_mile", "what a mile costs, as $2.15")
	f.need(t.PerHour != nil, "per_hour", "what an hour of its driver costs, as $28")
	loaded, empty := 45.0, 50.0 // [judgement] on county roads; the season file has both
	t.LoadedMPH, t.EmptyMPH = &loaded, &empty
	b.season.Trucks = []farm.Truck{t}
	b.close("truck", f)
}

func (b *beginner) outlet() {
	f := b.open("outlet", b.in.Outlet)
	o := farm.Outlet{Open: map[time.Weekday][2]calendar.Clock{}, Schedules: map[crop.Kind]string{}}
	f.put("name", &o.Name)
	f.need(o.Name != "", "name", "the buyer's name")
	o.ID = slug(o.Name, "outlet")
	read(f, "miles", "", within(0, 500, "0 to 500 miles"), &o.Miles)
	f.need(o.Miles != nil, "miles", "the road miles to it")
	var opens, closes calendar.Clock
	var saturday *calendar.Clock
	must(f, "open", "", clock, &opens)
	shuts := must(f, "close", "", clock, &closes)
	read(f, "saturday_close", "", clock, &saturday)
	f.need(shuts, "close", "when it takes the last load, as 19:00")
	if shuts && closes <= opens {
		f.refuse(atBox(&problem.InputError{Rule: "outlet.hours", Label: "Close", Got: f.text("close"), Want: "a time after it opens, " + f.text("open")}, "close"))
	}
	if saturday != nil && *saturday <= opens {
		f.refuse(atBox(&problem.InputError{Rule: "outlet.hours", Label: "Saturday", Got: f.text("saturday_close"), Want: "a time after it opens, " + f.text("open")}, "saturday_close"))
	}
	for d := time.Monday; d <= time.Friday; d++ {
		o.Open[d] = [2]calendar.Clock{opens, closes}
	}
	if saturday != nil {
		o.Open[time.Saturday] = [2]calendar.Clock{opens, *saturday}
	}
	b.season.Outlets = []farm.Outlet{o}
	b.close("outlet", f)
}

func (b *beginner) bids() {
	if len(b.in.Bids) == 0 {
		b.wrong = append(b.wrong, &problem.InputError{Rule: "start.bids", Label: "Bids", Want: "one at least: without a price nothing can be weighed", Where: problem.Place{Path: "bids"}})
	}
	outlet := b.season.Outlets[0].ID
	for i, text := range b.in.Bids {
		at := fmt.Sprintf("bids.%d", i)
		f := b.open(at, text)
		one := farm.Bid{ID: fmt.Sprintf("first-bid-%d", i+1), Outlet: outlet, Taken: b.now.In(b.zone).Truncate(time.Minute)}
		f.bid(&one)
		one.Outlet = outlet
		f.need(one.Crop != crop.Unknown, "crop", "the crop")
		f.need(one.Cash != nil || one.Futures != nil && one.Basis != nil, "cash", "a cash price like $9.87, or futures and basis both")
		b.season.Bids = append(b.season.Bids, one)
		b.close(at, f)
	}
}

func (b *beginner) outlook() {
	at := b.now.In(b.zone).Truncate(time.Minute)
	for i, text := range b.in.Outlook {
		where := fmt.Sprintf("outlook.%d", i)
		f := b.open(where, text)
		d := farm.OutlookDay{Entered: &at}
		f.forecast(&d)
		f.need(!d.On.IsZero(), "on", "the day, as 2031-09-15")
		f.need(f.text("high") != "", "high", "the highest temperature, as 82 F")
		f.need(f.text("low") != "", "low", "the lowest temperature, as 61 F")
		b.season.Outlook = append(b.season.Outlook, d)
		b.close(where, f)
	}
}

// slug makes an id of a name: lower case, letters and digits joined by dashes.
func slug(name, otherwise string) string {
	var out strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case r < unicode.MaxASCII && (unicode.IsLetter(r) || unicode.IsDigit(r)):
			out.WriteRune(r)
		case out.Len() > 0 && !strings.HasSuffix(out.String(), "-"):
			out.WriteByte('-')
		}
	}
	if s := strings.Trim(out.String(), "-"); s != "" {
		return s[:min(len(s), 40)]
	}
	return otherwise
}

func unique(id string, taken map[string]bool) string {
	one := id
	for n := 2; taken[one]; n++ {
		one = fmt.Sprintf("%s-%d", id, n)
	}
	taken[one] = true
	return one
}
