package estimate_test

import (
	"fmt"

	"threshday/internal/core/crop"
	"threshday/internal/core/estimate"
)

func ExampleCorn_BuPerAcre() {
	bu, _ := estimate.Corn{Ears: 31, Rows: 16, Kernels: 34, KernelsPerBu: 90000}.BuPerAcre()
	sd, _ := estimate.CountedSDPct(crop.Corn)
	fmt.Printf("%.0f bu/ac, two in three within %.0f\n", bu, bu*sd/100)
	// Output: 187 bu/ac, two in three within 22
}

func ExampleField_Update() {
	u := estimate.Field{Acres: 100, CutAcres: 20, CutBu: 1200, Before: estimate.Yield{BuPerAcre: 50, SDPct: 12}}.Update()
	fmt.Printf("so far %.0f, the rest %.0f, the field %.0f bu/ac\n", u.Cut, u.Rest.BuPerAcre, u.Whole.BuPerAcre)
	// Output: so far 60, the rest 55, the field 56 bu/ac
}
