package stat

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// QuantileType7 returns the quantile p in [0, 1] of at least one finite value,
// in any order: interpolated at rank 1+(n-1)p, type 7 of Hyndman and Fan, The
// American Statistician 50 (1996). The values are not changed.
func QuantileType7(values []float64, p float64) float64 {
	mustProbability(p)
	return type7(sorted(values), p)
}

// QuantileType1 returns the smallest value that at least a share p of the values
// do not exceed (inverse of the empirical distribution, type 1); the smallest
// of all for p = 0.
func QuantileType1(values []float64, p float64) float64 {
	mustProbability(p)
	v := sorted(values)
	rank := int(math.Ceil(shareOf(float64(len(v)), p)))
	return v[max(rank, 1)-1]
}

// Largest returns the largest value seen, without interval: no sample bounds
// what was not in it. N counts values.
func Largest(values []float64) Estimate {
	if len(values) == 0 {
		return unknown("no value")
	}
	mustFinite(values)
	return valueOnly(slices.Max(values), len(values), "largest seen; a longer study will see a larger one")
}

// Weighted is a value with the weight it has in a distribution: the time spent
// at it, say.
type Weighted struct {
	Value  float64 // finite
	Weight float64 // finite, at least 0
}

// WeightedQuantile returns the smallest value such that the weight of the values
// not above it is at least a share p of the whole (type 1; no interpolation,
// since between two states of a router there is none). The weights have a sum
// above 0; samples come in any order and are not changed.
func WeightedQuantile(samples []Weighted, p float64) float64 {
	mustProbability(p)
	v := sortedWeighted(samples)
	target := shareOf(weightOf(v), p)
	var s RunningSum
	for _, w := range v {
		s.Add(w.Weight)
		if w.Weight > 0 && s.Value() >= target {
			return w.Value
		}
	}
	panic("stat: the weights of a distribution do not add up to themselves")
}

// shareOf returns p of a total, less the rounding of the product, so that 3
// tenths of 10 are 3 and not a fraction more (R's quantile allows as much).
func shareOf(total, p float64) float64 {
	const fuzz = 4 * 0x1p-52
	return total * p * (1 - fuzz)
}

// rank7 splits the rank 1+(n-1)p of type 7 into a whole rank, counted from 1,
// and the share of the way to the next.
func rank7(n int, p float64) (rank int, rest float64) {
	at := float64(float64(n-1) * p)
	whole := math.Floor(at)
	return int(whole) + 1, at - whole
}

// between interpolates from a to b >= a, never past b.
func between(a, b, share float64) float64 {
	return min(a+float64(share*(b-a)), b)
}

func type7(v []float64, p float64) float64 {
	rank, rest := rank7(len(v), p)
	if rest == 0 {
		return v[rank-1]
	}
	return between(v[rank-1], v[rank], rest)
}

func sorted(values []float64) []float64 {
	if len(values) == 0 {
		panic("stat: quantile of no value")
	}
	mustFinite(values)
	v := slices.Clone(values)
	slices.Sort(v)
	return v
}

// sortedWeighted orders by value and keeps the order given among equals, so
// that the sum of the weights is always the same.
func sortedWeighted(samples []Weighted) []Weighted {
	v := slices.Clone(samples)
	slices.SortStableFunc(v, func(a, b Weighted) int { return cmp.Compare(a.Value, b.Value) })
	return v
}

// weightOf returns the sum of the weights and panics unless it is a finite
// number above 0 made of finite numbers not below 0.
func weightOf(samples []Weighted) float64 {
	var s RunningSum
	for _, w := range samples {
		mustWeighted(w)
		s.Add(w.Weight)
	}
	if total := s.Value(); total > 0 && !math.IsInf(total, 0) {
		return total
	}
	panic(fmt.Sprintf("stat: %d weights with sum %v make no distribution", len(samples), s.Value()))
}

func mustWeighted(w Weighted) {
	bad := math.IsNaN(w.Value) || math.IsInf(w.Value, 0) || !(w.Weight >= 0) || math.IsInf(w.Weight, 0)
	if bad {
		panic(fmt.Sprintf("stat: value %v of weight %v", w.Value, w.Weight))
	}
}
