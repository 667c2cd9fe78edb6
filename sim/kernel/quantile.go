package kernel

import "math"

// Each function of this file turns one uniform u of the open interval (0, 1)
// into a draw: the value below which the law lies with probability u. All grow
// with u. Results have the unit of the parameter named mean, scale, median or
// low. Parameters are not checked: the model refuses bad ones where it can
// still name the line they came from.
//
// They are built as gonum's distuv builds its Quantile, operation by operation,
// and stay within 4 ulp of it (5 at one point in ten million of a Weibull of
// shape 0.3, where math.Exp is the less exact); distuv itself gives other last
// bits on processors with fused multiply-add, which is why it does not serve
// draws.

// Exponential has mean > 0.
func Exponential(u, mean float64) float64 {
	return float64(-Log(1-u) * mean)
}

// Weibull has shape > 0 (1 is the exponential, above 1 wears out) and scale > 0.
func Weibull(u, shape, scale float64) float64 {
	return float64(scale * power(-Log(1-u), 1/shape))
}

// LogNormal is e to the power of a normal variable of mean mu and standard
// deviation sigma >= 0.
func LogNormal(u, mu, sigma float64) float64 {
	return Exp(mu + float64(sigma*NormQuantile(u)))
}

// LogNormalMedian is LogNormal by its median > 0; half of all draws are below.
func LogNormalMedian(u, median, sigma float64) float64 {
	return LogNormal(u, Log(median), sigma)
}

// Uniform spreads draws evenly from low to high.
func Uniform(u, low, high float64) float64 {
	return low + float64(u*(high-low))
}

// LogUniform spreads the logarithm of draws evenly: every decade between low
// and high is as likely as every other. 0 < low <= high.
func LogUniform(u, low, high float64) float64 {
	draw := float64(low * Exp(float64(u*Log(high/low))))
	return min(max(draw, low), high) // rounding may step outside by an ulp
}

// Geometric is the number of trials up to the first success, 1, 2, 3, ..., with
// mean >= 1. The result is a whole number.
func Geometric(u, mean float64) float64 {
	return 1 + math.Floor(Log(1-u)/log1p(-1/mean))
}

// Bucket is one row of a table: a share of all draws, spread log-uniformly from
// Low to High, uniformly if Low is 0, or all at the one value if they are equal.
type Bucket struct {
	Share     float64 // 0 to 1; the shares of a table add up to 1
	Low, High float64 // 0 <= Low <= High
}

// Table draws from buckets in the order given. Where rounding leaves the sum of
// shares a little below u, the draw is the end of the last bucket that has a
// share. It panics if none has.
func Table(u float64, buckets []Bucket) float64 {
	last, below := -1, 0.0
	for i, bucket := range buckets {
		if bucket.Share <= 0 {
			continue
		}
		last = i
		if u < below+bucket.Share {
			return bucket.at((u - below) / bucket.Share)
		}
		below += bucket.Share
	}
	if last < 0 {
		panic("kernel: a table without shares")
	}
	return buckets[last].High
}

// at is the value at a share within of the bucket, 0 its low and 1 its high end.
func (b Bucket) at(within float64) float64 {
	switch {
	case b.Low == b.High:
		return b.Low
	case b.Low == 0:
		return Uniform(within, b.Low, b.High)
	}
	return LogUniform(within, b.Low, b.High)
}
