package web

import (
	"fmt"
	"html/template"
	"strings"

	"halflight/results/picture"
)

// barRow is a bar with its words; the drawing has no words, so that it may be
// stretched.
type barRow struct {
	Group      string // where it begins
	Name, Text string
	Drawing    template.HTML
}

// barRows draws the bars of a picture on one scale.
func barRows(p *picture.Picture) (out []barRow) {
	x := scale{p.X, 0, 1000}
	for i := range p.Bars {
		b, group := &p.Bars[i], ""
		if i == 0 || b.Group != p.Bars[i-1].Group {
			group = b.Group
		}
		out = append(out, barRow{group, b.Name, b.Text, bar(b, x)})
	}
	return out
}

func bar(b *picture.Bar, x scale) template.HTML {
	var s strings.Builder
	from, to := x.at(min(b.From, b.To)), x.at(max(b.From, b.To))
	fmt.Fprintf(&s, `<svg class="bar" viewBox="0 0 1000 20" preserveAspectRatio="none" aria-hidden="true"><path class="rail" d="M0 10H1000"/><rect class="%s" x="%s" y="3" width="%s" height="14"/>`,
		class(b.Style, b.Second), px(from), px(max(1.5, to-from)))
	if b.High > b.Low {
		fmt.Fprintf(&s, `<path class="whisker" d="M%s 10H%sM%s 5V15M%s 5V15"/>`, px(x.at(b.Low)), px(x.at(b.High)), px(x.at(b.Low)), px(x.at(b.High)))
	}
	s.WriteString("</svg>")
	return template.HTML(s.String())
}

// phaseColours is how many colours phases of a story take in turn.
const phaseColours = 6

// timeline draws the phases of a story one after another.
func timeline(phases []picture.Bar) template.HTML {
	if len(phases) == 0 {
		return ""
	}
	total := phases[len(phases)-1].To
	var s strings.Builder
	s.WriteString(`<svg class="phases" viewBox="0 0 1000 22" preserveAspectRatio="none" aria-hidden="true">`)
	for i, p := range phases {
		from, to := 1000*p.From/total, 1000*p.To/total
		fmt.Fprintf(&s, `<rect class="p%d" x="%s" y="1" width="%s" height="20"/>`, i%phaseColours, px(from), px(max(1, to-from)))
	}
	s.WriteString("</svg>")
	return template.HTML(s.String())
}
