package reliability

import "math"

// RunMean is the mean number of probes up to and with the end of the first k losses in a row, each probe lost with
// probability p: sum of p^-i over i = 1..k (Feller vol. 1 XIII.7, from memory). 0 <= p <= 1, k >= 1; +Inf at p = 0.
func RunMean(p float64, k int) float64 {
	requireRun(p, k)
	mean := 0.0
	for range k {
		mean = (mean + 1) / p
	}
	return mean
}

// RunSD is the standard deviation of the same count. With E and V of runs of i: V(i) = V(i-1)/p + (1-p) E(i)^2, so that
// nothing cancels.
func RunSD(p float64, k int) float64 {
	requireRun(p, k)
	mean, variance := 0.0, 0.0
	for range k {
		mean = (mean + 1) / p
		variance = variance/p + float64((1-p)*mean*mean)
	}
	return math.Sqrt(variance)
}

// RunWithin is the probability that k losses in a row occur within n probes. Exact recursion, work of order n.
func RunWithin(p float64, k, n int) float64 {
	requireRun(p, k)
	if n < k {
		return 0
	}
	// A run first ends at m when no run ended before m-k, probe m-k passed and k were lost.
	run := math.Pow(p, float64(k))
	past := make([]float64, k+1) // the last k+1 values, by number modulo k+1
	within := run
	past[k%(k+1)] = run
	for m := k + 1; m <= n; m++ {
		within += float64((1 - past[m%(k+1)]) * (1 - p) * run) // slot m holds value m-k-1
		past[m%(k+1)] = within
	}
	return within
}

func requireRun(p float64, k int) {
	require(p >= 0 && p <= 1 && k >= 1, "a run of losses needs a probability from 0 to 1 and a length of at least 1")
}
