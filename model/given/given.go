// Package given tells what was given in a scenario from what was left to a
// default.
//
// It knows no key. It is tested through package model, by whole scenarios.
package given

// Or returns what was given, or the default.
func Or[T any](given *T, otherwise T) T {
	if given != nil {
		return *given
	}
	return otherwise
}

// Span is Or for durations, in ns.
func Span[T ~int64](given *T, otherwise int64) int64 {
	if given != nil {
		return int64(*given)
	}
	return otherwise
}

// Number is Or for rates and speeds, in their own units.
func Number[T ~float64](given *T, otherwise float64) float64 {
	if given != nil {
		return float64(*given)
	}
	return otherwise
}
