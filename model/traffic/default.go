package traffic

import "halflight/model/chance"

// Default returns the demand of a fabric of which nothing is said. All of it is
// assumed.
func Default() Demand {
	return Demand{Load: 0.35, Busiest: 0.6, Access: 25e9, Sizes: Even(1000)}
}

// Calls returns the class of application that is there when none is named. All
// of it is assumed.
func Calls() Class {
	return Class{Name: "calls", Packets: 10, Bytes: 1000, Sizes: Even(1000), FanOut: 1, TimeOut: 200e6, Budget: 1e-4, Burn: Burns()}
}

// Burns returns the windows of an error budget of which nothing is said: rates that
// use up 2 % of a month's budget in an hour, 5 % in six hours and 10 % in three
// days, as handbooks on reliability engineering have it.
func Burns() []Burn {
	const hour = int64(3600e9)
	return []Burn{{hour, 14.4}, {6 * hour, 6}, {72 * hour, 1}}
}

// Copies returns a bulk transfer of which nothing is said: 5 Gb/s over 100 us of
// round trip in segments of 8,960 B, slow below half of that. All of it is assumed;
// 200 ms is the least time-out of the Linux kernel header.
func Copies() Class {
	c := Calls()
	c.Packets, c.Bytes, c.Sizes, c.Budget = 1, 8960, chance.Constant(8960), 1e-3
	c.Flow = &Flow{RoundTrip: 100e-6, Segment: 8960, Rate: 5e9, Least: 0.5}
	return c
}

// Steps returns a synchronous collective of which nothing is said: 64 flows of
// 50 Gb/s with go-back-N recovery, of which each must have 95 % or the step is
// slow. All of it is assumed; that little is left at 1 % of loss is in the abstract
// of a paper on recovery over Ethernet.
func Steps() Class {
	c := Copies()
	c.FanOut, c.Budget = 64, 1e-2
	c.Bytes, c.Sizes = 4096, chance.Constant(4096)
	c.Flow = &Flow{Law: GoBackN, RoundTrip: 20e-6, Segment: 4096, Rate: 50e9, Least: 0.95}
	return c
}
