package web

import (
	"net/http"
	"net/url"
	"strings"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// A question is the parameters of an address; everything wrong in them is gathered.
type question struct {
	in    url.Values
	wrong problem.InputErrors
}

func (q *question) refuse(key, want string) {
	q.wrong = append(q.wrong, &problem.InputError{Rule: "question." + key, Label: key, Got: shortened(q.in.Get(key)), Want: want, Where: problem.Place{Path: key}})
}

// only refuses parameters that nobody knows.
func (q *question) only(known ...string) {
	for key := range q.in {
		found := false
		for _, k := range known {
			found = found || k == key
		}
		if !found {
			q.refuse(key, strings.Join(known, ", "))
		}
	}
}

// percent reads a moisture that may be left out.
func (q *question) percent(key string) *trade.Percent {
	text := q.in.Get(key)
	if text == "" {
		return nil
	}
	p, err := trade.ParsePercentIn(key, pointed(text), 0, 60_00)
	if err != nil {
		q.refuse(key, "a moisture of 0 to 60 %, as 14.2")
		return nil
	}
	return &p
}

// price answers what a truckload nets at every outlet, by moisture, with break-evens.
func (s *Server) price(w http.ResponseWriter, r *http.Request) error {
	q := question{in: r.URL.Query()}
	q.only("crop", "field", "moisture", "from", "to", "bushels")
	ask := app.PriceRequest{
		Book: s.set.Data, Field: q.in.Get("field"), Moisture: q.percent("moisture"), From: q.percent("from"), To: q.percent("to"), Lot: usualLot,
	}
	if text := q.in.Get("crop"); text != "" {
		k, err := kind("crop", text)
		if err != nil {
			q.refuse("crop", "a crop, as soybean")
		}
		ask.Crop = k
	}
	if text := q.in.Get("bushels"); text != "" {
		lot, err := trade.ParseBushels("bushels", text)
		if err != nil || lot < 1000 || lot > mostLot || lot%10 != 0 {
			q.refuse("bushels", "1 to 1,000,000, at most two decimals")
		}
		ask.Lot = lot
	}
	if err := q.wrong.Or(); err != nil {
		return err
	}
	sheet, err := s.set.App.Prices(r.Context(), ask)
	if err != nil {
		return err
	}
	return ok(w, answer.OfPrices(sheet))
}

// The lot that is dried, sold wet or left standing: where none is named, and at most.
const (
	usualLot = trade.Bushels(1_000_000) // 1,000 bushels, as on the command line
	mostLot  = trade.Bushels(1_000_000_000)
)
