package page

import (
	"strings"
	"unicode/utf8"
)

// Width is the number of columns of a page.
const Width = 80

// wrap breaks a text into lines of at most Width columns. The first begins with
// head, the others with as many blanks. A word that fits no line is broken.
func wrap(width int, head, text string) []string {
	blank := strings.Repeat(" ", utf8.RuneCountInString(head))
	room := width - len(blank)
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		for _, piece := range pieces(word, room) {
			switch {
			case line == "":
				line = piece
			case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(piece) <= room:
				line += " " + piece
			default:
				lines = append(lines, line)
				line = piece
			}
		}
	}
	lines = append(lines, line)
	for i := range lines {
		if i == 0 {
			lines[i] = head + lines[i]
		} else {
			lines[i] = blank + lines[i]
		}
	}
	return lines
}

// pieces breaks a word that is wider than room.
func pieces(word string, room int) (out []string) {
	r := []rune(word)
	for len(r) > room {
		out = append(out, string(r[:room]))
		r = r[room:]
	}
	return append(out, string(r))
}
