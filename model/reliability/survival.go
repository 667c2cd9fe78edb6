package reliability

import "math"

// Series is the unavailability of parts that must all be up, from those of the parts, without cancellation. A path
// through a fabric: its links and the routers between its ends.
func Series(unavailabilities ...float64) float64 {
	sum := 0.0
	for _, u := range unavailabilities {
		require(u >= 0 && u <= 1, "an unavailability lies from 0 to 1")
		sum += math.Log1p(-u)
	}
	return -math.Expm1(sum)
}

// UplinksShort is the probability that at a random moment fewer than need of n uplinks are up, each down by itself a
// share u of the time. Uplinks that share a router or a power domain do worse.
func UplinksShort(n, need int, u float64) float64 { return Unreliability(n, need, u) }

// UplinksShortEach lists UplinksShort for need = 1..n: entry i is the probability that i or fewer uplinks are up.
func UplinksShortEach(n int, u float64) []float64 {
	short := make([]float64, n)
	for i := range short {
		short[i] = UplinksShort(n, i+1, u)
	}
	return short
}

// AnyShort is the probability that at least one of leaves leaves is short, each independently with probability short.
func AnyShort(leaves int, short float64) float64 { return TailAmplification(short, leaves) }
