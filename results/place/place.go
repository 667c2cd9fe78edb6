// Package place tells from the name of a part where in a Clos fabric it lies.
//
// It knows names and no fabric. It is tested by names typed by hand.
package place

import (
	"strconv"
	"strings"
)

// Tier is a row of a fabric drawn from the top.
type Tier int

// The tiers, from the top; Tiers is how many there are.
const (
	Tops Tier = iota
	PlaneLinks
	Spines
	PodLinks
	Leaves
	Tiers
)

var names = [Tiers]string{"tops", "links spine to top", "spines", "links leaf to spine", "leaves"}

// String names a tier.
func (t Tier) String() string { return names[t] }

// Place is where a part lies: a tier, and a plane for the two upper tiers, a pod
// for the others.
type Place struct {
	Tier   Tier
	Column int
}

// Of reads a name such as "leaf-2-07", "leaf-2-07~spine-2-03",
// "spine-2-03>top-03-5"; false if it is no such part.
func Of(name string) (Place, bool) {
	name, _, _ = strings.Cut(name, "#")
	if cut := strings.IndexAny(name, "~>"); cut >= 0 {
		a, okA := Of(name[:cut])
		b, okB := Of(name[cut+1:])
		if !okA || !okB {
			return Place{}, false
		}
		switch {
		case a.Tier == Tops && b.Tier == Spines:
			return Place{PlaneLinks, a.Column}, true
		case a.Tier == Spines && b.Tier == Tops:
			return Place{PlaneLinks, b.Column}, true
		case a.Tier != Tops && b.Tier != Tops && a.Column == b.Column:
			return Place{PodLinks, a.Column}, true
		}
		return Place{}, false
	}
	fields := strings.Split(name, "-")
	if len(fields) != 3 {
		return Place{}, false
	}
	column, err := strconv.Atoi(fields[1])
	if err != nil || column < 0 || column > 9999 {
		return Place{}, false
	}
	for t, class := range map[Tier]string{Tops: "top", Spines: "spine", Leaves: "leaf"} {
		if fields[0] == class {
			return Place{t, column}, true
		}
	}
	return Place{}, false
}
