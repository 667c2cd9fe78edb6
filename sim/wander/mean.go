package wander

import "slices"

// Where nothing gets out all is lost, and how much of it goes round is a matter of
// blame. There may be more bundles of ways than are worth following then: they
// are told apart by the breed they are at alone, and how many routers of each breed
// they have seen is known on average. What goes on, and what comes back to a router that
// was seen, is linear in that number, so that only its spread among the ways to one breed
// is left out.

// means is ways that are told apart by the breed they are at.
type means struct {
	left []float64 // by breed
	seen []float64 // by breed they are at, and breed: how many they have seen, times left
}

// littleLeft is so little of a unit that it need not be followed further, and counts as
// looped.
const littleLeft = 1e-12

// begin empties them, of so many breeds.
func (m *means) begin(breeds int) {
	m.left, m.seen = slices.Grow(m.left[:0], breeds)[:breeds], slices.Grow(m.seen[:0], breeds*breeds)[:breeds*breeds]
	clear(m.left)
	clear(m.seen)
}

// row is what ways at a breed have seen.
func (m *means) row(at int) []float64 { return m.seen[at*len(m.left):][:len(m.left)] }

// FollowMean follows what begins at a router of breed start, in plane 0. It calls each for
// every breed and number of routers seen, with what is there, and what of it comes back to a
// router from there.
func (b *Room) FollowMean(list []Breed, start int, each func(at int, left, looped float64)) {
	b.here.begin(len(list))
	b.here.left[start], b.here.row(start)[start] = 1, 1
	for all := 1.0; all > 0; b.here, b.there = b.there, b.here {
		b.there.begin(len(list))
		all = 0
		for at, left := range b.here.left {
			switch {
			case left == 0:
			case left < littleLeft:
				each(at, 0, left)
			default:
				all += left
				each(at, left, b.stepMean(list, at))
			}
		}
	}
}

// stepMean has the ways at a breed go on by a router, and returns what comes back.
func (b *Room) stepMean(list []Breed, at int) (looped float64) {
	from, left, row := &list[at], b.here.left[at], b.here.row(at)
	for i := range from.To {
		h := &from.To[i]
		routers := float64(len(list[h.Breed].Routers))
		each, seen := float64(left*h.Pass[0])/from.Hops, min(row[h.Breed]/left, routers)
		looped += float64(each * seen)
		on, next := float64(each*(routers-seen)), b.there.row(h.Breed)
		b.there.left[h.Breed] += on
		for k := range next {
			next[k] += float64(on*row[k]) / left
		}
		next[h.Breed] += on
	}
	return looped
}
