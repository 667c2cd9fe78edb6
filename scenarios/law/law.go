// Package law is laws of chance as scenarios type them: a value alone, or a map of one key, the family, with its parameters.
//
// It draws nothing and knows no keys of the language but its own. It is tested by laws in every family and form, and by the
// broken scenarios of scenarios.
package law

// Family is the family of a law.
type Family uint8

// The families. In a file a law is a map of one key, its family; a plain value is Fixed.
const (
	Fixed       Family = iota // Low = High = the value
	Exponential               // Mean
	Weibull                   // Shape and Mean or Scale
	Lognormal                 // Sigma and Median or Mean
	Loguniform                // Low < High
	Uniform                   // Low < High
	Geometric                 // Mean, at least 1, of 1, 2, 3 ...
	Table                     // Bins
)

// Distribution is a law of durations (numbers are nanoseconds), shares, bytes or counts. A parameter that was not given is 0;
// all that can be given are above 0, except the value of a Fixed law, Low of a Uniform one, and Low and High of a bin.
type Distribution struct {
	Family              Family
	Mean, Median, Scale float64
	Shape, Sigma        float64
	Low, High           float64
	Bins                []Bin
}

// Bin is one row of a table: with probability Share (shares sum to 1 within 0.001) a value between Low and High, log-uniform
// when Low is above 0, uniform when it is 0, the value itself when they are equal.
type Bin struct{ Share, Low, High float64 }

// Names are the keys of the families, in the order of their constants.
var Names = []string{"fixed", "exponential", "weibull", "lognormal", "loguniform", "uniform", "geometric", "table"}

// String returns the key of the family.
func (f Family) String() string { return Names[f] }
