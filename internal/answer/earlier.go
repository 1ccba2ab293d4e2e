package answer

import (
	"encoding/json"
	"time"

	"threshday/internal/app"
)

// Earlier is what became of the orders of a plan made earlier that day.
type Earlier struct {
	AsOf    string        `json:"as_of"`
	Changes []OrderChange `json:"changes"`
	GainUSD *Figure       `json:"gain_usd"` // over the season; null where the orders stand
	SEUSD   *Figure       `json:"se_usd"`
	Say     string        `json:"say"`
}

// An OrderChange is one machine's turns at fields, by name.
type OrderChange struct {
	Machine string   `json:"machine"`
	Was     []string `json:"was"`
	Is      []string `json:"is"`
}

func earlierOf(a *app.OrdersAgainst) *Earlier {
	if a == nil {
		return nil
	}
	out := &Earlier{AsOf: Stamp(a.AsOf), Changes: []OrderChange{}, Say: a.Say}
	for _, c := range a.Changes {
		out.Changes = append(out.Changes, OrderChange{c.Machine, c.Was, c.Is})
	}
	if a.GainUSD != nil {
		out.GainUSD, out.SEUSD = Known(*a.GainUSD), Known(*a.SEUSD)
	}
	return out
}

// OrdersOf reads the orders of a day sheet kept as JSON, alone or in a plan; nil where it cannot be read.
func OrdersOf(text []byte) *app.EarlierOrders {
	var doc struct {
		Sheet
		Plan *Sheet `json:"sheet"`
	}
	if json.Unmarshal(text, &doc) != nil {
		return nil
	}
	sheet := &doc.Sheet
	if doc.Plan != nil {
		sheet = doc.Plan
	}
	made, err := time.Parse(time.RFC3339, sheet.AsOf)
	if err != nil {
		return nil
	}
	out := &app.EarlierOrders{AsOf: made}
	for _, o := range sheet.Orders {
		to, err := time.Parse(time.RFC3339, o.To)
		if err != nil {
			return nil
		}
		out.Orders = append(out.Orders, app.EarlierOrder{Machine: o.Machine, Field: o.Field, To: to})
	}
	return out
}
