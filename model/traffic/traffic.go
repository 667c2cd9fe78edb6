// Package traffic describes who sends how much to whom, and what each class of
// application can bear.
//
// It knows no routers and nothing of what breaks. It is tested against sums
// worked by hand.
package traffic

import "halflight/model/chance"

// Demand is what all servers together send. It is uniform: every ordered pair
// of distinct leaves has the same share.
type Demand struct {
	Load    float64    // share of access capacity offered, on average
	Busiest float64    // the same in the busiest hour
	Access  float64    // bit/s of one access link
	Servers int        // access links of a leaf; 0: as many as the fabric can carry
	Sizes   chance.Law // of its packets, in bytes
}

// Above returns the share of the demand's packets that are larger than size
// bytes.
func (d Demand) Above(size float64) float64 { return d.Sizes.Survival(size) }

// Class is a request/response class of application: a unit of work is FanOut
// requests at once, each of Packets packets either way on one flow.
type Class struct {
	Name    string
	Packets int
	Bytes   float64    // mean size of a packet
	Sizes   chance.Law // of a packet, in bytes
	FanOut  int
	TimeOut int64   // ns
	Budget  float64 // share of units that may be slow
}

// Above returns the share of the class's packets that are larger than size
// bytes.
func (c Class) Above(size float64) float64 { return c.Sizes.Survival(size) }

// Even returns packet sizes spread evenly over half to one and a half times
// the mean, so that half of all packets are above it.
func Even(mean float64) chance.Law {
	return chance.Law{Family: chance.Uniform, Low: mean / 2, High: 1.5 * mean}
}
