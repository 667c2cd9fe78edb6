package scenarios

// The words of the language for small values, in the order of their constants.
var (
	kindNames   = [...]string{"", "hard", "lossy", "silent", "blackhole", "oversize", "flapping", "restart", "slow", "unwritten", "drain"}
	targetNames = [...]string{"", "link", "router", "leaf", "spine", "top", "line_card", "power_domain", "breakout", "batch", "access", "border", "group"}
	planeNames  = [...]string{"data", "control"}
	hashNames   = [...]string{"independent", "polarised"}
)

// String returns the word for the kind.
func (k Kind) String() string { return kindNames[k] }

// String returns the word for the class; groups are followed by their name in a file.
func (c TargetClass) String() string { return targetNames[c] }

// String returns the word for the plane.
func (p Plane) String() string { return planeNames[p] }

// String returns the word for the way of hashing.
func (h Hashing) String() string { return hashNames[h] }

// String returns the target as it is written.
func (t Target) String() string {
	if t.Class == OnGroup {
		return "group:" + t.Group
	}
	return t.Class.String()
}
