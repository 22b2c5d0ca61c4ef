// Package uncertain carries values with their covariance through a model: by
// the law of propagation (Propagate), by propagating whole distributions
// (MonteCarlo), and from there to intervals, budgets and rounded text.
//
// # From inputs to a printed result
//
//	Inputs --Propagate--> Result --Quantity--> Quantity --FormatQuantity--> text
//	       --MonteCarlo-> Sample --Quantity-->
//
// Inputs is an ordered list of random quantities: scalars with a Shape, and
// jointly normal blocks with a covariance matrix. A model is a Func that turns
// the input values into output values. Both ways of propagating take the same
// Inputs and the same Func.
//
// # Conventions
//
//   - u is a standard uncertainty (k = 1), in the unit of the value.
//   - p is a coverage probability, 0 < p < 1.
//   - Degrees of freedom (dof): 0 or +Inf means that u is known, not estimated.
//   - NaN is a value that does not exist. An infinite bound is no bound.
//
// # References
//
// JCGM 100:2008, Guide to the expression of uncertainty in measurement.
// JCGM 101:2008, Supplement 1: propagation of distributions by Monte Carlo.
// JCGM 102:2011, Supplement 2: any number of output quantities.
//
// Symbols there and names here: x_i value, u(x_i) u, c_i Sens, u_c(y) Result.U,
// ν_eff Result.Dof, k CoverageFactor, V Cov, M trials, δ NumericalTolerance.
package uncertain
