package reliability

import "math"

// OfferedWork is the mean number of technicians that failures keep busy, each needing handsOn hours of one: failures per
// hour times handsOn. A crew must be larger, or its queue grows without end.
func OfferedWork(handsOn float64, fleet ...Population) float64 {
	require(handsOn >= 0, "hands-on time must not be negative")
	return FleetRate(fleet...) * handsOn
}

// ErlangC is the probability that a customer of M/M/c waits, load = arrival rate x mean service, 0 <= load; 1 when the
// load reaches c.
func ErlangC(c int, load float64) float64 {
	require(c >= 1 && load >= 0, "Erlang C needs at least one server and a load of at least 0")
	if load >= float64(c) {
		return 1
	}
	b := 1.0 // Erlang B by its recursion, whose terms are all positive
	for i := 1; i <= c; i++ {
		b = load * b / (float64(i) + float64(load*b))
	}
	return b / (1 - float64(load/float64(c)*(1-b)))
}

// ManyServerWait is the mean wait of M/M/c for a server; rate per unit of time, mean service in it. +Inf when the load
// reaches c.
func ManyServerWait(c int, rate, service float64) float64 {
	load := rate * service
	if load >= float64(c) {
		return math.Inf(1)
	}
	return ErlangC(c, load) * service / (float64(c) - load)
}

// PollaczekKhinchine is the mean wait of M/G/1 for its one server: rate per unit of time, mean service in it, scv the
// service time's variance over its squared mean. +Inf when the load reaches 1.
func PollaczekKhinchine(rate, service, scv float64) float64 {
	require(rate >= 0 && service >= 0 && scv >= 0, "an M/G/1 queue needs a rate, a service and an scv of at least 0")
	load := rate * service
	if load >= 1 {
		return math.Inf(1)
	}
	return load * service * (1 + scv) / (2 * (1 - load))
}

// LognormalSCV is the squared coefficient of variation of a lognormal law whose logarithm has standard deviation sigma.
func LognormalSCV(sigma float64) float64 { return math.Expm1(sigma * sigma) }
