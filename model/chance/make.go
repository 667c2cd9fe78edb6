package chance

import "math"

// Constant returns the law of one value.
func Constant(v float64) Law { return Law{Family: Fixed, Scale: v} }

// ExponentialOf returns the exponential law of this mean.
func ExponentialOf(mean float64) Law { return Law{Family: Exponential, Scale: mean} }

// LognormalOf returns the lognormal law of this median and sigma.
func LognormalOf(median, sigma float64) Law {
	return Law{Family: Lognormal, Scale: median, Shape: sigma}
}

// LognormalMean returns the lognormal law of this mean and sigma.
func LognormalMean(mean, sigma float64) Law {
	return LognormalOf(mean/exp(float64(sigma*sigma)/2), sigma)
}

// WeibullMean returns the Weibull law of this mean and shape.
func WeibullMean(mean, shape float64) Law {
	return Law{Family: Weibull, Scale: mean / gamma(1+1/shape), Shape: shape}
}

// Between returns the uniform law between two values, or (log) that of a
// uniform logarithm.
func Between(low, high float64, log bool) Law {
	if log {
		return Law{Family: Loguniform, Low: low, High: high}
	}
	return Law{Family: Uniform, Low: low, High: high}
}

// Factor returns the lognormal law of mean 1 of a factor; Constant 1 for sigma 0.
func Factor(sigma float64) Law {
	if sigma == 0 {
		return Constant(1)
	}
	return LognormalMean(1, sigma)
}

// Tabled returns the law of a table; shares are divided by their sum.
func Tabled(bins []Bin) Law {
	sum := 0.0
	for _, b := range bins {
		sum += b.Share
	}
	own := append([]Bin(nil), bins...)
	if math.Abs(sum-1) > 1e-12 {
		for i := range own {
			own[i].Share /= sum
		}
	}
	return Law{Family: Table, Bins: own}
}
