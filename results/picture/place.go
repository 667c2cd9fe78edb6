package picture

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"halflight/results/phrase"
	"halflight/results/place"
	"halflight/results/unit"
)

// placeOfPart is the place of what a fault is on, that of a group if all its
// parts share one.
func (r *Result) placeOfPart(on string) (place.Place, bool) {
	group, ok := strings.CutPrefix(on, "group:")
	if !ok {
		return place.Of(on)
	}
	var at place.Place
	for i, part := range r.Groups[group] {
		p, ok := place.Of(part)
		if !ok || (i > 0 && p != at) {
			return place.Place{}, false
		}
		at = p
	}
	return at, len(r.Groups[group]) > 0
}

// Fabric is where in the fabric the faults were that cost lost seconds.
func Fabric(r *Result) Picture {
	p := Picture{ID: "fabric", Title: "Where in the fabric loss arose",
		Read: "Rows are the tiers of the fabric, columns its planes above and its pods below. The stronger a cell, the more lost seconds a month are charged to faults there; steps are in a month, and factors of ten."}
	at := map[place.Place]float64{}
	byPart := map[string]float64{}
	columns := [2]int{} // planes, pods
	total, elsewhere := 0.0, 0.0
	add := func(on string, lost float64) {
		total += lost
		byPart[on] += lost
		where, ok := r.placeOfPart(on)
		if !ok {
			elsewhere += lost
			return
		}
		at[where] += lost
		deck := 1
		if where.Tier < place.Spines {
			deck = 0
		}
		columns[deck] = max(columns[deck], where.Column+1)
	}
	for i := range r.Set.Replications {
		one := &r.Set.Replications[i]
		for k := range one.Faults {
			add(one.Faults[k].On, one.Faults[k].LostSeconds)
		}
		for k := range one.Older {
			add(one.Older[k].On, one.Older[k].LostSeconds)
		}
	}
	if total == 0 {
		p.Without, p.Command = "nothing was lost", r.Made.Reproduce
		return p
	}
	p.Grids = r.decks(at, columns)
	p.Says = placesInWords(at, total, elsewhere)
	p.Table = r.worstParts(byPart, total)
	return p
}

// decks lays the places out: planes above, pods below.
func (r *Result) decks(at map[place.Place]float64, columns [2]int) []Grid {
	per := r.perMonth()
	deck := func(name, each string, n int, rows ...place.Tier) Grid {
		g := Grid{Name: name, Unit: unit.SPerMonth, ColumnsAre: each}
		for c := range n {
			g.Columns = append(g.Columns, strconv.Itoa(c))
		}
		for _, t := range rows {
			g.Rows = append(g.Rows, t.String())
			cells := make([]float64, n)
			for c := range cells {
				cells[c] = at[place.Place{Tier: t, Column: c}] * per
			}
			g.Cells = append(g.Cells, cells)
		}
		return g
	}
	var out []Grid
	if columns[0] > 0 {
		out = append(out, deck("planes", "plane", columns[0], place.Tops, place.PlaneLinks))
	}
	if columns[1] > 0 {
		out = append(out, deck("pods", "pod", columns[1], place.Spines, place.PodLinks, place.Leaves))
	}
	return out
}

func placesInWords(at map[place.Place]float64, total, elsewhere float64) string {
	byTier := [place.Tiers]float64{}
	for t := range place.Tiers {
		// Summed in the order of the columns: a map has none.
		for c := range 10000 {
			byTier[t] += at[place.Place{Tier: t, Column: c}]
		}
	}
	most := place.Tops
	for t := range place.Tiers {
		if byTier[t] > byTier[most] {
			most = t
		}
	}
	text := fmt.Sprintf("Faults on %s cost most: %s of all lost seconds.", most, phrase.Words(byTier[most]/total, unit.Share))
	if elsewhere > 0 {
		text += fmt.Sprintf(" %s came of groups that reach over several places and are in no cell.", phrase.Words(elsewhere/total, unit.Share))
	}
	return text
}

// worstParts lists the parts and groups whose faults cost most.
func (r *Result) worstParts(byPart map[string]float64, total float64) *Table {
	names := make([]string, 0, len(byPart))
	for name := range byPart {
		names = append(names, name)
	}
	slices.Sort(names)
	slices.SortStableFunc(names, func(a, b string) int {
		switch {
		case byPart[a] > byPart[b]:
			return -1
		case byPart[a] < byPart[b]:
			return 1
		}
		return 0
	})
	t := &Table{Head: []string{"part", "lost per month", "of all"}, Left: 1}
	for _, name := range names[:min(8, len(names))] {
		if byPart[name] > 0 {
			t.Rows = append(t.Rows, []string{name, phrase.Words(byPart[name]*r.perMonth(), unit.SPerMonth), phrase.Words(byPart[name]/total, unit.Share)})
		}
	}
	return t
}
