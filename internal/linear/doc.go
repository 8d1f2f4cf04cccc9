// Package linear solves linear programs with whole and continuous variables: it minimises a cost over rows and bounds, and says how far the
// true optimum can lie from what it found. It knows nothing of drills: the planner of rotations asks it to prove plans best.
//
// # How it works
//
// The relaxation (wholeness left out) is solved by a dual simplex with bounds on both sides: sparse triangular factors of the basis kept
// up to date in product form, the steepest dual edge to choose the row that leaves, a ratio test that flips bounds, and small changes of
// the costs against stalling. A primal simplex tidies up when the true costs are put back.
//
// Solve first makes the program smaller: what the rows fix is fixed, rows that follow from others go, coefficients are lowered where no
// whole solution is lost. Branch and bound then starts every node from the basis of its parent, narrows variables by rows and by reduced
// costs, and branches where trials and experience promise the largest gain. Solutions are looked for near the relaxed one, by rounding and
// by smaller searches. All choices are the same on every run; nothing depends on time but the end of the context.
//
// The methods are in print: Koberstein, The dual simplex method, techniques for a fast and stable implementation (2005); Forrest and
// Goldfarb, Steepest-edge simplex algorithms (1992); Savelsbergh, Preprocessing and probing techniques (1994); Achterberg, Koch and Martin,
// Branching rules revisited (2005).
//
// # What is never claimed wrongly
//
// No bound and no infeasibility is taken from the simplex by itself. Duals are only multipliers of rows, and whatever they are, the rows
// multiplied and added up bound the cost over the bounds of the variables; that sum is worked out anew from the program, with every
// rounding error charged against it (Neumaier and Shcherbina, Safe bounds in linear and mixed-integer programming, 2004). A node is
// dropped on such a sum alone. A solution is put into the rows of the program as it was given before it is returned. Where the sums are
// too weak to decide, the answer is Stopped, with the best bound that holds.
//
// Limits: rows may be broken by a billionth of what is added up in them. A variable without any bound, not even one that follows from a
// row, lets reduced costs within a billionth of zero count as zero.
package linear
