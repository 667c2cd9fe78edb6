// Package reliability is the closed-form arithmetic of failures, repairs, waits and losses: what can be said of a
// fabric without simulating it, and what simulations are held against.
//
// Every function is pure. Times are hours and rates per hour unless a docstring says otherwise; where only ratios
// matter it says "any one unit". MTBF is the mean UP time of a unit: its failure clock stands still while it is down.
// A year is HoursPerYear. Probabilities far below 1e-12 are summed from their own side, never taken as one minus the
// rest, so that they keep their relative precision.
//
// The package may know nothing of this project: no fabric, no scenario, no random draw, no simulated time. An argument
// outside the range a docstring gives is a mistake of the caller and panics with the name of the package.
//
// Tests hold the printed tables of published texts and high-precision calculations (testdata/vectors.json and tables
// beside the code, source at each), and small cases against a second method that shares no code: generator matrices
// solved by gonum/mat, enumeration, exact rational sums, graphs walked, a state machine played.
package reliability

// HoursPerYear is the year of 365 days that the trade divides by (common practice, no source).
const HoursPerYear = 8760

// require panics with the package's name unless ok.
func require(ok bool, what string) {
	if !ok {
		panic("reliability: " + what)
	}
}
