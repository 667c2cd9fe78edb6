package phrase

import (
	"testing"

	"halflight/results/stat"
	"halflight/results/unit"
)

func TestWordsOfFigures(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Words(0.1, unit.Seconds), "100 ms"}, {Words(120, unit.SPerMonth), "2 min per month"}, {Words(0.5, unit.Share), "50 %"}, {Words(20, unit.One), "20"},
		{Words(1e-5, unit.One), "1.00e-5"}, {Range(0.1, 0.25, unit.Seconds), "100 to 250 ms"}, {Range(0.5, 2, unit.Seconds), "500 ms to 2 s"},
		{Range(0, 2, unit.SPerMonth), "0 to 2 s"}, {Interval(stat.Estimate{Sides: stat.UpperBound, High: 3}, unit.PerMonth), "at most 3"},
		{With(stat.Estimate{Reason: "no event"}, unit.Seconds), "not known"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}
