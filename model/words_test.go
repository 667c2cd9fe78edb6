package model

import (
	"slices"
	"testing"

	"halflight/model/operation"
	"halflight/model/traffic"
	"halflight/model/transport"
	"halflight/scenarios"
	"halflight/scenarios/operator"
	typed "halflight/scenarios/transport"
)

// Where a scenario keeps the place of a word in a list, that is the constant here.
func TestWordsAreInOneOrder(t *testing.T) {
	for _, c := range []struct {
		what  string
		words []string
		word  func(i int) string
	}{
		{"transport.by", typed.Words, func(i int) string { return transport.By(i).String() }},
		{"traffic.external.at", scenarios.ExternalPlaces, func(i int) string { return traffic.Place(i).String() }},
		{"operations.changes.mistakes.what", operator.Mistakes[:], func(i int) string { return operation.Mistake(i).String() }},
	} {
		var list []string
		for i := range c.words {
			list = append(list, c.word(i))
		}
		if !slices.Equal(list, c.words) || len(list) == 0 {
			t.Errorf("%s: %q as typed, %q as resolved", c.what, c.words, list)
		}
	}
}
