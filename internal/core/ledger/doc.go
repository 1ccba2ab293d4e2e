// Package ledger adds a season's tickets up until buyer, contract, bin and share all agree: from each ticket to the fields
// it came from, from each field to those who own its crop, from each owner to the contracts that the bushels fill, and on to
// money, claims, grain in bins, yields and production records.
//
// [Build] is a pure function of the entries, in whatever order they are given: the same entries give the same book. Nothing
// in it is changed afterwards. A ticket that should not count is taken back by a further entry and stays listed. Every
// figure is a sum of lines and every line names its ticket, so any figure can be traced ([Book.Trace]).
//
// Parts are made by largest remainder in the order truck, fields, owners, contracts, and add up to their whole exactly; an
// owner's checkoff and charges are his part of the load's line, never worked out again. What the load pays is
// settlement's to say. Three quantities stay apart on every load: settled bushels are the buyer's, insured bushels the
// policy's, dry matter the agronomist's.
//
// It leaves out freight, storage billed by buyers, advances' interest and taxes; it reads no file and no clock. Pounds are
// whole, dry matter is in ten-thousandths of a pound, bushels in thousandths, money in cents.
//
// Sources: order of filling and splitting are common practice, no source; insurance [rma-fad-213]; what a record must hold
// [records-insurer]; shares [unl-shares]. The buyer's sheet, the lease and the adjuster decide.
package ledger
