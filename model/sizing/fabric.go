package sizing

import (
	"halflight/model"
	"halflight/model/reliability"
)

// Fabric is what can be said of a scenario without simulating it.
type Fabric struct {
	Name      string    `json:"name"`
	Inventory Inventory `json:"inventory"`
	Modes     []Mode    `json:"modes"`
	Gray      *Mode     `json:"gray,omitempty"` // modes that drop packets unseen, together
	Any       *Mode     `json:"any,omitempty"`  // all modes together
	Uplinks   Uplinks   `json:"uplinks"`
	Widths    []Width   `json:"widths"`
	Steps     Steps     `json:"steps"`
	Ways      Ways      `json:"transports"`
	Boxes     []Box     `json:"boxes"`
	Busiest   Busiest   `json:"busiest_hour"`
	Planned   *Planned  `json:"planned,omitempty"` // if there are upgrades
	Lead      float64   `json:"lead_h"`
	Cover     float64   `json:"spares_cover"`
}

// Box is a kind of router and the share of all demand that the busiest of them
// carries at rest.
type Box struct {
	Name   string  `json:"name"`
	Number int     `json:"number"`
	Share  float64 `json:"demand_share"`
}

// Busiest is how full the fullest link of each kind is in the busiest hour, all in
// use and tables at rest, as a share of what it carries; what is above 1 does not fit.
type Busiest struct {
	Load      float64 `json:"load"` // share of access capacity that is offered
	Access    float64 `json:"access"`
	OneOfTwo  float64 `json:"access_one_of_two,omitempty"` // while one of two attachments is lost; 0: there is one
	LeafSpine float64 `json:"leaf_spine"`
	SpineTop  float64 `json:"spine_top,omitempty"` // 0: there are no tops
}

// busiestOf reckons with demand alone.
func busiestOf(w *model.World) Busiest {
	d := &w.Traffic
	b := Busiest{Load: d.Busiest, Access: d.AccessUse(w.Fabric, d.Busiest)}
	b.LeafSpine, b.SpineTop = d.Uses(w.Fabric, d.Busiest)
	if w.Homing.Attachments == 2 {
		b.OneOfTwo = 2 * b.Access
	}
	return b
}

// Inventory is what the fabric is made of.
type Inventory struct {
	Pods           int `json:"pods"`
	Leaves         int `json:"leaves"`
	Spines         int `json:"spines"`
	Tops           int `json:"tops"`
	Routers        int `json:"routers"`
	LeafSpineLinks int `json:"leaf_spine_links"`
	SpineTopLinks  int `json:"spine_top_links"`
	Links          int `json:"links"`
	Transceivers   int `json:"transceivers"`
	PathsInside    int `json:"paths_inside_pod"`
	PathsBetween   int `json:"paths_between_pods"`
	Hops           int `json:"hops"` // links on the longest shortest path
	Copies         int `json:"lsp_copies_at_most"`
	Fabrics        int `json:"fabrics"`
	Circuits       int `json:"circuits"` // links to what lies outside, of all fabrics; counted nowhere else
}

// OfWorld answers for a scenario; lead is in hours.
func OfWorld(w *model.World, lead float64) *Fabric {
	shape, k := closOf(w), fabricsOf(w)
	n := shape.Counts()
	a := &Fabric{Name: w.Name, Lead: lead, Cover: Cover, Inventory: Inventory{
		k * shape.Pods, k * n.Leaves, k * n.Spines, k * n.Tops, k * n.Routers, k * n.LeafSpineLinks, k * n.SpineTopLinks, k * n.Links, k * n.Transceivers,
		n.PathsInsidePod, n.PathsBetween, n.Hops, n.LSPCopiesFlood, k, len(w.Fabric.Links) - k*n.Links,
	}}
	a.modes(w, lead)
	a.Uplinks = uplinksOf(w)
	a.Widths = widthsAround(shape)
	a.Steps = stepsAround(w)
	a.Ways = waysOf(w)
	a.Planned = plannedOf(w)
	a.Busiest = busiestOf(w)
	for _, b := range w.Traffic.Boxes(w.Fabric) {
		a.Boxes = append(a.Boxes, Box(b))
	}
	return a
}

// closOf is the fabric as the arithmetic wants it; of several that are alike, one.
func closOf(w *model.World) reliability.Clos {
	s, k := w.Fabric.Shape, fabricsOf(w)
	return reliability.Clos{Pods: s.Pods / k, Leaves: s.Leaves, Spines: s.Spines, Tops: s.Tops / k, Parallel: s.Parallel}
}

// fabricsOf is how many there are.
func fabricsOf(w *model.World) int { return max(w.Fabric.Fabrics, 1) }
