package stat

import "math"

// RunningSum adds numbers in the order given and keeps what rounding would
// lose: Neumaier, "Rundungsfehleranalyse einiger Verfahren zur Summation
// endlicher Summen", ZAMM 54 (1974). The zero value is an empty sum. The same
// numbers in the same order give the same bits; another order may not.
type RunningSum struct {
	sum, lost float64
}

// Add adds x, any float64.
func (s *RunningSum) Add(x float64) {
	t := s.sum + x
	if math.Abs(s.sum) >= math.Abs(x) {
		s.lost += (s.sum - t) + x
	} else {
		s.lost += (x - t) + s.sum
	}
	s.sum = t
}

// Value returns the sum so far; its error is about one rounding of the result
// unless the numbers cancel almost wholly. Once infinite or NaN it stays so.
func (s RunningSum) Value() float64 {
	if math.IsInf(s.sum, 0) || math.IsNaN(s.sum) {
		return s.sum
	}
	return s.sum + s.lost
}

// Sum adds the values in order; 0 for none.
func Sum(values []float64) float64 {
	var s RunningSum
	for _, v := range values {
		s.Add(v)
	}
	return s.Value()
}

// mean returns the arithmetic mean of at least one value.
func mean(values []float64) float64 {
	return Sum(values) / float64(len(values))
}

// variance returns the sample variance (divisor n-1) of at least two values, in
// two passes, exactly 0 when all are equal.
func variance(values []float64) float64 {
	m := mean(values)
	if allEqual(values) {
		return 0 // the mean of n equal values may be off by a rounding
	}
	var s RunningSum
	for _, v := range values {
		d := v - m
		s.Add(float64(d * d))
	}
	return s.Value() / float64(len(values)-1)
}

func allEqual(values []float64) bool {
	for _, v := range values {
		if v != values[0] {
			return false
		}
	}
	return true
}
