package studies

import (
	"testing"

	"halflight/model/setting"
)

// A third of a given time is played and shown as people write times; what is short,
// or no time, stays as it is.
func TestThirdOfATime(t *testing.T) {
	for given, want := range map[string]string{"5d": "40h", "1d": "8h", "20y": "58400h", "7h": "140min", "2s": "667ms", "10ms": "3330us", "90": "30"} {
		s := setting.Setting{Value: given, Range: assumed}
		ends, ok := s.Span()
		if !ok {
			t.Fatalf("%s has no range %s", given, assumed)
		}
		if got := round(ends.At(0)); got != want {
			t.Errorf("a third of %s is %s (%s), want %s", given, got, ends.At(0), want)
		}
	}
	for _, same := range []string{"0.333333", "1e-05", "{lognormal: {median: 143999856ms, sigma: 0.9}}", "0.0001234567/d", "343750h", "0s"} {
		if got := round(same); got != same {
			t.Errorf("%s became %s", same, got)
		}
	}
}
