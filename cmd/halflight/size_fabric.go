package main

import (
	"fmt"
	"strings"

	"halflight/model"
	"halflight/model/reliability"
)

// fabricAnswer is what can be said of a scenario without simulating it.
type fabricAnswer struct {
	Name      string        `json:"name"`
	Inventory inventory     `json:"inventory"`
	Modes     []modeAnswer  `json:"modes"`
	Gray      *modeAnswer   `json:"gray,omitempty"` // modes that drop packets unseen, together
	Any       *modeAnswer   `json:"any,omitempty"`  // all modes together
	Uplinks   uplinksAnswer `json:"uplinks"`
	Widths    []widthAnswer `json:"widths"`
	Lead      float64       `json:"lead_h"`
	Cover     float64       `json:"spares_cover"`
}

// inventory is what the fabric is made of.
type inventory struct {
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

// sizeFabric answers for a scenario; lead is in hours.
func sizeFabric(w *model.World, lead float64) *fabricAnswer {
	shape := closOf(w)
	n := shape.Counts()
	a := &fabricAnswer{Name: w.Name, Lead: lead, Cover: cover, Inventory: inventory{
		shape.Pods, n.Leaves, n.Spines, n.Tops, n.Routers, n.LeafSpineLinks, n.SpineTopLinks, n.Links, n.Transceivers,
		n.PathsInsidePod, n.PathsBetween, n.Hops, n.LSPCopiesFlood,
	}}
	a.modes(w, lead)
	a.Uplinks = uplinksOf(w)
	a.Widths = widthsAround(shape)
	return a
}

// closOf is the fabric as the arithmetic wants it.
func closOf(w *model.World) reliability.Clos {
	s := w.Fabric.Shape
	return reliability.Clos{Pods: s.Pods, Leaves: s.Leaves, Spines: s.Spines, Tops: s.Tops, Parallel: s.Parallel}
}

func (a *fabricAnswer) text(b *strings.Builder) {
	a.Inventory.text(b, a.Name)
	if len(a.Modes) > 0 {
		b.WriteByte('\n')
		a.modesText(b)
		b.WriteByte('\n')
		a.Uplinks.text(b)
	}
	b.WriteByte('\n')
	widthsText(b, a.Widths)
}

func (n *inventory) text(b *strings.Builder, name string) {
	whole := func(v int) string { return grouped(int64(v)) }
	routers := fmt.Sprintf("%s leaves, %s spines", whole(n.Leaves), whole(n.Spines))
	links := whole(n.LeafSpineLinks) + " leaf to spine"
	paths := whole(n.PathsInside) + " between leaves of one pod"
	if n.Tops > 0 {
		routers += ", " + whole(n.Tops) + " tops"
		links += ", " + whole(n.SpineTopLinks) + " spine to top"
	}
	if n.PathsBetween > 0 {
		paths += ", " + whole(n.PathsBetween) + " between leaves of two"
	}
	fmt.Fprintf(b, "%s: %s routers, %s links\n", name, whole(n.Routers), whole(n.Links))
	rows := [][2]string{
		{"routers", routers}, {"pods", whole(n.Pods)}, {"links", links}, {"transceivers", whole(n.Transceivers)},
		{"shortest paths", paths + fmt.Sprintf(", %d links at most", n.Hops)},
		{"flooding", "one LSP is sent at most " + whole(n.Copies) + " times"},
	}
	for _, r := range rows {
		fmt.Fprintf(b, "  %-15s %s\n", r[0], r[1])
	}
}
