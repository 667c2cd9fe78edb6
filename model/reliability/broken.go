package reliability

import "math"

// CountLaw is the law of a whole number: Mass[i] is the probability of Low+i.
type CountLaw struct {
	Low  int
	Mass []float64
}

// BrokenMean is the mean number of units down at a random moment in the long run, repair never queueing. It depends on
// the means of life and repair only (insensitivity of ample servers, Sevastyanov, from memory).
func BrokenMean(fleet ...Population) float64 {
	sum := 0.0
	for _, p := range fleet {
		sum += float64(float64(p.Count) * p.Unavailability())
	}
	return sum
}

// BrokenNow is the law of the number of units down at a random moment in the long run, repair never queueing: the sum
// of one binomial per population. Masses below about 1e-30 at either end are left out.
func BrokenNow(fleet ...Population) CountLaw {
	law := CountLaw{Mass: []float64{1}}
	for _, p := range fleet {
		law = law.plus(binomialLaw(p.Count, p.MTTR/(p.MTBF+p.MTTR), p.MTBF/(p.MTBF+p.MTTR)))
	}
	return law
}

// brokenSummed is the largest variance of a fleet whose quantiles are found by summing masses.
const brokenSummed = 1e6

// BrokenQuantile is the quantile of BrokenNow, without its masses where those are many. 0 < level < 1.
func BrokenQuantile(level float64, fleet ...Population) int {
	require(level > 0 && level < 1, "a level must lie between 0 and 1")
	k2, k3, k4 := 0.0, 0.0, 0.0
	for _, p := range fleet {
		down, up := p.MTTR/(p.MTBF+p.MTTR), p.MTBF/(p.MTBF+p.MTTR)
		v := float64(float64(p.Count) * down * up)
		k2 += v
		k3 += float64(v * (up - down))
		k4 += float64(v * (1 - float64(6*down*up)))
	}
	if k2 <= brokenSummed {
		return BrokenNow(fleet...).Quantile(level)
	}
	return expand(BrokenMean(fleet...), k2, k3, k4, level)
}

// binomialLaw keeps twelve standard deviations and forty counts to either side of the mean.
func binomialLaw(n int, p, q float64) CountLaw {
	require(n >= 0 && p >= 0 && q >= 0, "a population needs a count >= 0, an MTBF above 0 and an MTTR of at least 0")
	mean := float64(float64(n) * p)
	reach := float64(12*math.Sqrt(mean*q)) + 40
	low := max(0, int(mean-reach))
	high := min(n, int(mean+reach))
	law := CountLaw{Low: low, Mass: make([]float64, high-low+1)}
	for i := range law.Mass {
		law.Mass[i] = binomialMass(low+i, n, p, q)
	}
	return law
}

// plus is the law of the sum of two independent counts.
func (l CountLaw) plus(m CountLaw) CountLaw {
	sum := CountLaw{Low: l.Low + m.Low, Mass: make([]float64, len(l.Mass)+len(m.Mass)-1)}
	for i, a := range l.Mass {
		for j, b := range m.Mass {
			sum.Mass[i+j] += float64(a * b)
		}
	}
	return sum
}

// At is the probability of exactly x.
func (l CountLaw) At(x int) float64 {
	if i := x - l.Low; i >= 0 && i < len(l.Mass) {
		return l.Mass[i]
	}
	return 0
}

// AtLeast is the probability of x or more, summed from the top.
func (l CountLaw) AtLeast(x int) float64 {
	sum := 0.0
	for i := len(l.Mass) - 1; i >= 0 && l.Low+i >= x; i-- {
		sum += l.Mass[i]
	}
	return sum
}

// Quantile is the smallest x with P(X <= x) >= level, 0 <= level < 1.
func (l CountLaw) Quantile(level float64) int {
	require(level >= 0 && level < 1, "a level must be at least 0 and below 1")
	above := 0.0 // P(X > x)
	for i := len(l.Mass) - 1; i > 0; i-- {
		above += l.Mass[i]
		if above > 1-level {
			return l.Low + i
		}
	}
	return l.Low
}
