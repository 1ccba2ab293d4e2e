// Package settlement works out what one load pays under one set of posted terms: a statement with a line for
// every pound and every cent, or the row that refuses the load.
//
// A [Schedule] is data: rows that take weight, money or nothing, each with its own threshold, steps and
// quantity, and the profile of roundings a buyer follows. [Prepare] checks it and turns it into [Terms];
// [Terms.Settle] explains a load, [Terms.Totals] and [Terms.Net] give the same figures without the words for
// callers that settle millions. There is one evaluation behind all three. [Audit] searches for the reading of
// the terms that explains a buyer's own sheet, [Assign] gives the official US grade, [Insured] the
// production-to-count adjustment for moisture.
//
// It leaves out who owns the load, which contract it fills, freight, storage and advances; it knows no date
// but the load's and no truck.
//
// Readings are hundredths of the factor's own unit and are rounded half-up to the precision in which the
// trade records them before any step is counted. Weights are whole pounds, quantities thousandths of a bushel
// (or hundredweight), prices 1e-5 dollar, amounts cents. Products are exact and round once, where a line says.
//
// Sources: the steps from scale to cheque and their names are common practice, no source; rounding of
// recorded figures [cfr-868-308]; checkoff base [cfr-1220-223]; grades [cfr-810-1604] and its sisters;
// insurance moisture adjustment [rma-fad-213].
package settlement
