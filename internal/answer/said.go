package answer

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/trade"
	"threshday/internal/feeds/quantity"
	"threshday/internal/words"
)

// Entries in one line, as a person would say them.

// MomentLayout is how a moment is written in a sentence.
const MomentLayout = "Mon 2 Jan 2006 15:04"

func ReadingSaid(r farm.Reading, zone *time.Location) string {
	text := fmt.Sprintf("%s %% in %s by %s, %s", r.Moisture, r.Field, strings.TrimSpace(r.Device+" "+r.Name), r.At.In(zone).Format(MomentLayout))
	if r.Spots > 0 {
		text += ", " + words.Plural(int64(r.Spots), "spot")
	}
	return text
}

func StageSaid(s farm.Sighting) string {
	text := s.Stage
	if s.Pct != nil {
		text = words.Short(*s.Pct, 2) + " % " + s.Stage
	}
	return fmt.Sprintf("%s in %s on %s", text, s.Field, s.On)
}

func priceSaid(b farm.Bid) string {
	switch {
	case b.Cash != nil:
		return "$" + b.Cash.Fixed()
	case b.Futures != nil && b.Basis != nil:
		return fmt.Sprintf("futures $%s, basis %s", b.Futures.Fixed(), b.Basis.Fixed())
	}
	return "no price"
}

func BidSaid(b farm.Bid, zone *time.Location) string {
	text := fmt.Sprintf("%s for %s at %s, heard %s", priceSaid(b), b.Crop, b.Outlet, b.Taken.In(zone).Format(MomentLayout))
	if b.From != nil {
		text += ", from " + b.From.String()
	}
	if b.Until != nil {
		text += ", until " + b.Until.String()
	}
	return text
}

func ForecastSaid(d farm.OutlookDay) string {
	text := fmt.Sprintf("forecast for %s: %s / %s", d.On, quantity.FormatTemperature(d.High), quantity.FormatTemperature(d.Low))
	if d.RainPct != nil {
		text += ", rain " + words.Short(*d.RainPct, 2) + " %"
	}
	return text
}

func LoadSaid(l journal.Load) string {
	text := "load"
	if l.Ticket != "" {
		text += " " + l.Ticket
	}
	net, known := l.Weights.Carried()
	if known {
		text += fmt.Sprintf(", %s %s net", words.Digits(float64(net), 0), l.Weights.Unit)
	}
	text += fmt.Sprintf(" of %s to %s", l.Crop, l.Outlet)
	if l.Moisture != nil {
		text += fmt.Sprintf(" at %s %%", *l.Moisture)
	}
	var from []string
	for _, p := range l.From {
		from = append(from, p.Field)
	}
	if known && len(l.From) > 1 {
		for i, lb := range journal.Apportion(net, l.From) {
			from[i] += fmt.Sprintf(" (%s %s)", words.Digits(float64(lb), 0), l.Weights.Unit)
		}
	}
	return text + " from " + strings.Join(from, " and ") + ", " + l.Day.String()
}

// ChequeSaid says a cheque in one line.
func ChequeSaid(c journal.Cheque) string {
	var lines []string
	for _, l := range c.Lines {
		what := "ticket " + l.Ticket
		if l.Ticket == "" {
			what = "an advance"
		}
		lines = append(lines, fmt.Sprintf("%s $%s", what, cents(l.Amount)))
	}
	return fmt.Sprintf("cheque %s of %s to %s on %s over $%s: %s", c.Number, c.Outlet, c.Party, c.On, cents(c.Total), strings.Join(lines, ", "))
}

