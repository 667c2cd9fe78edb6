package web

import (
	"fmt"
	"math"
	"strings"

	"halflight/results/picture"
)

// scale puts values of an axis on a stretch of the drawing.
type scale struct {
	axis     picture.Axis
	from, to float64 // of the drawing
}

func (s scale) at(v float64) float64 {
	low, high := s.axis.Low, s.axis.High
	if s.axis.Log {
		v, low, high = math.Log10(max(v, s.axis.Low)), math.Log10(low), math.Log10(high)
	}
	if high == low {
		return s.from
	}
	share := min(1, max(0, (v-low)/(high-low)))
	return s.from + share*(s.to-s.from)
}

// px writes a place of the drawing.
func px(v float64) string {
	text := fmt.Sprintf("%.1f", v)
	return strings.TrimSuffix(text, ".0")
}
