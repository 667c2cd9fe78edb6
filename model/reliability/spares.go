package reliability

// Spares is the smallest stock that covers the demand of one lead time with probability at least level: the smallest s
// with P(D <= s) >= level, D Poisson with the failures expected in leadTime hours. 0 <= level < 1.
func Spares(leadTime, level float64, fleet ...Population) int {
	require(leadTime >= 0, "a lead time must not be negative")
	return PoissonQuantile(FleetRate(fleet...)*leadTime, level)
}

// StockOut is the probability that a stock of s does not cover the demand of one lead time.
func StockOut(s int, leadTime float64, fleet ...Population) float64 {
	require(leadTime >= 0, "a lead time must not be negative")
	return PoissonTail(s+1, FleetRate(fleet...)*leadTime)
}
