// Package market weighs what can be done with grain that is not sold yet: what a load nets at each outlet after
// discounts and freight, at which moisture, price or distance two outlets come out the same, whether drying,
// selling wet or waiting pays, what keeping it costs, and what a contract's price is while parts of it are open.
//
// Every figure of a settlement comes from [settlement.Terms]; there is no second, approximate settlement here.
// It leaves out who owns the grain, queues and machine hours, weather, and which contract a load fills.
//
// Prices, quantities and money are the printed integers of trade. Trucks and dryers are modelled in floats by
// capacity and storage and cross into cents where a function says so, rounded half-up once. Moistures are
// compared on the grid of tenths that a scale prints.
//
// Sources: contract types [isu-a2-73]; interest and storage [isu-a2-33]; rules without a key are common
// practice, no source. The buyer's written contract and posted schedule decide, and what to sell when is the
// owner's to judge.
package market
