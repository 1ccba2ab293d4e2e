package linear

// Tolerances and limits of the method. Those on primal and dual values hold in the scaled problem, where
// matrix entries are near one and the largest objective coefficient is between one and two. They are tighter
// than the 1e-7 that general solvers use [koberstein-2005], since answers are compared to 1e-6 of the
// objective. [judgement]
const (
	primalTol = 1e-9 // a basic value may lie this far outside its bounds
	dualTol   = 1e-9 // a reduced cost may have the wrong sign by this much

	// A ratio test takes no pivot smaller than the first while factors are fresh, the last when they are old.
	pivotTolFresh = 1e-9
	pivotTolAged  = 1e-7

	// The pivot seen from its row and from its column may differ by this much before the factors are renewed.
	pivotDrift = 1e-7

	negligible = 1e-12 // a pivot below counts as zero when a row is proven impossible

	noise       = 1e-14  // values below are taken as zero in solves
	placeholder = 1e-100 // stands for an exact zero at a listed position

	pivotAge = 20  // updates after which factors count as old
	tiePivot = 0.1 // a pivot below this share of the largest on offer is avoided where a tie allows
	denseRho = 4   // a row of B⁻¹ with more than one in so many positions filled is priced by column

	sparseShare = 10 // a vector is treated as sparse while fewer than one in so many positions is filled
	runningKeep = 0.9

	scalePasses = 4 // times rows and columns are scaled in turn

	refactorAfter = 100  // updates of the factors before they are renewed
	etaGrowth     = 3    // updates may hold this many times the entries of the fresh factors
	kernelPivot   = 0.1  // a pivot of the factors is at least this share of the largest in its column
	peelPivot     = 1e-3 // the same for a row that has one column left
	singularPivot = 1e-10

	perturbBase = 5e-7 // relative size of the random-looking change of costs against ties [koberstein-2005]

	boxFree = 1000 // half-width of the box given to free columns in the auxiliary problem of [koberstein-2005]

	weightFloor = 1e-4 // steepest-edge weights do not fall below
	weightTrust = 0.25 // a stored weight below this share of the true one makes the row be chosen again

	stallAfter = 2000 // steps in a row without progress before Bland's rule is used
	exactAfter = 5    // rounds after which costs are no longer shifted
	maxRounds  = 20   // times the true costs are restored before the result is called Unsure

	pivotsPerVariable = 50 // limit on pivots where the caller sets none
	pivotsAtLeast     = 10000
)
