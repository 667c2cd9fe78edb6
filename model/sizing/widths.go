package sizing

import (
	"halflight/model/reliability"
)

// Width is a fabric of another width. Losses are shares of all demand
// that a fault takes from its onset until routers act.
type Width struct {
	Spines       int     `json:"spines_per_pod"`
	Tops         int     `json:"tops_per_plane"`
	Present      bool    `json:"present"`
	PathsInside  int     `json:"paths_inside_pod"`
	PathsBetween int     `json:"paths_between_pods"`
	Routers      int     `json:"routers"`
	Links        int     `json:"links"`
	Transceivers int     `json:"transceivers"`
	Uplink       float64 `json:"loss_leaf_spine_link"`
	Spine        float64 `json:"loss_spine"`
	Top          float64 `json:"loss_top"`
	LeafLeft     float64 `json:"leaf_capacity_after_spine"` // share of a leaf's uplinks left without one spine
}

// widthsAround varies spines, then tops, around the present numbers.
func widthsAround(c reliability.Clos) []Width {
	list := []Width{}
	for _, spines := range around(c.Spines) {
		v := c
		v.Spines = spines
		list = append(list, widthOf(v, spines == c.Spines))
	}
	for _, tops := range around(c.Tops) {
		v := c
		v.Tops = tops
		if tops != c.Tops {
			list = append(list, widthOf(v, false))
		}
	}
	return list
}

// around lists numbers from half to one and a half times n, each once.
func around(n int) []int {
	var list []int
	for _, quarters := range []int{2, 3, 4, 5, 6} {
		v := (n*quarters + 2) / 4
		if v >= 1 && (len(list) == 0 || v > list[len(list)-1]) {
			list = append(list, v)
		}
	}
	return list
}

func widthOf(c reliability.Clos, present bool) Width {
	n := c.Counts()
	// What leaves and enters the spine by its leaves, less what turns around
	// there and would be counted twice.
	leaves, far := float64(c.Leaves), float64(n.Leaves-c.Leaves)
	others := float64(n.Leaves - 1)
	a := Width{Spines: c.Spines, Tops: c.Tops, Present: present, PathsInside: n.PathsInsidePod, PathsBetween: n.PathsBetween,
		Routers: n.Routers, Links: n.Links, Transceivers: n.Transceivers, LeafLeft: 1 - 1/float64(c.Spines)}
	if others > 0 {
		a.Uplink = 2 * n.LeafSpineDemand
		a.Spine = leaves * (others + far) / (float64(n.Leaves) * others * float64(c.Spines))
	}
	if c.Tops > 0 {
		a.Top = far / others / float64(n.Tops)
	}
	return a
}
