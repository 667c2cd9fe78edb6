package answers

import (
	"fmt"
	"strings"

	"halflight/cmd/halflight/words"
	"halflight/model/sizing"
)

// FabricText writes the answer for a scenario.
func FabricText(b *strings.Builder, a *sizing.Fabric) {
	inventoryText(b, &a.Inventory, a.Name)
	if len(a.Modes) > 0 {
		b.WriteByte('\n')
		modesText(b, a)
		b.WriteByte('\n')
		uplinksText(b, &a.Uplinks)
	}
	b.WriteByte('\n')
	widthsText(b, a.Widths)
	b.WriteByte('\n')
	stepsText(b, &a.Steps)
	b.WriteByte('\n')
	boxesText(b, a.Boxes)
	b.WriteByte('\n')
	busiestText(b, &a.Busiest)
	b.WriteByte('\n')
	waysText(b, &a.Ways)
	if a.Planned != nil {
		b.WriteByte('\n')
		plannedText(b, a.Planned)
	}
}

func inventoryText(b *strings.Builder, n *sizing.Inventory, name string) {
	whole := func(v int) string { return words.Grouped(int64(v)) }
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
	if n.Fabrics > 1 {
		fmt.Fprintf(b, "  %s fabrics that nothing joins, alike; paths and widths are those of one\n", whole(n.Fabrics))
	}
	if n.Circuits > 0 {
		fmt.Fprintf(b, "  and %s links to what lies outside\n", whole(n.Circuits))
	}
	rows := [][2]string{
		{"routers", routers}, {"pods", whole(n.Pods)}, {"links", links}, {"transceivers", whole(n.Transceivers)},
		{"shortest paths", paths + fmt.Sprintf(", %d links at most", n.Hops)},
		{"flooding", "one LSP is sent at most " + whole(n.Copies) + " times"},
	}
	for _, r := range rows {
		fmt.Fprintf(b, "  %-15s %s\n", r[0], r[1])
	}
}

func modesText(b *strings.Builder, a *sizing.Fabric) {
	fmt.Fprintf(b, "Faults to expect, what is broken now, and spares for a lead time of %s (%s)\n", words.Period(a.Lead), words.Share(a.Cover))
	var rows [][]string
	row := func(m *sizing.Mode) {
		spares := ""
		if m.Spares != nil {
			spares = words.Grouped(int64(*m.Spares))
		}
		rows = append(rows, []string{m.Name, m.Kind, m.On, words.Grouped(int64(m.Units)), words.Period(float64(m.Gap)), ranged(m.PerMonth),
			words.Period(m.Dwell), words.Figure(m.Present.Mean, 3), words.Grouped(int64(m.Present.P99)), spares})
	}
	for i := range a.Modes {
		row(&a.Modes[i])
	}
	if a.Gray != nil {
		row(a.Gray)
	}
	if a.Any != nil {
		row(a.Any)
	}
	words.Table(b, 3, []string{"mode", "kind", "on", "parts", "one every", "a month", "lasts", "now", "p99", "spares"}, rows)
	words.Note(b, "A month: mean and the range that holds 95 % of months of 30 d. Lasts: mean from onset to repair of a fault that is "+
		"seen at once, by as many visits as that takes (operations.first_repair); gray ones last longer by the time until somebody sees "+
		"them and acts, which only a simulation tells. Now: mean number present at a random moment, and the number that 99 % of moments stay within.")
}

func uplinksText(b *strings.Builder, a *sizing.Uplinks) {
	fmt.Fprintf(b, "Uplinks of a leaf that are out at a random moment (of %d, each out %s of the time)\n", a.Uplinks, words.Share(a.Unavailability))
	var rows [][]string
	for _, l := range a.Lost {
		if l.AnyLeaf < 1e-12 && l.Lost > 1 {
			continue
		}
		rows = append(rows, []string{fmt.Sprintf("%d or more", l.Lost), words.Figure(l.ThisOne, 3), words.Figure(l.AnyLeaf, 3), words.Figure(l.Leaves, 3)})
	}
	words.Table(b, 1, []string{"out", "one leaf", "any leaf", "leaves now"}, rows)
	words.Note(b, "Shares of time; leaves now is the mean number of such leaves. Hard faults, flaps and reloads of the link and its spine; "+
		"uplinks and leaves are taken as independent; those that share a spine, a card or a power domain fail together.")
}

func widthsText(b *strings.Builder, list []sizing.Width) {
	b.WriteString("Other widths, and the share of all demand that one hard fault takes until routers act\n")
	var rows [][]string
	for _, w := range list {
		mark := ""
		if w.Present {
			mark = "now"
		}
		whole := func(v int) string { return words.Grouped(int64(v)) }
		rows = append(rows, []string{mark, whole(w.Spines), whole(w.Tops), whole(w.PathsInside), whole(w.PathsBetween), whole(w.Routers), whole(w.Links),
			whole(w.Transceivers), words.Share(w.Uplink), words.Share(w.Spine), words.Share(w.Top), words.Share(w.LeafLeft)})
	}
	words.Table(b, 1, []string{"", "spines", "tops", "paths", "far paths", "routers", "links", "optics", "uplink", "spine", "top", "left"}, rows)
	words.Note(b, "Spines in a pod, tops in a plane. Paths between leaves of one pod, far ones between pods. Uplink, spine, top: the "+
		"fault. Left: uplinks of a leaf that remain without one spine.")
}
