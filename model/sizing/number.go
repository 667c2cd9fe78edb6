package sizing

import (
	"encoding/json"
	"math"
)

// Number is a figure that JSON can hold: null when it is not finite.
type Number float64

// MarshalJSON writes the number.
func (n Number) MarshalJSON() ([]byte, error) {
	if f := float64(n); math.IsInf(f, 0) || math.IsNaN(f) {
		return []byte("null"), nil
	}
	return json.Marshal(float64(n))
}