// SheetSaid says a settlement sheet in one line.
func SheetSaid(p journal.Sheet) string {
	text := fmt.Sprintf("sheet of ticket %s at %s", p.Ticket, p.Outlet)
	var figures []string
	if p.NetQty != nil {
		figures = append(figures, "net quantity "+p.NetQty.String())
	}
	if p.PerUnit != nil {
		figures = append(figures, "price $"+p.PerUnit.Fixed())
	}
	if p.Value != nil {
		figures = append(figures, "value $"+cents(*p.Value))
	}
	if p.Net != nil {
		figures = append(figures, "net $"+cents(*p.Net))
	}
	if n := int64(len(p.Lines) + len(p.Charges)); n > 0 {
		figures = append(figures, words.Plural(n, "line"))
	}
	if len(figures) == 0 {
		return text
	}
	return text + ": " + strings.Join(figures, ", ")
}

func cents(a trade.Amount) string { return words.Digits(a.Float(), 2) }

// BodySaid says the body of a record in one line.
func BodySaid(subject journal.Subject, body string, zone *time.Location) string {
	text := []byte(body)
	switch subject {
	case journal.ReadingSubject:
		if r, _, err := journal.ReadReading(text); err == nil {
			return ReadingSaid(r, zone)
		}
	case journal.StageSubject:
		if r, _, err := journal.ReadStage(text); err == nil {
			return StageSaid(r)
		}
	case journal.BidSubject:
		if b, _, err := journal.ReadBid(text); err == nil {
			return BidSaid(b, zone)
		}
	case journal.OutlookSubject:
		if d, _, err := journal.ReadOutlook(text); err == nil {
			return ForecastSaid(d)
		}
	case journal.LoadSubject:
		if l, err := journal.ReadLoad(text); err == nil {
			return LoadSaid(l)
		}
	case journal.ChequeSubject:
		if c, err := journal.ReadCheque(text); err == nil {
			return ChequeSaid(c)
		}
	case journal.SheetSubject:
		if p, err := journal.ReadSheet(text); err == nil {
			return SheetSaid(p)
		}
	case journal.BookSubject:
		if r, err := journal.ReadRestore(text); err == nil {
			return "continued from backup " + r.Backup
		}
	case journal.SeasonSubject:
		return "the season file"
	}
	return body
}

// A spoken key of a body: its name for people, and its unit with the decimals that the integer carries.
type spoken struct {
	name     string
	decimals int
	unit     string
}

// keysSaid are the names of what bodies hold.
var keysSaid = map[string]spoken{
	"moist_hundredth_pct": {"moisture", 2, " %"}, "spots": {"spots", 0, ""}, "device": {"device", 0, ""}, "name": {"name", 0, ""},
	"plants_hundredth_pct": {"plants", 2, " %"}, "cash_usd_e5": {"cash price", 5, " $"}, "futures_usd_e5": {"futures", 5, " $"},
	"basis_usd_e5": {"basis", 5, " $"}, "test_weight_hundredth_lb_bu": {"test weight", 2, " lb/bu"}, "crop_year": {"crop year", 0, ""},
	"foreign_material_hundredth_pct": {"foreign material", 2, " %"}, "damage_hundredth_pct": {"damage", 2, " %"}, "heat_hundredth_pct": {"heat damage", 2, " %"},
	"splits_hundredth_pct": {"splits", 2, " %"}, "bcfm_hundredth_pct": {"broken corn and foreign material", 2, " %"}, "dockage_hundredth_pct": {"dockage", 2, " %"},
	"protein_hundredth_pct": {"protein", 2, " %"}, "gross_lb": {"gross", 0, " lb"}, "tare_lb": {"tare", 0, " lb"}, "net_lb": {"net", 0, " lb"},
	"gross_kg": {"gross", 0, " kg"}, "tare_kg": {"tare", 0, " kg"}, "net_kg": {"net", 0, " kg"}, "harvest_day": {"day", 0, ""},
	"taken_at": {"heard", 0, ""}, "in_at": {"in", 0, ""}, "out_at": {"out", 0, ""}, "from": {"from", 0, ""},
	"total_usd_e2": {"total", 2, " $"}, "settle_lb": {"settled weight", 0, " lb"}, "gross_qty_e3": {"gross quantity", 3, ""}, "net_qty_e3": {"net quantity", 3, ""},
	"price_usd_e5": {"price", 5, " $"}, "value_usd_e2": {"value", 2, " $"}, "checkoff_usd_e2": {"checkoff", 2, " $"}, "net_usd_e2": {"net amount", 2, " $"},
}

