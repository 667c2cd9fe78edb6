// Package traffic describes who sends how much to whom, and what each class of
// application can bear.
//
// It knows no routers and nothing of what breaks. It is tested against sums
// worked by hand.
package traffic

import "halflight/model/chance"

// Demand is what all servers together send. It is uniform unless there is a Mix:
// every ordered pair of distinct leaves has the same share.
type Demand struct {
	Load    float64    // share of access capacity offered, on average
	Busiest float64    // the same in the busiest hour
	Access  float64    // bit/s of one access link
	Servers int        // access links of a leaf; 0: as many as the fabric can carry
	Sizes   chance.Law // of its packets, in bytes
	Header  float64    // bytes that carrying them from leaf to leaf adds

	External   External
	Mix        *Mix // nil: all pairs are alike
	Congestion bool // what links are asked for beyond what they carry is lost
}

// Above returns the share of the demand's packets that are larger than size
// bytes as links carry them.
func (d Demand) Above(size float64) float64 { return d.Sizes.Survival(size - d.Header) }

// Class is a class of application. Requests and replies: a unit of work is FanOut
// requests at once, each of Packets packets either way on one flow; it is slow if
// a packet does not arrive in time. With Flow: a unit is FanOut flows at once, one
// for a bulk transfer, all flows of a step for a synchronous collective; it is
// slow if one of them has less than it needs.
type Class struct {
	Name    string
	Packets int
	Bytes   float64    // mean size of a packet
	Sizes   chance.Law // of a packet, in bytes
	Header  float64    // bytes that carrying it from leaf to leaf adds
	FanOut  int
	TimeOut int64   // ns, of the first retransmission; it doubles with each (RFC 6298 section 5.5)
	Budget  float64 // share of units that may be slow

	Deadline int64 // ns from the first time-out's beginning; 0: any loss makes a unit slow
	Repath   bool  // each retransmission takes another of the equal ways

	Flow  *Flow   // nil: requests and replies
	Bears float64 // with Flow: the largest loss that leaves a flow what it needs

	Burn     []Burn // windows in which the burn of the error budget is looked at
	TimeOuts int    // how many time-outs a request's delay is followed through; 0: it is not
}

// Burn is a window and the burn rate in it that is too much: the slow share over
// the budget.
type Burn struct {
	Window int64 // ns; a multiple of the shortest
	Rate   float64
}

// Tries is how often a packet may be sent for its unit to be in time: once, and
// again after 1, 3, 7 ... time-outs as long as that is before the deadline.
func (c *Class) Tries() int {
	n := 1
	for at := c.TimeOut; at > 0 && at < c.Deadline && n < 30; at = 2*at + c.TimeOut {
		n++
	}
	return n
}

// Grip is what a direction that dropped a packet once does to the same packet when it
// comes again.
type Grip uint8

const (
	GripNone Grip = iota // a loss: as to any other
	GripFlow             // a hole: it drops all of the flow, which on another way is another to it
	GripSize             // a size: the packet is too large for ever
)

// Lost is the chance that a packet which a direction drops with some probability
// is not there in time. Way is the share of the equal ways that use the direction:
// with Repath each retransmission meets it with that probability only, else with
// certainty.
func (c *Class) Lost(drops, way float64, grip Grip) float64 {
	again := drops
	if grip == GripSize || grip == GripFlow && !c.Repath {
		again = 1
	}
	if c.Repath {
		again = float64(way * again)
	}
	lost := drops
	for range c.Tries() - 1 {
		lost = float64(lost * again)
	}
	return lost
}

// Above returns the share of the class's packets that are larger than size
// bytes as links carry them.
func (c Class) Above(size float64) float64 { return c.Sizes.Survival(size - c.Header) }

// Even returns packet sizes spread evenly over half to one and a half times
// the mean, so that half of all packets are above it.
func Even(mean float64) chance.Law {
	return chance.Law{Family: chance.Uniform, Low: mean / 2, High: 1.5 * mean}
}
