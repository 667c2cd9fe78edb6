package page

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"halflight/results"
	"halflight/results/stat"
	"halflight/results/unit"
)

// valueCell writes a value with its unit, "-" without one.
func valueCell(m *results.Measure) string {
	if !m.Available() {
		return "-"
	}
	return join(unit.Scaled(m.Estimate.Value, m.Unit))
}

func join(digits, shown string) string {
	if strings.HasPrefix(shown, "/") {
		return digits + shown
	}
	return strings.TrimSpace(digits + " " + shown)
}

// intervalCell writes the interval, in the unit of the value but for what happens
// in a month or an hour, which the value says.
func intervalCell(m *results.Measure) string {
	e := &m.Estimate
	switch e.Sides {
	case stat.UpperBound:
		return "at most " + join(limit(e.High, m.Unit))
	case stat.LowerBound:
		return "at least " + join(limit(e.Low, m.Unit))
	case stat.TwoSided:
		low, lowUnit := limit(e.Low, m.Unit)
		high, highUnit := limit(e.High, m.Unit)
		if e.Low == 0 || lowUnit == highUnit {
			return join(low+" to "+high, highUnit)
		}
		return join(low, lowUnit) + " to " + join(high, highUnit)
	}
	if word, ok := extreme(e.Reason); ok {
		return word
	}
	return "-"
}

// limit writes one end of an interval without the part of the unit after a slash.
func limit(v float64, of string) (digits, shown string) {
	digits, shown = unit.Scaled(v, of)
	shown, _, _ = strings.Cut(shown, "/")
	return digits, shown
}

// extreme shortens the reason why a largest or least value has no interval.
func extreme(reason string) (string, bool) {
	for _, word := range []string{"largest seen", "least seen"} {
		if strings.HasPrefix(reason, word) {
			return word, true
		}
	}
	return "", false
}

func eventsCell(m *results.Measure) string {
	if m.Events == results.NoEvents {
		return ""
	}
	return strconv.Itoa(m.Events)
}

// labels writes names one under another, blank where the words of the one above
// are repeated.
func labels(list []*results.Measure) []string {
	names := make([]string, len(list))
	for i, m := range list {
		names[i] = m.Name
	}
	return folded(names)
}

func folded(names []string) []string {
	out := make([]string, len(names))
	before := ""
	for i, name := range names {
		same := repeated(before, name)
		out[i] = strings.Repeat(" ", utf8.RuneCountInString(name[:same])) + name[same:]
		before = name
	}
	return out
}

// repeated is the length of the words at the beginning that two names share, less
// the whole of the second: at least its last word is shown.
func repeated(a, b string) int {
	x, y := strings.Split(a, "."), strings.Split(b, ".")
	length := 0
	for i := 0; i < len(x) && i < len(y)-1 && x[i] == y[i]; i++ {
		length += len(y[i])
		if i > 0 {
			length++ // the dot before it
		}
	}
	return length
}

// cut shortens a label to a width by leaving out its middle, blanks first.
func cut(label string, width int) string {
	r := []rune(label)
	for len(r) > width && len(r) > 1 && r[0] == ' ' && r[1] == ' ' {
		r = r[1:]
	}
	if len(r) <= width {
		return string(r)
	}
	head := (width - 2) / 2
	return string(r[:head]) + ".." + string(r[len(r)-(width-2-head):])
}
