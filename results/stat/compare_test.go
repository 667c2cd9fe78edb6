package stat

import (
	"math"
	"slices"
	"testing"
)

// TestPairingDropped: with a correlation that is not positive, the interval is
// Welch's to the bit, and says so.
func TestPairingDropped(t *testing.T) {
	x := sets["X"]
	against := make([]float64, len(x))
	for i, v := range x {
		against[i] = 100 - v + float64(i%3)
	}
	c, w := Paired(x, against, 0.95), Welch(x, against, 0.95)
	if c.Paired || !c.Correlated || !(c.Correlation < -0.9) || c.Reduction != 1 {
		t.Errorf("not dropped: %+v", c)
	}
	if c.Difference.Low != w.Difference.Low || c.Difference.High != w.Difference.High || c.DF != w.DF || c.P != w.P {
		t.Errorf("%+v is not Welch's %+v", c, w)
	}
	wantCodes(t, "dropped", c.Difference, FewReplications, Unpaired)
}

func TestPairingWithOneSideFlat(t *testing.T) {
	flat := slices.Repeat([]float64{5}, 10)
	c := Paired(sets["A"], flat, 0.95)
	if c.Paired || c.Correlated || c.Correlation != 0 {
		t.Errorf("%+v", c)
	}
	// Against a constant Welch's interval is the t interval of the other side.
	want := Mean(sets["A"], 0.95)
	near(t, "low", c.Difference.Low, want.Low-5, 1e-12)
	near(t, "df", c.DF, 9, 1e-12)
}

// TestNoDifference: the same draws through the same thing prove nothing of rare
// differences.
func TestNoDifference(t *testing.T) {
	c := Paired(sets["A"], sets["A"], 0.95)
	if c.Difference.Available() || c.Difference.Value != 0 || c.P != 1 || !c.Paired || c.Correlation != 1 || !math.IsInf(c.Reduction, 1) {
		t.Errorf("%+v", c)
	}
	wantCodes(t, "no difference", c.Difference, ZeroSeen, FewReplications)
}

func TestConstantDifference(t *testing.T) {
	a := []float64{1, 2, 4, 8, 16, 32}
	b := []float64{3, 4, 6, 10, 18, 34}
	c := Paired(a, b, 0.95)
	if d := c.Difference; d.Value != -2 || d.Low != -2 || d.High != -2 || c.P != 0 {
		t.Errorf("%+v", c)
	}
	wantCodes(t, "constant", c.Difference, NoSpread, FewReplications)
}

func TestOnePair(t *testing.T) {
	c := Paired([]float64{3}, []float64{1}, 0.95)
	if c.Difference.Value != 2 || c.Difference.Available() || c.P != 1 || c.Correlated {
		t.Errorf("%+v", c)
	}
	if none := Paired(nil, nil, 0.95); none.Difference.Known {
		t.Errorf("%+v", none)
	}
}
