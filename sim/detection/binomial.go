package detection

import "halflight/sim/kernel"

// binomialTail is P(X >= c) of X ~ Binomial(n, p), from its own side. The
// smaller of c and n must be below some thousand.
func binomialTail(c, n int, p float64) float64 {
	switch {
	case c <= 0:
		return 1
	case c > n || p <= 0:
		return 0
	case p >= 1:
		return 1
	}
	sum := 0.0
	if float64(c) <= float64(float64(n)*p) {
		for j := 0; j < c; j++ {
			sum += binomialMass(j, n, p)
		}
		return max(1-sum, 0)
	}
	term := binomialMass(c, n, p)
	for j := c; j <= n && term > 1e-18*sum; j++ {
		sum += term
		term = float64(term*float64(n-j)) / float64(j+1) * (p / (1 - p))
	}
	return sum
}

// binomialMass is P(X = j).
func binomialMass(j, n int, p float64) float64 {
	switch {
	case j > n:
		return 0
	case p <= 0:
		return step(j == 0)
	case p >= 1:
		return step(j == n)
	}
	q := 1 - p
	log := kernel.Log(q)
	if q != 1 {
		log = float64(log*p) / (1 - q) // undoes the rounding of 1-p
	} else {
		log = -p
	}
	mass := kernel.Exp(float64(float64(n-j) * log))
	for i := range j {
		mass = float64(float64(mass*float64(n-i))/float64(i+1)) * p
	}
	return mass
}

func step(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}
