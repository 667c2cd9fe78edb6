package kernel

import "math"

// Coefficients of the routine PPND16, highest power first, from Wichura,
// "Algorithm AS 241: the percentage points of the normal distribution",
// Applied Statistics 37 (3), 1988, pages 477-484.
var (
	normCentreAbove = [8]float64{
		2.5090809287301226727e+3, 3.3430575583588128105e+4, 6.7265770927008700853e+4, 4.5921953931549871457e+4,
		1.3731693765509461125e+4, 1.9715909503065514427e+3, 1.3314166789178437745e+2, 3.3871328727963666080e0,
	}
	normCentreBelow = [8]float64{
		5.2264952788528545610e+3, 2.8729085735721942674e+4, 3.9307895800092710610e+4, 2.1213794301586595867e+4,
		5.3941960214247511077e+3, 6.8718700749205790830e+2, 4.2313330701600911252e+1, 1,
	}
	normFlankAbove = [8]float64{
		7.74545014278341407640e-4, 2.27238449892691845833e-2, 2.41780725177450611770e-1, 1.27045825245236838258e0,
		3.64784832476320460504e0, 5.76949722146069140550e0, 4.63033784615654529590e0, 1.42343711074968357734e0,
	}
	normFlankBelow = [8]float64{
		1.05075007164441684324e-9, 5.47593808499534494600e-4, 1.51986665636164571966e-2, 1.48103976427480074590e-1,
		6.89767334985100004550e-1, 1.67638483018380384940e0, 2.05319162663775882187e0, 1,
	}
	normTailAbove = [8]float64{
		2.01033439929228813265e-7, 2.71155556874348757815e-5, 1.24266094738807843860e-3, 2.65321895265761230930e-2,
		2.96560571828504891230e-1, 1.78482653991729133580e0, 5.46378491116411436990e0, 6.65790464350110377720e0,
	}
	normTailBelow = [8]float64{
		2.04426310338993978564e-15, 1.42151175831644588870e-7, 1.84631831751005468180e-5, 7.86869131145613259100e-4,
		1.48753612908506148525e-2, 1.36929880922735805310e-1, 5.99832206555887937690e-1, 1,
	}
)

// NormQuantile returns the number below which a standard normal variable lies
// with probability p, for p in (0, 1). The published accuracy is about 1 part
// in 10^16, before rounding.
//
// Special cases: NormQuantile(0) = -Inf, NormQuantile(1) = +Inf, NaN outside [0, 1].
func NormQuantile(p float64) float64 {
	centred := p - 0.5
	if math.Abs(centred) <= 0.425 {
		z := 0.180625 - float64(centred*centred)
		return float64(centred*horner(z, &normCentreAbove)) / horner(z, &normCentreBelow)
	}
	switch {
	case p == 0:
		return math.Inf(-1)
	case p == 1:
		return math.Inf(1)
	case centred < 0:
		return -normUpper(p)
	}
	return normUpper(1 - p)
}

// normUpper is the deviate above which a share p < 0.075 of the normal lies.
func normUpper(p float64) float64 {
	r := math.Sqrt(-Log(p))
	if r <= 5 {
		return horner(r-1.6, &normFlankAbove) / horner(r-1.6, &normFlankBelow)
	}
	return horner(r-5, &normTailAbove) / horner(r-5, &normTailBelow)
}
