// Package wording says what is wrong with a word or a value that a user typed: in quotes, short enough for a line, and with the
// nearest right spelling.
//
// It knows words, not what they mean. It is tested by edits counted by hand and through every message of scenarios.
package wording

import (
	"unicode"
)

// Fault is what is wrong with a value: a text that follows the value in a sentence, and a hint, which may be empty.
type Fault struct{ Text, Hint string }

// Wrong returns a fault; hint may be empty.
func Wrong(text, hint string) *Fault { return &Fault{Text: text, Hint: hint} }

// Error makes a fault an error.
func (f *Fault) Error() string {
	if f.Hint == "" {
		return f.Text
	}
	return f.Text + " (" + f.Hint + ")"
}

// Clip shortens a text typed by a user to what a message can bear: at most 48 characters that print, and dots.
func Clip(s string) string {
	const most = 48
	runes := []rune(s[:min(len(s), 4*most+4)])
	for i, r := range runes {
		if !unicode.IsPrint(r) || r == unicode.ReplacementChar {
			runes[i] = '?'
		}
	}
	if len(runes) > most {
		return string(runes[:most]) + "..."
	}
	return string(runes)
}

// Quote is Clip in quotes.
func Quote(s string) string { return `"` + Clip(s) + `"` }
