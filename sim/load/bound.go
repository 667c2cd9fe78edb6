package load

import (
	"math"
	"math/bits"

	"halflight/model/fabric"
)

// Bound is how full no direction of a Clos is more than, found without following
// anything, where links between leaf and spine, and between spine and top, are so
// full at rest and all leaves send alike. out says whether a link is out of use, and
// gone whether a router is. It is infinite where nothing can be said.
//
// With k spines that two leaves both still use, a leaf's uplink carries at most the
// share 1/k of the fewest k of that leaf, and so does the way down to it; with t tops
// that spine j of two pods both still use, a link from spine j to a top carries the
// sum over the leaves of its pod and over the other pods of at most 1/(k t), k the
// fewest of that leaf with one of that pod.
func Bound(f *fabric.Fabric, leafSpine, spineTop float64, out func(link int32) bool, gone func(router int32) bool) float64 {
	c := f.Shape
	if c.Spines == 0 || c.Spines > 64 || c.Tops > 64 || f.Fabrics > 1 {
		return math.Inf(1)
	}
	up := make([]uint64, len(f.Routers)) // spines that a leaf uses, tops that a spine does
	for l := range int32(len(f.Links)) {
		k := &f.Links[l]
		if k.Metric != [2]uint32{1, 1} || c.Parallel > 1 && int(k.Lower) < f.Leaves && out(l) {
			return math.Inf(1)
		}
		if !out(l) {
			up[k.Lower] |= 1 << f.Routers[k.Upper].Second
		}
	}
	pods := make([]kinds, max(c.Pods, 1)) // the sets that leaves of a pod use
	for x := range f.Leaves {
		if !gone(int32(x)) && up[x] != 0 { // else it sends nothing
			pods[f.Routers[x].First].add(up[x])
		}
	}
	bound, far := 0.0, make([]float64, len(pods)*len(pods))
	for p := range pods {
		for q := range pods {
			least, sum := pods[p].apart(&pods[q], c.Spines)
			bound = max(bound, float64(leafSpine*least))
			far[p*len(pods)+q] = sum / float64(c.Leaves)
		}
	}
	if c.Tops == 0 || c.Pods < 2 {
		return bound
	}
	for j := range int32(c.Spines) {
		for p := range c.Pods {
			sum := 0.0
			a := spineOf(f, p, j)
			if gone(a) {
				continue // no leaf uses it
			}
			for q := range c.Pods {
				b := spineOf(f, q, j)
				if q == p || gone(b) {
					continue
				}
				t := bits.OnesCount64(up[a] & up[b])
				if t == 0 {
					return math.Inf(1) // leaves use fewer spines for that pod than was thought
				}
				sum += float64(far[p*len(pods)+q] * float64(c.Tops) / float64(t))
			}
			bound = max(bound, float64(spineTop*sum/float64(c.Pods-1)))
		}
	}
	return bound
}

// spineOf is spine j of a pod.
func spineOf(f *fabric.Fabric, pod int, j int32) int32 {
	return int32(f.Leaves + pod*f.Shape.Spines + int(j))
}

// kinds are the different sets of spines that leaves of a pod use, and how many
// leaves use each: few, since few links are out of use at a time.
type kinds struct {
	sets   []uint64
	leaves []float64
}

func (k *kinds) add(set uint64) {
	for i, s := range k.sets {
		if s == set {
			k.leaves[i]++
			return
		}
	}
	k.sets, k.leaves = append(k.sets, set), append(k.leaves, 1)
}

// apart is how many times all spines are the fewest that a leaf of one pod shares
// with one of another, and the sum of that over the leaves of the former.
func (k *kinds) apart(o *kinds, spines int) (most, sum float64) {
	for i, a := range k.sets {
		few := spines
		for _, b := range o.sets {
			few = min(few, bits.OnesCount64(a&b))
		}
		share := float64(spines) / float64(few) // infinite if none
		most, sum = max(most, share), sum+float64(share*k.leaves[i])
	}
	return most, sum
}
