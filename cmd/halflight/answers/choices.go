package answers

import (
	"fmt"
	"math"
	"strings"

	"halflight/cmd/halflight/words"
	"halflight/model/sizing"
)

// stepsText writes what each width costs and saves.
func stepsText(b *strings.Builder, s *sizing.Steps) {
	b.WriteString("What another step costs and saves, the servers as they are\n")
	var rows [][]string
	for i, list := range [][]sizing.Step{s.Spines, s.Tops} {
		if i == 1 && len(list) > 0 {
			rows = append(rows, make([]string, 11))
		}
		for k := range list {
			one := &list[k]
			mark, long, pays := "", "-", ""
			if one.Present {
				mark = "now"
			}
			if !math.IsInf(float64(one.Long), 1) {
				long = words.Share(float64(one.Long))
			}
			if k > 0 {
				pays = payable(one.Pays)
			}
			rows = append(rows, []string{mark, words.Grouped(int64(one.Spines)), words.Grouped(int64(one.Tops)), words.Grouped(int64(one.Optics)), words.Figure(one.Faults, 3),
				words.Figure(one.Changes, 3), long, words.Share(one.Fault), shortHours(one.Short), words.Figure(one.Cost, 4), pays})
		}
	}
	words.Table(b, 1, []string{"", "spines", "tops", "optics", "faults", "changes", "LONG_WAIT", "one box", "short", "a year", "pays above"}, rows)
	words.Note(b, "Faults a month; changes a day that routers flood and compute for, those of hosts that are routers and of sessions that fall over lossy links with them, and the "+
		"share of time in LONG_WAIT if these came singly at random (flaps and falls come together, so it is less). One box: share of demand that a spine, below a top, takes until routers act. "+
		"Short: leaf-hours a year with fewer uplinks than the busiest hour needs, below with one spine or more of which that is so; uplinks taken as "+
		"independent, so where it is very small what fails together decides. A year: ports (costs.port) and repairs. Pays above: the price of such a leaf-hour "+
		"from which on the step from the row before is worth it.")
	words.Note(b, stops("spines", s.Spines, s.Price, func(o *sizing.Step) int { return o.Spines }))
	if len(s.Tops) > 0 {
		words.Note(b, stops("tops", s.Tops, s.Price, func(o *sizing.Step) int { return o.Tops }))
	}
}

// leastShort is a few milliseconds of one leaf in a year, and mostPayable a price of a
// leaf-hour that nobody has: figures beyond them say no more than that.
const leastShort, mostPayable = 1e-6, 1e9

// shortHours writes leaf-hours a year.
func shortHours(h float64) string {
	if h > 0 && h < leastShort {
		return "below 1e-6"
	}
	return words.Figure(h, 3)
}

// payable writes the price from which on a step pays.
func payable(price sizing.Number) string {
	switch p := float64(price); {
	case math.IsInf(p, 1):
		return "never"
	case p > mostPayable:
		return "beyond 1e9"
	}
	return words.Figure(float64(price), 3)
}

// stops says where the next step stops paying.
func stops(what string, list []sizing.Step, price float64, number func(*sizing.Step) int) string {
	at := sizing.Stops(list, price)
	text := fmt.Sprintf("At a price of %s (costs.degraded_leaf_hour), steps of %s pay up to %d", words.Figure(price, 3), what, number(&list[at]))
	if at+1 == len(list) {
		return text + ", the last one here."
	}
	next := float64(list[at+1].Pays)
	switch {
	case math.IsInf(next, 1):
		return text + fmt.Sprintf("; the next, to %d, saves nothing.", number(&list[at+1]))
	case next > mostPayable:
		return text + fmt.Sprintf("; the next, to %d, saves so little that no price would pay for it.", number(&list[at+1]))
	}
	return text + fmt.Sprintf("; the next, to %d, pays above %s.", number(&list[at+1]), words.Figure(next, 3))
}

// waysText writes what transports add.
func waysText(b *strings.Builder, w *sizing.Ways) {
	fmt.Fprintf(b, "What carries packets between leaves, where links carry %s bytes\n", words.Grouped(int64(w.MTU)))
	var rows [][]string
	for _, one := range w.List {
		mark, repairs := "", "no"
		if one.Present {
			mark = "now"
		}
		if one.Repairs {
			repairs = "yes"
		}
		rows = append(rows, []string{mark, one.By, fmt.Sprint(one.Header), words.Grouped(int64(one.Inner)), words.Grouped(int64(one.InRepair)), words.Share(one.Overhead),
			words.Grouped(int64(one.Entries)), words.Figure(one.Write*1e3, 3) + " ms", repairs, fmt.Sprint(one.Entropy)})
	}
	words.Table(b, 2, []string{"", "by", "header", "largest", "in repair", "overhead", "entries", "written", "tunnels", "entropy"}, rows)
	segments := "one segment"
	if w.Segments > 1 {
		segments = fmt.Sprintf("%d segments", w.Segments)
	}
	words.Note(b, "Header: bytes before the server's packet (RFC 7348, 8200, 8754, 3032), with the 14 of its frame in the first three, which carry "+
		"frames, the others packets; "+segments+" a way. Largest: packet of a server that fits, and that fits "+
		"on a way around a dead link too. Overhead: of a packet of 1,000 bytes. Entries of a router for all destinations, and how long all of them take to "+
		"write. Tunnels: repair tunnels without state of their own. Entropy: bits of a flow that routers can spread by without looking further.")
}

// boxesText writes what each kind of router carries.
func boxesText(b *strings.Builder, list []sizing.Box) {
	b.WriteString("Share of all demand that the busiest router of each kind carries at rest\n")
	var rows [][]string
	most := 0
	for i := range list {
		if list[i].Share > list[most].Share {
			most = i
		}
	}
	for i := range list {
		mark := ""
		if i == most {
			mark = "hottest"
		}
		rows = append(rows, []string{list[i].Name, words.Grouped(int64(list[i].Number)), words.Share(list[i].Share), mark})
	}
	words.Table(b, 1, []string{"kind", "routers", "each", ""}, rows)
}

// busiestText writes how full links are in the busiest hour.
func busiestText(b *strings.Builder, h *sizing.Busiest) {
	fmt.Fprintf(b, "How full the fullest link of each kind is in the busiest hour, %s of access capacity offered\n", words.Share(h.Load))
	var rows [][]string
	row := func(name string, use float64) {
		mark := ""
		switch {
		case use == 0:
			return
		case use > 1+1e-9:
			mark = "over capacity: " + words.Share(1-1/use) + " of it would be lost"
		}
		rows = append(rows, []string{name, words.Share(use), mark})
	}
	row("access", h.Access)
	row("access, one of two out", h.OneOfTwo)
	row("leaf to spine", h.LeafSpine)
	row("spine to top", h.SpineTop)
	words.Table(b, 1, []string{"links", "full", ""}, rows)
	words.Note(b, "Of what they carry, all in use unless said, tables at rest. Access: without traffic.servers a leaf has as many as make it the load.")
}
