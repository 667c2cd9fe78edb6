// Package chance holds laws of chance as plain data: of lives, repairs, losses,
// packet sizes and reactions. It gives their means, survival and equilibrium
// residuals and draws nothing; the simulation has the quantile functions.
//
// It knows nothing of networks or failures, so that the operator's side of the
// wall of knowledge can use it. It is tested against gonum's distuv and by
// numeric integration.
package chance

import "math"

// Family is the family of a law of chance.
type Family uint8

// The families. Geometric is for counts of 1, 2, 3 and so on.
const (
	Fixed Family = iota
	Exponential
	Weibull
	Lognormal
	Loguniform
	Uniform
	Geometric
	Table
)

// String returns the family as a scenario writes it.
func (f Family) String() string {
	return [...]string{"fixed", "exponential", "weibull", "lognormal", "loguniform", "uniform", "geometric", "table"}[f]
}

// Law is the law of a random number that is never negative, as plain data. A
// time is in ns. The zero Law is the constant 0.
type Law struct {
	Family Family
	// Scale is the value of Fixed, the mean of Exponential and Geometric, the
	// median of Lognormal and the scale (63.2 % point) of Weibull.
	Scale     float64
	Shape     float64 // Weibull: shape; Lognormal: sigma of the logarithm
	Low, High float64 // Loguniform, Uniform
	Bins      []Bin   // Table
}

// Bin is a row of a Table. With probability Share (they sum to 1) the value
// lies between Low and High: log-uniform when Low is above 0, uniform when it
// is 0, the value itself when they are equal.
type Bin struct{ Share, Low, High float64 }

// law returns the law within the bin.
func (b Bin) law() Law {
	switch {
	case b.Low == b.High:
		return Law{Family: Fixed, Scale: b.Low}
	case b.Low > 0:
		return Law{Family: Loguniform, Low: b.Low, High: b.High}
	}
	return Law{Family: Uniform, Low: b.Low, High: b.High}
}

// Zero says whether the law is the constant 0.
func (l Law) Zero() bool { return l.Family == Fixed && l.Scale == 0 }

// Mean returns the expected value.
func (l Law) Mean() float64 {
	switch l.Family {
	case Fixed, Exponential, Geometric:
		return l.Scale
	case Weibull:
		return l.Scale * math.Gamma(1+1/l.Shape)
	case Lognormal:
		return l.Scale * math.Exp(l.Shape*l.Shape/2)
	case Loguniform:
		return (l.High - l.Low) / math.Log(l.High/l.Low)
	case Uniform:
		return l.Low + float64((l.High-l.Low)/2)
	}
	mean := 0.0
	for _, b := range l.Bins {
		mean += float64(b.Share * b.law().Mean())
	}
	return mean
}

// Survival returns the probability of a value above x.
func (l Law) Survival(x float64) float64 {
	if x < 0 {
		return 1
	}
	switch l.Family {
	case Fixed:
		return step(x < l.Scale)
	case Exponential:
		return math.Exp(-x / l.Scale)
	case Weibull:
		return math.Exp(-math.Pow(x/l.Scale, l.Shape))
	case Lognormal:
		return 0.5 * math.Erfc(math.Log(x/l.Scale)/l.Shape/math.Sqrt2)
	case Loguniform, Uniform:
		return l.between(x)
	case Geometric:
		return math.Pow(1-1/l.Scale, math.Floor(x))
	}
	s := 0.0
	for _, b := range l.Bins {
		s += float64(b.Share * b.law().Survival(x))
	}
	return s
}

// between is the survival of the two laws that have bounds.
func (l Law) between(x float64) float64 {
	switch {
	case x <= l.Low:
		return 1
	case x >= l.High:
		return 0
	case l.Family == Uniform:
		return (l.High - x) / (l.High - l.Low)
	}
	return math.Log(l.High/x) / math.Log(l.High/l.Low)
}

func step(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

// Most returns the largest value the law can take; infinite for laws without
// one.
func (l Law) Most() float64 {
	switch l.Family {
	case Fixed:
		return l.Scale
	case Loguniform, Uniform:
		return l.High
	case Table:
		most := 0.0
		for _, b := range l.Bins {
			most = max(most, b.High)
		}
		return most
	}
	return math.Inf(1)
}
