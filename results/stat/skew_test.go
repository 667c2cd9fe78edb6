package stat

import (
	"math"
	"testing"
)

// By hand: nineteen figures of 0 and one of 1 have mean 0.05, second moment 0.0475
// and third 0.05 x 0.95 x 0.9 = 0.04275, so skewness 0.04275/0.0475^1.5 = 4.1295 and
// 25 x 17.05 = 426 replications. Figures that lean the other way, or little, do
// not warn: 0 to 9 has skewness 0.
func TestWithSkew(t *testing.T) {
	lean := make([]float64, 20)
	lean[7] = 1
	e := Mean(lean, 0.95).WithSkew(lean)
	if n := len(e.Warnings); n != 1 || e.Warnings[0].Code != Lopsided {
		t.Fatalf("%v", e.Warnings)
	}
	want := "a few replications lie far above the others, so the truth lies above the interval more often than it should; about 427 replications would cure it"
	if got := e.Warnings[0].Text; got != want {
		t.Errorf("got %s", got)
	}
	other := make([]float64, 20)
	even := make([]float64, 20)
	for i := range other {
		other[i], even[i] = 1-lean[i], float64(i%10)
	}
	for _, v := range [][]float64{other, even, {1, 1, 1, 1}, {0, 1}, {}} {
		if w := (Estimate{}).WithSkew(v).Warnings; len(w) != 0 {
			t.Errorf("%v: %v", v, w)
		}
	}
	many := make([]float64, 0, 20*22)
	for range 22 {
		many = append(many, lean...)
	}
	if w := (Estimate{}).WithSkew(many).Warnings; len(w) != 0 || math.Pow(4.1295, 2)*25 > 440 {
		t.Errorf("%d replications: %v", len(many), w)
	}
}
