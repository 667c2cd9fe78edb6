package scenarios

import "strconv"

// The words of the language for small values, in the order of their constants.
var (
	familyNames = [...]string{"fixed", "exponential", "weibull", "lognormal", "loguniform", "uniform", "geometric", "table"}
	kindNames   = [...]string{"", "hard", "lossy", "silent", "blackhole", "oversize", "flapping", "restart", "drain"}
	targetNames = [...]string{"", "link", "router", "leaf", "spine", "top", "line_card", "power_domain", "breakout", "batch", "group"}
	partNames   = [...]string{"a router", "a link", "one direction", "a group"}
	tierNames   = [...]string{"leaf", "spine", "top"}
	tierPlurals = [...]string{"leaves", "spines", "tops"}
	hashNames   = [...]string{"independent", "polarised"}
	whoNames    = [...]string{"human", "automatic", "measured"}
)

// String returns the key of the family.
func (f Family) String() string { return familyNames[f] }

// String returns the word for the kind.
func (k Kind) String() string { return kindNames[k] }

// String returns the word for the class; groups are followed by their name in a file.
func (c TargetClass) String() string { return targetNames[c] }

// String returns the class of part with its article.
func (c PartClass) String() string { return partNames[c] }

// String returns the word for the tier.
func (t Tier) String() string { return tierNames[t] }

// String returns the word for the way of hashing.
func (h Hashing) String() string { return hashNames[h] }

// String returns the word for who acts.
func (w Who) String() string { return whoNames[w] }

// String returns the target as it is written.
func (t Target) String() string {
	if t.Class == OnGroup {
		return "group:" + t.Group
	}
	return t.Class.String()
}

// String returns a duration as a file would say it, in the largest units that lose nothing: 1h30min, 250us, 0s.
func (d Duration) String() string {
	if d == 0 {
		return "0s"
	}
	s, rest := "", uint64(d)
	if d < 0 {
		s, rest = "-", -rest
	}
	for _, u := range timeUnits {
		if u.name == "w" {
			continue
		}
		if n := rest / uint64(u.ns); n > 0 {
			s += strconv.FormatUint(n, 10) + u.name
			rest -= n * uint64(u.ns)
		}
	}
	return s
}
