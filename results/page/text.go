package page

import (
	"fmt"
	"io"
	"strings"

	"halflight/results"
	"halflight/results/unit"
)

// cautions close every page.
var cautions = []string{
	"A simulation is evidence, not assurance.",
	"Try timers in a lab and under change control before they carry traffic.",
	"Where optics are inspected, follow local safety practice and the laser classification of the equipment.",
	"For networks that carry emergency or clinical services, defer to the licensed practice responsible for them.",
}

// Cautions are the sentences that go with every result.
func Cautions() []string { return append([]string(nil), cautions...) }

// Text writes a summary for a terminal: what was simulated, the figures, what to
// doubt about them, cautions, and the three sentences. The error is the writer's.
func Text(to io.Writer, s *results.Summary) error {
	p := &text{most: Width}
	p.head(s)
	if s.Replications > 0 {
		p.figures(s)
	}
	p.objectives(s.Verdicts)
	if s.Varied != nil {
		p.varied(s)
	}
	return p.end(to, s.Sentences)
}

// end writes the page down, closed by the cautions and by what there is to say in
// words.
func (p *text) end(to io.Writer, words []string) error {
	p.bullets("Cautions", cautions)
	if len(words) > 0 {
		p.bullets("In words", words)
	}
	_, err := io.WriteString(to, strings.Join(p.lines, "\n")+"\n")
	return err
}

func (p *text) bullets(title string, lines []string) {
	p.heading(title)
	for _, line := range lines {
		p.say("- ", line)
	}
}

// text is a page in the making.
type text struct {
	lines []string
	most  int // characters of a line; 0 for lines that are not wrapped
}

func (p *text) say(head, words string) {
	if p.most == 0 {
		p.lines = append(p.lines, head+words)
		return
	}
	p.lines = append(p.lines, wrap(p.most, head, words)...)
}

func (p *text) blank() { p.lines = append(p.lines, "") }

func (p *text) heading(title string) {
	p.blank()
	p.lines = append(p.lines, title)
}

// head says what the figures are of.
func (p *text) head(s *results.Summary) {
	for _, line := range Head(s) {
		p.say("", line)
	}
}

// Head says what a summary is of, in sentences.
func Head(s *results.Summary) []string {
	st := &s.Study
	out := []string{
		fmt.Sprintf("%s, seed %d: %d of %d replications, each %s after a warm-up of %s.", st.Scenario, st.Seed,
			s.Replications, st.Asked, span(st.Horizon), span(st.WarmUp)),
		fmt.Sprintf("%d routers, of which %d leaves; %d links. Program %s, scenario %s.",
			s.Routers, s.Leaves, s.Links, st.Program, st.Digest),
	}
	if st.Quick {
		out = append(out, "A QUICK LOOK: few and short replications after a short warm-up. It shows what is badly wrong, and decides nothing else.")
	}
	if text := s.Ended.Text; text != "" {
		out = append(out, "Ended by "+text+".")
	}
	for _, w := range s.Doubts {
		out = append(out, "DOUBT, "+string(w.Code)+": "+w.Text+".")
	}
	if s.Part != st.Whole() {
		out = append(out, fmt.Sprintf("ONE PART of the study: replications %v out of %v.", s.Part, st.Whole()))
	}
	if s.Partial() {
		var holes []string
		for _, r := range s.Missing {
			holes = append(holes, r.String())
		}
		out = append(out, "PARTIAL RESULT: replications "+strings.Join(holes, ", ")+" are missing. Take the figures for a first look, not for the study.")
	}
	return out
}

// figures writes the table and what is to be said of it.
func (p *text) figures(s *results.Summary) {
	n := &notes{}
	body, none := table(s, n)
	p.blank()
	p.lines = append(p.lines, body...)
	p.losses(s)
	p.list("Nothing seen of", none)
	p.notes(n)
	p.rest(s)
}

func span(ns int64) string { return unit.Words(float64(ns)/1e9, unit.Seconds) }

// list names measures in running text.
func (p *text) list(title string, names []string) {
	if len(names) > 0 {
		p.blank()
		p.say("", title+": "+strings.Join(names, ", ")+".")
	}
}

func (p *text) notes(n *notes) {
	lines := n.lines()
	if len(lines) == 0 {
		return
	}
	p.heading("Notes")
	for i, line := range lines {
		p.say(fmt.Sprintf("%2d ", i+1), line)
	}
}

// rest says how many figures are not on the page.
func (p *text) rest(s *results.Summary) {
	shown := 0
	for i := range groups {
		a, b := groups[i].pick(s)
		shown += len(a) + len(b)
	}
	p.blank()
	p.say("", fmt.Sprintf("%d more figures and the full text of every note are in summary.json.", len(s.Measures)-shown))
}

// objectives writes a line each, the answer first.
func (p *text) objectives(list []results.Verdict) {
	if len(list) == 0 {
		return
	}
	p.heading("Objectives")
	for i := range list {
		v := &list[i]
		p.say(fmt.Sprintf("%-10s ", v.Answer), v.Objective+": "+v.Text+doubts(v)+".")
	}
}

func doubts(v *results.Verdict) string {
	if len(v.Doubts) == 0 {
		return ""
	}
	return " (" + strings.Join(v.Doubts, ", ") + ")"
}
