package page

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"halflight/results"
)

// noInterval is the code of a note that says why a figure has no interval.
const noInterval = "no-interval"

// note is one kind of doubt and the figures that it goes with.
type note struct {
	code  string
	name  string   // of the first figure
	text  string   // of the first figure
	texts []string // distinct
	count int
}

// notes collects doubts in the order of the figures that carry them.
type notes struct{ list []*note }

// of returns the numbers of the notes that go with a measure, from 1.
func (n *notes) of(m *results.Measure) []int {
	var numbers []int
	if _, ok := extreme(m.Estimate.Reason); m.Estimate.Reason != "" && !ok {
		numbers = append(numbers, n.number(noInterval, m.Name, m.Estimate.Reason))
	}
	for _, w := range m.Estimate.Warnings {
		numbers = append(numbers, n.number(string(w.Code), m.Name, w.Text))
	}
	slices.Sort(numbers)
	return numbers
}

func (n *notes) number(code, name, text string) int {
	for i, old := range n.list {
		if old.code == code {
			old.count++
			if !slices.Contains(old.texts, text) {
				old.texts = append(old.texts, text)
			}
			return i + 1
		}
	}
	n.list = append(n.list, &note{code, name, text, []string{text}, 1})
	return len(n.list)
}

func (n *notes) cell(m *results.Measure) string {
	var words []string
	for _, i := range n.of(m) {
		words = append(words, strconv.Itoa(i))
	}
	return strings.Join(words, " ")
}

// lines words the notes. Where figures share a kind of doubt but not its words,
// those of the first stand for all.
func (n *notes) lines() []string {
	out := make([]string, len(n.list))
	for i, one := range n.list {
		out[i] = one.code + ": " + one.text + "."
		if len(one.texts) > 1 {
			out[i] = fmt.Sprintf("%s (%d figures), for instance %s: %s.", one.code, one.count, one.name, one.text)
		}
	}
	return out
}
