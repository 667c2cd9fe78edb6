package sizing

import (
	"slices"

	"halflight/model"
	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/model/reliability"
)

// Uplinks is what is left of a leaf's uplinks at a random moment.
type Uplinks struct {
	Uplinks        int     `json:"uplinks"`
	Unavailability float64 `json:"unavailability"` // of one, its spine included
	Lost           []Lost  `json:"lost"`
}

// Lost is the probability that so many uplinks or more are out.
type Lost struct {
	Lost    int     `json:"lost"`
	ThisOne float64 `json:"one_leaf"`
	AnyLeaf float64 `json:"any_leaf"`
	Leaves  float64 `json:"leaves"` // expected number of leaves
}

// uplinksOf looks at the first uplink of the first leaf, as good as any other.
// A dead leaf is not counted.
func uplinksOf(w *model.World) Uplinks {
	n := len(w.Fabric.Ports[0])
	a := Uplinks{Uplinks: n, Unavailability: outOf(w, w.Fabric.Ports[0][0], failure.OnSpine), Lost: []Lost{}}
	short := reliability.UplinksShortEach(n, a.Unavailability)
	for lost := 1; lost <= n; lost++ {
		p := short[n-lost]
		a.Lost = append(a.Lost, Lost{lost, p, reliability.AnyShort(w.Fabric.Leaves, p), p * float64(w.Fabric.Leaves)})
	}
	return a
}

// outShare is the share of time that one mode keeps an uplink out, or the router
// of a class behind it.
func outShare(w *model.World, m *failure.Mode, uplink fabric.Port, far failure.Class) float64 {
	prevalence := m.Prevalence(dwell(w, m))
	if m.Kind == failure.Flapping {
		prevalence *= m.Flaps.Mean() * m.Down.Mean() / dwell(w, m)
	}
	switch {
	case m.On == failure.OnLink:
		return prevalence
	case m.Routers():
		if m.On == failure.OnRouter || m.On == far {
			return prevalence
		}
		return 0
	}
	hit := []float64{}
	for i := range w.Groups {
		if g := &w.Groups[i]; m.Strikes(g) {
			hit = append(hit, prevalence*memberShare(g, m.Ports, uplink))
		}
	}
	return reliability.Series(hit...)
}

// memberShare is the share of a group's faults that take out a link or the
// spine behind it.
func memberShare(g *fabric.Group, ports int, uplink fabric.Port) float64 {
	_, link := slices.BinarySearch(g.Links, uplink.Link)
	_, spine := slices.BinarySearch(g.Routers, uplink.Peer)
	members := len(g.Links) + len(g.Routers)
	switch {
	case !link && !spine:
		return 0
	case ports > 0 && ports < members:
		return float64(ports) / float64(members)
	}
	return 1
}
