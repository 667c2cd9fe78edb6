package main

import (
	"encoding/json"
	"math"
)

// number is a figure that JSON can hold: null when it is not finite.
type number float64

// MarshalJSON writes the number.
func (n number) MarshalJSON() ([]byte, error) {
	if f := float64(n); math.IsInf(f, 0) || math.IsNaN(f) {
		return []byte("null"), nil
	}
	return json.Marshal(float64(n))
}
