package reliability

import (
	"math"
	"testing"
)

func TestSeries(t *testing.T) {
	within(t, "two parts", Series(0.1, 0.2), 0.28, 1e-15)
	within(t, "small parts", Series(1e-18, 3e-18), 4e-18, 1e-14)
	if Series() != 0 || Series(0.3, 1) != 1 {
		t.Error("ends of the range")
	}
}

// Four uplinks of two 100-year optics each, 4 h of repair, three needed: the figure printed for a group of independent
// units (60 digits, no publication), here by the binomial.
func TestUplinksShort(t *testing.T) {
	u := Unavailability(438000, 4)
	printed(t, "3 of 4", UplinksShort(4, 3, u), 5.00391347583e-10, 12, 1e-9)
	printed(t, "12 of 16", UplinksShort(16, 12, u), 2.77431549109e-22, 12, 1e-9)
	printed(t, "16 of 32", UplinksShort(32, 16, u), 1.20903809045e-77, 12, 1e-9)
	each := UplinksShortEach(16, u)
	if len(each) != 16 {
		t.Fatalf("%d entries, want 16", len(each))
	}
	within(t, "all down", each[0], math.Pow(u, 16), 1e-11)
	within(t, "any down", each[15], 1-math.Pow(1-u, 16), 1e-9)
	within(t, "any of 736 leaves", AnyShort(736, each[11]), 736*each[11], 1e-12)
	// Listed: three uplinks, chance of one down 0.2.
	for i, want := range []float64{0.008, 0.104, 0.488} {
		within(t, "listed", UplinksShortEach(3, 0.2)[i], want, 1e-13)
	}
}
