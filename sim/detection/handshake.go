package detection

// Adjacency is the state of one end of a point-to-point adjacency, as its hellos
// say it (RFC 5303, section 3.1).
type Adjacency uint8

// The states.
const (
	Down Adjacency = iota
	Initializing
	Up
)

// Handshake returns the state of an end after it heard a hello that says the
// state of the other (RFC 5303, section 3.2): up takes three hellos, and an end
// that is up does not stay so if the other is down.
func Handshake(own, heard Adjacency) Adjacency {
	switch {
	case own == Down && heard == Up:
		return Down // the other has not noticed yet that this end was down
	case heard == Down:
		return Initializing
	}
	return Up
}
