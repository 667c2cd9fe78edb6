package traffic

// Default returns the demand of a fabric of which nothing is said. All of it is
// assumed.
func Default() Demand {
	return Demand{Load: 0.35, Busiest: 0.6, Access: 25e9, Sizes: Even(1000)}
}

// Calls returns the class of application that is there when none is named. All
// of it is assumed.
func Calls() Class {
	return Class{Name: "calls", Packets: 10, Bytes: 1000, Sizes: Even(1000), FanOut: 1, TimeOut: 200e6, Budget: 1e-4}
}
