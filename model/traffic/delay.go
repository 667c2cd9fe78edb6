package traffic

import "fmt"

// MostPlanes is how many classes there can be, with the time-outs that are followed.
const MostPlanes = 15

// Delays returns, for a class of which delays are followed, how long a request is
// late that needs one time-out, two, and so on: with a time-out that doubles (RFC
// 6298 section 5.5) once, three times, seven times the first, in ns.
func (c *Class) Delays() []int64 {
	var list []int64
	for at, k := int64(0), 0; k < c.TimeOuts; k++ {
		at = 2*at + c.TimeOut
		list = append(list, at)
	}
	return list
}

// Milliseconds is a delay, ns, as names of measures have it.
func Milliseconds(delay int64) int64 { return (delay + 500_000) / 1_000_000 }

// Later returns the classes that tell how late requests are: of the k-th a unit is
// slow if one of its packets was lost k times in a row or more, which makes it late
// by Delays()[k-1] at least. Of a request and its reply the later counts.
func (c *Class) Later() []Class {
	var list []Class
	before := int64(0)
	for _, at := range c.Delays() {
		one := *c
		one.Name, one.Deadline, one.Budget, one.Burn, one.TimeOuts = fmt.Sprintf("%s by %d ns", c.Name, at), before+1, 0, nil, 0
		list = append(list, one)
		before = at
	}
	return list
}
