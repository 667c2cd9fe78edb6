package web

import (
	"fmt"
	"html/template"
	"strings"

	"halflight/results/phrase"
	"halflight/results/picture"
)

// grids draws cells in steps of one colour, light to dark, and what the steps
// are.
func grids(p *picture.Picture) (drawings []template.HTML, steps []key) {
	least := picture.Classes(p.Grids)
	for i := range p.Grids {
		drawings = append(drawings, grid(&p.Grids[i], least, p.Title+". "+p.Says))
	}
	for k, words := range picture.Steps(p.Grids) {
		sample := fmt.Sprintf(`<svg class="sample" viewBox="0 0 34 12" aria-hidden="true"><rect class="g%d" x="6" y="0" width="22" height="12"/></svg>`, k)
		steps = append(steps, key{template.HTML(sample), words, -1})
	}
	return drawings, steps
}

func grid(g *picture.Grid, least []float64, words string) template.HTML {
	size, left, top := 20.0, 30.0, 6.0
	tall := size
	if len(g.Rows) > 12 {
		tall = 9
	}
	for _, r := range g.Rows {
		left = max(left, 14+6.7*float64(len(r)))
	}
	if wide := 640.0; float64(len(g.Columns))*size < wide {
		size = min(44, wide/float64(len(g.Columns)))
	}
	width, height := left+size*float64(len(g.Columns))+8, top+tall*float64(len(g.Rows))+40
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="grid" width="%s" height="%s" viewBox="0 0 %s %s" role="img" aria-label="%s"><g class="frame">`,
		px(width), px(height), px(width), px(height), esc(words))
	everyRow, everyColumn := max(1, len(g.Rows)/6), max(1, len(g.Columns)/15)
	for r, name := range g.Rows {
		if len(g.Rows) <= 12 || r%everyRow == 0 {
			fmt.Fprintf(&b, `<text x="%s" y="%s" dy=".35em" text-anchor="end">%s</text>`, px(left-6), px(top+tall*(float64(r)+0.5)), esc(name))
		}
	}
	for c, name := range g.Columns {
		if c%everyColumn == 0 {
			fmt.Fprintf(&b, `<text x="%s" y="%s" text-anchor="middle">%s</text>`, px(left+size*(float64(c)+0.5)), px(top+tall*float64(len(g.Rows))+15), esc(name))
		}
	}
	fmt.Fprintf(&b, `<text x="%s" y="%s" text-anchor="middle">%s</text></g>`, px(left+size*float64(len(g.Columns))/2), px(height-6), esc(g.ColumnsAre))
	for r := range g.Cells {
		for c, v := range g.Cells[r] {
			switch {
			case v < 0:
				continue
			case v == 0: // no words: most cells of a calm result
				fmt.Fprintf(&b, `<rect class="g0" x="%s" y="%s" width="%s" height="%s"/>`, px(left+size*float64(c)+0.5), px(top+tall*float64(r)+0.5), px(size-1), px(tall-1))
				continue
			}
			fmt.Fprintf(&b, `<rect class="g%d" x="%s" y="%s" width="%s" height="%s"><title>%s</title></rect>`, picture.Class(v, least),
				px(left+size*float64(c)+0.5), px(top+tall*float64(r)+0.5), px(size-1), px(tall-1),
				esc(fmt.Sprintf("%s %s, %s: %s", g.ColumnsAre, g.Columns[c], g.Rows[r], phrase.Words(v, g.Unit))))
		}
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}
