package journal

import (
	"math"
	"time"

	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// ReadingBody returns the body of r. The record's ID stands for r.ID.
func ReadingBody(r farm.Reading, typed Typed) []byte {
	b := builder{"field": r.Field, "at": FormatInstant(r.At), "moist_hundredth_pct": int64(r.Moisture), "device": r.Device}
	if r.Spots != 0 {
		b["spots"] = int64(r.Spots)
	}
	b.text("name", r.Name)
	b.text("zone", r.Zone)
	b.text("load", r.Load)
	b.text("by", r.By)
	b.text("note", r.Note)
	b.typed(typed)
	return b.body()
}

// ReadReading returns the reading in a body, its ID empty.
func ReadReading(body []byte) (farm.Reading, Typed, error) {
	o, err := openBody(body)
	if err != nil {
		return farm.Reading{}, nil, err
	}
	r := farm.Reading{
		Field: o.text("field", maxName), At: o.instant("at"),
		Moisture: trade.Percent(o.integer("moist_hundredth_pct", -maxInteger, maxInteger)),
		Device:   o.text("device", maxName), Name: o.optText("name", maxName), Zone: o.optText("zone", maxName),
		Load: o.optText("load", maxName), By: o.optText("by", maxName), Note: o.optText("note", maxNote),
	}
	if n := o.optInteger("spots", 1, 10_000); n != nil {
		r.Spots = int(*n)
	}
	t := o.typed()
	return r, t, o.close()
}

// StageBody returns the body of s; its share of plants is kept to a hundredth of a percent.
func StageBody(s farm.Sighting, typed Typed) []byte {
	b := builder{"field": s.Field, "on": s.On.String(), "stage": s.Stage}
	if s.Pct != nil {
		b["plants_hundredth_pct"] = int64(math.Round(*s.Pct * 100))
	}
	b.text("zone", s.Zone)
	b.text("by", s.By)
	b.text("note", s.Note)
	b.typed(typed)
	return b.body()
}

// ReadStage returns the sighting in a body, its ID empty.
func ReadStage(body []byte) (farm.Sighting, Typed, error) {
	o, err := openBody(body)
	if err != nil {
		return farm.Sighting{}, nil, err
	}
	s := farm.Sighting{
		Field: o.text("field", maxName), On: o.day("on"), Stage: o.text("stage", maxName), Zone: o.optText("zone", maxName),
		By: o.optText("by", maxName), Note: o.optText("note", maxNote),
	}
	if n := o.optInteger("plants_hundredth_pct", 0, 100_00); n != nil {
		pct := float64(*n) / 100
		s.Pct = &pct
	}
	t := o.typed()
	return s, t, o.close()
}

// BidBody returns the body of b. Prices are in hundred-thousandths of a dollar, as trade has them.
func BidBody(bid farm.Bid, typed Typed) []byte {
	b := builder{"outlet": bid.Outlet, "crop": bid.Crop.String(), "taken_at": FormatInstant(bid.Taken)}
	set(b, "cash_usd_e5", bid.Cash)
	set(b, "futures_usd_e5", bid.Futures)
	set(b, "basis_usd_e5", bid.Basis)
	b.text("month", bid.Month)
	b.day("from", bid.From)
	b.day("until", bid.Until)
	b.typed(typed)
	return b.body()
}

// ReadBid returns the bid in a body, its ID empty.
func ReadBid(body []byte) (farm.Bid, Typed, error) {
	o, err := openBody(body)
	if err != nil {
		return farm.Bid{}, nil, err
	}
	bid := farm.Bid{
		Outlet: o.text("outlet", maxName), Crop: o.crop("crop"), Taken: o.instant("taken_at"),
		Cash: number[trade.Price](o, "cash_usd_e5"), Futures: number[trade.Price](o, "futures_usd_e5"),
		Basis: number[trade.Price](o, "basis_usd_e5"), Month: o.optText("month", maxName),
		From: o.optDay("from"), Until: o.optDay("until"),
	}
	t := o.typed()
	return bid, t, o.close()
}

// OutlookBody returns the body of d. Temperatures are kept to a thousandth of a degree Fahrenheit, which holds
// hundredths of either scale exactly.
func OutlookBody(d farm.OutlookDay, typed Typed) []byte {
	b := builder{
		"on": d.On.String(), "high_thousandth_f": thousandthF(d.High), "low_thousandth_f": thousandthF(d.Low),
	}
	if d.RainPct != nil {
		b["rain_hundredth_pct"] = int64(math.Round(*d.RainPct * 100))
	}
	for _, w := range outlookWords(&d) {
		b.text(w.key, *w.value)
	}
	b.instant("entered_at", d.Entered)
	b.typed(typed)
	return b.body()
}

// ReadOutlook returns the day in a body.
func ReadOutlook(body []byte) (farm.OutlookDay, Typed, error) {
	o, err := openBody(body)
	if err != nil {
		return farm.OutlookDay{}, nil, err
	}
	d := farm.OutlookDay{
		On:      o.day("on"),
		High:    fahrenheit(o.integer("high_thousandth_f", -200_000, 200_000)),
		Low:     fahrenheit(o.integer("low_thousandth_f", -200_000, 200_000)),
		Entered: o.optInstant("entered_at"),
	}
	if n := o.optInteger("rain_hundredth_pct", 0, 100_00); n != nil {
		pct := float64(*n) / 100
		d.RainPct = &pct
	}
	for _, w := range outlookWords(&d) {
		*w.value = o.optText(w.key, maxName)
	}
	t := o.typed()
	return d, t, o.close()
}

func thousandthF(t units.Temperature) int64 { return int64(math.Round(t.Fahrenheit() * 1000)) }

func fahrenheit(thousandths int64) units.Temperature {
	return units.Fahrenheit(float64(thousandths) / 1000)
}

type word struct {
	key   string
	value *string
}

func outlookWords(d *farm.OutlookDay) []word {
	return []word{{"amount", &d.Amount}, {"when", &d.When}, {"dew", &d.Dew}, {"wind", &d.Wind}, {"sky", &d.Sky}}
}

// A Season is the season file as it was set, with the names that entries may use.
type Season struct {
	Text  string // the file, byte for byte
	Names []Name
}

// A Name is the ID of something the season file defines.
type Name struct {
	Kind string // "field", "outlet", "bin", "truck", "contract", "party"
	ID   string
	Crop string // of a contract; empty: any
}

// SeasonNames returns the names that season s defines.
func SeasonNames(s farm.Season) []Name {
	var names []Name
	for _, f := range s.Fields {
		names = append(names, Name{"field", f.ID, ""})
	}
	for _, o := range s.Outlets {
		names = append(names, Name{"outlet", o.ID, ""})
	}
	for _, b := range s.Bins {
		names = append(names, Name{"bin", b.ID, ""})
	}
	for _, t := range s.Trucks {
		names = append(names, Name{"truck", t.ID, ""})
	}
	for _, c := range s.Contracts {
		names = append(names, Name{"contract", c.ID, c.Crop.String()})
	}
	for _, p := range s.Parties {
		names = append(names, Name{"party", p.ID, ""})
	}
	return names
}

// SeasonBody returns the body of s, whose text must be UTF-8.
func SeasonBody(s Season) []byte {
	names := make([]any, len(s.Names))
	for i, n := range s.Names {
		m := map[string]any{"kind": n.Kind, "id": n.ID}
		if n.Crop != "" {
			m["crop"] = n.Crop
		}
		names[i] = m
	}
	return builder{"text": s.Text, "names": names}.body()
}

// ReadSeason returns the season in a body.
func ReadSeason(body []byte) (Season, error) {
	o, err := openBody(body)
	if err != nil {
		return Season{}, err
	}
	text, _ := o.get("text")
	s := Season{}
	var isText bool
	if s.Text, isText = text.(string); !isText || len(s.Text) > MaxSeason {
		o.wrong("text", "", "the season file, at most 4 MB")
	}
	v, _ := o.get("names")
	list, isList := v.([]any)
	if !isList {
		o.wrong("names", "", "a list of names")
	}
	for _, x := range list {
		m, _ := x.(map[string]any)
		in := &object{m: m, path: "names.", errs: o.errs}
		s.Names = append(s.Names, Name{in.text("kind", maxName), in.text("id", maxName), in.optText("crop", maxName)})
		_ = in.close() // its errors are o's too, and o closes below
	}
	return s, o.close()
}

// A Saying is an event about a record that another event began.
type Saying struct {
	Of     ID     // the record
	Saw    ID     // Correct, Voided: the version the person had before them
	Into   ID     // Merged: the record it is the same truckload as
	Events []ID   // SetAside: the events that count no more
	Reason string // in the person's own words
	To     []byte // Correct: the whole body that takes the place of the version seen
}

// SayingBody returns the body of s for an event of act a.
func SayingBody(a Act, s Saying) []byte {
	b := builder{"of": string(s.Of), "reason": s.Reason}
	switch a {
	case Correct:
		b["saw"], b["to"] = string(s.Saw), canonical(s.To)
	case Voided:
		b["saw"] = string(s.Saw)
	case Merged:
		b["into"] = string(s.Into)
	case SetAside:
		ids := make([]string, len(s.Events))
		for i, id := range s.Events {
			ids[i] = string(id)
		}
		b["events"] = texts(ids)
	default: // nothing for the others
	}
	return b.body()
}

// ReadSaying returns what e says of the record it names.
func ReadSaying(e Event) (Saying, error) {
	o, err := openBody(e.Body)
	if err != nil {
		return Saying{}, err
	}
	s := Saying{Of: o.id("of"), Reason: o.text("reason", maxNote)}
	subject, act, _ := e.Kind.Split()
	switch act {
	case Correct:
		s.Saw, s.To = o.id("saw"), appendValue(nil, o.object("to"))
		if err := readable(subject, s.To); err != nil {
			return s, err
		}
	case Voided:
		s.Saw = o.id("saw")
	case Merged:
		s.Into = o.id("into")
		if s.Into == s.Of && s.Of != "" {
			o.wrong("into", string(s.Into), "another record than the one it speaks of")
		}
	case SetAside:
		s.Events = o.idList("events")
		if len(s.Events) == 0 {
			o.wrong("events", "", "at least one event")
		}
	default: // nothing for the others
	}
	return s, o.close()
}

// A Restore is the note the book makes of being continued from a backup.
type Restore struct {
	Backup   string // the file's name
	Seq      int64  // newest entry in the backup
	LeftSeq  int64  // newest entry of the book set aside; 0: it could not be read
	LeftHash string
	Kept     string // the folder where the book set aside lies; empty: there was none
	At       time.Time
}

// RestoreBody returns the body of r.
func RestoreBody(r Restore) []byte {
	b := builder{"backup": r.Backup, "seq": r.Seq, "left_seq": r.LeftSeq, "at": FormatInstant(r.At)}
	b.text("left_hash", r.LeftHash)
	b.text("kept", r.Kept)
	return b.body()
}

// ReadRestore returns the note in a body.
func ReadRestore(body []byte) (Restore, error) {
	o, err := openBody(body)
	if err != nil {
		return Restore{}, err
	}
	r := Restore{
		Backup: o.text("backup", maxNote), Seq: o.integer("seq", 0, maxInteger), LeftSeq: o.integer("left_seq", 0, maxInteger),
		LeftHash: o.optText("left_hash", maxName), Kept: o.optText("kept", maxNote), At: o.instant("at"),
	}
	return r, o.close()
}

// readable reports, as an error, why body is no body of subject s.
func readable(s Subject, body []byte) (err error) {
	switch s {
	case LoadSubject:
		_, err = ReadLoad(body)
	case ReadingSubject:
		_, _, err = ReadReading(body)
	case StageSubject:
		_, _, err = ReadStage(body)
	case BidSubject:
		_, _, err = ReadBid(body)
	case OutlookSubject:
		_, _, err = ReadOutlook(body)
	case ChequeSubject:
		_, err = ReadCheque(body)
	case SheetSubject:
		_, err = ReadSheet(body)
	case SeasonSubject:
		_, err = ReadSeason(body)
	case BookSubject:
		_, err = ReadRestore(body)
	default:
		err = &problem.InputError{Rule: "entry.kind", Label: "Kind", Got: string(s), Want: "a subject of the book"}
	}
	return err
}
