package trade

// The String methods write plain decimals: a point, no thousands marks, no sign of currency or unit, at
// least as many digits behind the point as paper usually prints. Layout for people is the edge's work.

// String returns p with at least one digit behind the point: "15.6", "13.0", "13.05".
func (p Percent) String() string { return fixed(int64(p), 2, 1) }

// String returns w in whole pounds: "51280".
func (w Pounds) String() string { return fixed(int64(w), 0, 0) }

// String returns b with at least two digits behind the point: "847.83", "900.00".
func (b Bushels) String() string { return fixed(int64(b), 3, 2) }

// String returns p with at least two digits behind the point: "9.87", "9.8725", "0.00125".
func (p Price) String() string { return fixed(int64(p), 5, 2) }

// String returns a in dollars and cents: "8090.25".
func (a Amount) String() string { return fixed(int64(a), 2, 2) }

// Fixed returns p with exactly four digits behind the point, or five where the fifth is not zero.
func (p Price) Fixed() string { return fixed(int64(p), 5, 4) }

// Fixed returns b with that many digits behind the point, 0 to 3, or as many more as it needs to be exact.
func (b Bushels) Fixed(places int) string { return fixed(int64(b), 3, places) }
