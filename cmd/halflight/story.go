package main

import (
	"fmt"
	"sort"
	"strings"
)

// storyWidth is the widest line of a story, in characters.
const storyWidth = 100

// told is one thing that happened, at a time in ns. Lines of one instant are
// told by rank. share is the lost share of all demand from then on, below 0 when
// it did not change at this line.
type told struct {
	at    int64
	rank  int
	text  string
	share float64
}

// story prints lines in order of time: when, what part of all demand is lost
// from then on, what happened. Times count from zero.
func story(b *strings.Builder, zero int64, lines []told) {
	sort.SliceStable(lines, func(i, j int) bool {
		if lines[i].at != lines[j].at {
			return lines[i].at < lines[j].at
		}
		return lines[i].rank < lines[j].rank
	})
	fine, width := false, len("time")
	for _, l := range lines {
		fine = fine || l.at%1e6 != 0
	}
	for _, l := range lines {
		width = max(width, len(clock(l.at-zero, fine)))
	}
	fmt.Fprintf(b, "  %*s  %9s  %s\n", width, "time", "lost", "what happens")
	for _, l := range lines {
		lost := ""
		if l.share >= 0 {
			lost = share(l.share)
		}
		fmt.Fprintf(b, "  %*s  %9s  %s\n", width, clock(l.at-zero, fine), lost, fit(l.text, storyWidth-width-15))
	}
}

// fit cuts a text to a width.
func fit(text string, width int) string {
	runes := []rune(text)
	if len(runes) <= width {
		return text
	}
	return string(runes[:width-3]) + "..."
}

// roll names as many of a list as fit and counts the rest: "a, b and 7 more".
func roll(names []string, width int) string {
	if len(names) == 1 {
		return names[0]
	}
	text := names[0]
	for i := 1; i < len(names); i++ {
		rest := len(names) - i
		joint := ", "
		if rest == 1 {
			joint = " and "
		}
		if longer := text + joint + names[i]; len(longer) <= width {
			text = longer
			continue
		}
		more := fmt.Sprintf(" and %s more", grouped(int64(rest)))
		for len(text)+len(more) > width && strings.Contains(text, ", ") {
			text = text[:strings.LastIndex(text, ", ")]
			rest++
			more = fmt.Sprintf(" and %s more", grouped(int64(rest)))
		}
		return text + more
	}
	return text
}
