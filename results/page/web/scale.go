package web

import (
	"fmt"
	"strings"

	"halflight/results/picture"
)

// scale puts values of an axis on a stretch of the drawing.
type scale struct {
	axis     picture.Axis
	from, to float64 // of the drawing
}

func (s scale) at(v float64) float64 { return s.from + s.axis.Share(v)*(s.to-s.from) }

// px writes a place of the drawing.
func px(v float64) string {
	text := fmt.Sprintf("%.1f", v)
	return strings.TrimSuffix(text, ".0")
}
