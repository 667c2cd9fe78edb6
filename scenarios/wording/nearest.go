package wording

import (
	"cmp"
	"slices"
	"strings"
)

// later are words of the language that nothing stands behind yet. They are unknown, but not misspelt.
var later = []string{"locality", "stall"}

// Spelling returns a hint for a word that is none of those known: the nearest, or all of them.
func Spelling(word string, known []string) string {
	if slices.Contains(later, word) {
		return "not simulated by this version"
	}
	if near := cmp.Or(Nearest(word, known), begun(word, known)); near != "" {
		return "did you mean " + near + "?"
	}
	if len(known) == 0 {
		return ""
	}
	sorted := slices.Compact(slices.Sorted(slices.Values(known))) // a key may have been asked for twice
	if len(sorted) > 16 {
		return ""
	}
	return "known here: " + strings.Join(sorted, ", ")
}

// Nearest returns the known word that is fewest edits away from word, "" when none is near: at most two edits in five letters.
// Case and the choice of hyphen, blank or underscore cost nothing. Of equally near ones the first wins.
func Nearest(word string, known []string) string {
	if len(word) > 40 {
		return ""
	}
	best, least := "", 1000
	for _, k := range known {
		if d := edits(plain(word), plain(k)); d < least && d <= max(len(word), len(k))*2/5 {
			best, least = k, d
		}
	}
	return best
}

// begun returns the one known word that begins with the same four letters, "" when there is none or more.
func begun(word string, known []string) string {
	found := ""
	for _, k := range known {
		if len(word) >= 4 && len(k) >= 4 && plain(word[:4]) == plain(k[:4]) {
			if found != "" {
				return ""
			}
			found = k
		}
	}
	return found
}

// plain removes what costs nothing.
func plain(s string) string {
	return strings.NewReplacer("-", "_", " ", "_").Replace(strings.ToLower(s))
}

// edits counts the insertions, deletions, substitutions and swaps of neighbours that turn a into b (optimal string alignment).
func edits(a, b string) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
