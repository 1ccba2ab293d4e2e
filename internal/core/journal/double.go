package journal

import "time"

// doubleWithin is how close in time two weighings of one truck at one outlet with one gross weight must lie to
// look like one truckload; judgement.
const doubleWithin = 30 * time.Minute

// A Likeness is what tells one truckload from another.
type Likeness struct {
	Outlet   string
	CropYear int
	Ticket   string
	Truck    string
	Gross    *int64
	At       *time.Time // on the scale; nil: unknown
}

// LikenessOf returns the likeness of l.
func LikenessOf(l Load) Likeness {
	k := Likeness{Outlet: l.Outlet, CropYear: l.CropYear, Ticket: l.Ticket, Truck: l.Truck, Gross: l.Weights.Gross, At: l.In}
	if k.At == nil {
		k.At = l.Out
	}
	return k
}

// Same reports whether two records look like one truckload: one ticket number at one outlet in one crop year,
// or one truck with one gross weight at one outlet within half an hour.
func (k Likeness) Same(other Likeness) bool {
	if k.Outlet != other.Outlet {
		return false
	}
	if k.Ticket != "" && k.Ticket == other.Ticket && k.CropYear == other.CropYear {
		return true
	}
	if k.Truck == "" || k.Truck != other.Truck || k.Gross == nil || other.Gross == nil || *k.Gross != *other.Gross ||
		k.At == nil || other.At == nil {
		return false
	}
	return k.At.Sub(*other.At).Abs() <= doubleWithin
}