// ChangeSaid says what one change was, "moisture 15.8 %, was 16.4 %"; nothing where only the way it was typed changed.
func ChangeSaid(c journal.Change) string {
	if c.Key == "typed" {
		return ""
	}
	key, ok := keysSaid[c.Key]
	if !ok {
		key = spoken{name: strings.ReplaceAll(c.Key, "_", " ")}
	}
	return fmt.Sprintf("%s %s, was %s", key.name, key.value(c.New), key.value(c.Old))
}

// value says one side of a change, which is canonical JSON.
func (k spoken) value(text string) string {
	var n int64
	var word string
	var list []struct {
		Field, Ticket, Name string
		Share               int64
		Cents               *int64 `json:"usd_e2"`
		Lb                  *int64
	}
	switch raw := []byte(text); {
	case text == "":
		return "nothing"
	case json.Unmarshal(raw, &n) == nil && k.unit == "" && k.decimals == 0:
		return text
	case json.Unmarshal(raw, &n) == nil && k.unit == " $" && k.decimals == 2:
		return "$" + cents(trade.Amount(n))
	case json.Unmarshal(raw, &n) == nil:
		return words.Short(trade.NewDecimal(n, k.decimals).Float(), k.decimals) + k.unit
	case json.Unmarshal(raw, &word) == nil:
		return word
	case json.Unmarshal(raw, &list) == nil:
		var parts []string
		for _, l := range list {
			switch {
			case l.Field != "":
				parts = append(parts, fmt.Sprintf("%s:%d", l.Field, l.Share))
			case l.Cents != nil && l.Ticket+l.Name == "":
				parts = append(parts, "advance $"+cents(trade.Amount(*l.Cents)))
			case l.Cents != nil:
				parts = append(parts, l.Ticket+l.Name+" $"+cents(trade.Amount(*l.Cents)))
			case l.Lb != nil:
				parts = append(parts, fmt.Sprintf("%s %d lb", l.Name, *l.Lb))
			}
		}
		return strings.Join(parts, " ")
	}
	return text
}

// reasons are the reasons to wait that the book knows, for people.
var reasons = map[string]string{
	"load.double": "looks like a load that counts already, so it does not count", "load.merge": "was merged with a load that does not count",
	"load.no-weight": "has no weight", "load.net": "has a net that is not gross less tare",
	"record.rivals": "was corrected twice from one version; undo one of the two", "record.loose": "has a correction of a version that does not stand",
	"record.void": "was corrected after it was voided", "cheque.double": "is a cheque that is in the book already", "sheet.double": "is the sheet of a ticket that has one",
}

// WhySaid says why a record waits, by the rule's name.
func WhySaid(rule string) string {
	if text := reasons[rule]; text != "" {
		return text
	}
	return rule
}

// ActSaid says what an entry is, "Reading" or "Reading corrected".
func ActSaid(kind string) string {
	subject, act, ok := journal.Kind(kind).Split()
	if !ok {
		return kind
	}
	what := map[journal.Subject]string{journal.OutlookSubject: "Forecast", journal.BookSubject: "Data file"}[subject]
	if what == "" {
		what = strings.ToUpper(string(subject[:1])) + string(subject[1:])
	}
	switch act {
	case journal.Recorded:
		return what
	case journal.Set:
		return what + " put in"
	case journal.SetAside:
		return what + ", taken back"
	default:
		return what + " " + string(act)
	}
}

// LineSaid says one entry in a line.
func LineSaid(l app.Line, zone *time.Location) string {
	subject, act, ok := journal.Kind(l.Kind).Split()
	if ok && (act == journal.Recorded || act == journal.Set || act == journal.Restored) {
		return BodySaid(subject, l.Body, zone)
	}
	return "of " + l.Of
}
