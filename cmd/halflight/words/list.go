package words

import (
	"fmt"
	"strings"
)

// Fit cuts a text to a width.
func Fit(text string, width int) string {
	runes := []rune(text)
	if len(runes) <= width {
		return text
	}
	return string(runes[:width-3]) + "..."
}

// Roll names as many of a list as fit and counts the rest: "a, b and 7 more".
func Roll(names []string, width int) string {
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
		more := fmt.Sprintf(" and %s more", Grouped(int64(rest)))
		for len(text)+len(more) > width && strings.Contains(text, ", ") {
			text = text[:strings.LastIndex(text, ", ")]
			rest++
			more = fmt.Sprintf(" and %s more", Grouped(int64(rest)))
		}
		return text + more
	}
	return text
}
