// Package story tells what happened in a simulation, an event a line, and hands
// the same to other programs as JSON.
//
// It computes nothing about networks and knows no files. It is tested by the
// stories of scripts worked by hand (cmd/halflight/testdata) and by the width of
// every line.
package story

import (
	"fmt"
	"sort"
	"strings"

	"halflight/cmd/halflight/words"
)

// width is the widest line of a story, in characters.
const width = 100

// told is one thing that happened, at a time in ns. Lines of one instant are
// told by rank. share is the lost share of all demand from then on, below 0 when
// it did not change at this line. names are what the text ends with, as many as fit.
type told struct {
	at    int64
	rank  int
	text  string
	share float64
	names []string
}

// lay prints lines in order of time: when, what part of all demand is lost
// from then on, what happened. Times count from zero.
func lay(b *strings.Builder, zero int64, lines []told) {
	sort.SliceStable(lines, func(i, j int) bool {
		if lines[i].at != lines[j].at {
			return lines[i].at < lines[j].at
		}
		return lines[i].rank < lines[j].rank
	})
	fine, column := false, len("time")
	for _, l := range lines {
		fine = fine || l.at%1e6 != 0
	}
	for _, l := range lines {
		column = max(column, len(words.Clock(l.at-zero, fine)))
	}
	fmt.Fprintf(b, "  %*s  %9s  %s\n", column, "time", "lost", "what happens")
	room := width - column - 15
	for _, l := range lines {
		lost := ""
		if l.share >= 0 {
			lost = words.Share(l.share)
		}
		text := l.text
		if len(l.names) > 0 {
			text += words.Roll(l.names, room-len(text))
		}
		fmt.Fprintf(b, "  %*s  %9s  %s\n", column, words.Clock(l.at-zero, fine), lost, words.Fit(text, room))
	}
}
