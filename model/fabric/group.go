package fabric

// Group is a set of parts that a fault can take together: a line card, a power
// domain, a breakout bundle, a batch of optics, or a named one. Members are in
// increasing order. Names carry no padding and do not
// change when pods are added, so that they can key random draws.
type Group struct {
	Name    string
	Class   GroupClass
	Routers []int32
	Links   []int32

	// Directions are single directions of links, in named groups for scripts only.
	Directions []int32
}

// GroupClass says what members of a group share.
type GroupClass uint8

// The classes of groups.
const (
	Named GroupClass = iota
	PowerDomain
	LineCard
	Breakout
	Batch
)

// String returns the class as a scenario writes it.
func (c GroupClass) String() string {
	return [...]string{"named", "power_domain", "line_card", "breakout", "batch"}[c]
}
