// Package linear solves linear programs with whole and continuous variables: it minimises a cost over rows and bounds, and says how far the
// true optimum can lie from what it found. It knows nothing of drills: the planner of rotations asks it to prove plans best.
//
// # How it works
//
// The relaxation (wholeness left out) is solved by a dual simplex with bounds on both sides: sparse triangular factors of the basis kept
// up to date in product form, the steepest dual edge to choose the row that leaves, a ratio test that flips bounds, and small changes of
// the costs against stalling. A primal simplex tidies up when the true costs are put back. Branch and bound starts every node from the
// basis of its parent.
//
// # What is never claimed wrongly
//
// No bound and no infeasibility is taken from the simplex by itself. Duals are only multipliers of rows, and whatever they are, the rows
// multiplied and added up bound the cost over the bounds of the variables; that sum is worked out anew from the program, with every
// rounding error charged against it. A node is dropped on such a sum alone. A solution is put into the rows before it is returned. Where
// the sums are too weak to decide, the answer is Stopped, with the best bound that holds.
package linear
