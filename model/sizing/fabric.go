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
	Lead      float64   `json:"lead_h"`
	Cover     float64   `json:"spares_cover"`
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
}

// OfWorld answers for a scenario; lead is in hours.
func OfWorld(w *model.World, lead float64) *Fabric {
	shape := closOf(w)
	n := shape.Counts()
	a := &Fabric{Name: w.Name, Lead: lead, Cover: Cover, Inventory: Inventory{
		shape.Pods, n.Leaves, n.Spines, n.Tops, n.Routers, n.LeafSpineLinks, n.SpineTopLinks, n.Links, n.Transceivers,
		n.PathsInsidePod, n.PathsBetween, n.Hops, n.LSPCopiesFlood,
	}}
	a.modes(w, lead)
	a.Uplinks = uplinksOf(w)
	a.Widths = widthsAround(shape)
	a.Steps = stepsAround(w)
	a.Ways = waysOf(w)
	return a
}

// closOf is the fabric as the arithmetic wants it.
func closOf(w *model.World) reliability.Clos {
	s := w.Fabric.Shape
	return reliability.Clos{Pods: s.Pods, Leaves: s.Leaves, Spines: s.Spines, Tops: s.Tops, Parallel: s.Parallel}
}
