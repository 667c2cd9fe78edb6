package tuned

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"halflight/results/stat"
	"halflight/results/tuning"
)

// The ratio is the geometric mean over pairs that have a time on both sides; means of
// times are over replications with cuts alone; the busiest is the largest.
func TestMeansAndRatio(t *testing.T) {
	present := []tuning.Figures{{Loss: 1, P99: 2, Busy: 0.1, Cuts: 3}, {Loss: 3, P99: 1, Busy: 0.4, Cuts: 1}, {Loss: 5}}
	best := []tuning.Figures{{Loss: 1, P99: 1, Busy: 0.1, Cuts: 3}, {Loss: 3, P99: 0.125, Busy: 0.2, Cuts: 1}, {Loss: 2}}
	if m := MeansOf(present); m != (Means{Loss: 3, P99: 1.5, Busy: 0.4, Replications: 3}) {
		t.Errorf("%+v", m)
	}
	r := RatioOf(best, present) // of 1/2 and 1/8
	if r == nil || math.Abs(r.Value-0.25) > 1e-12 || r.Low == nil || !(*r.Low < r.Value && r.Value < *r.High) {
		t.Errorf("%+v", r)
	}
	if m := MeansOf(nil); m != (Means{}) {
		t.Errorf("of nothing: %+v", m)
	}
}

// A gain is told of when all of its interval lies below 0, and of a setting that was
// found.
func TestBeyond(t *testing.T) {
	// Costs whose interval lies below 0, across it, and above.
	below, across, above := []float64{-0.5, -0.6, -0.7}, []float64{-0.5, -0.6, 0.4}, []float64{0.5, 0.6, 0.7}
	for _, c := range []struct {
		costs  []float64
		found  bool
		beyond bool
		say    string
	}{
		{below, true, true, "The best setting costs 0.6 less than the present one on replications the search has not seen"},
		{below, false, false, "No setting did better"},
		{across, true, false, "gains nothing beyond chance"},
		{above, true, false, "gains nothing beyond chance"},
		{below[:1], true, false, "too few unseen replications"},
	} {
		a := &Answer{Found: c.found, Gain: stat.Paired(c.costs, make([]float64, len(c.costs)), 0.95)}
		if words := strings.Join(a.Words(), " "); a.Beyond() != c.beyond || !strings.Contains(words, c.say) {
			t.Errorf("%v, found %v: beyond chance %v: %s", c.costs, c.found, a.Beyond(), words)
		}
		var b bytes.Buffer
		if err := a.WriteJSON(&b); err != nil || !json.Valid(b.Bytes()) {
			t.Errorf("%v: %v", c.costs, err)
		}
	}
}

// Where nothing was cut there is no ratio, and the answer can be kept.
func TestNoCuts(t *testing.T) {
	none := []tuning.Figures{{Loss: 1}, {Loss: 2}}
	a := &Answer{Conditions: []Condition{{Name: "calm", Present: MeansOf(none), Best: MeansOf(none), P99: RatioOf(none, none)}}}
	var b bytes.Buffer
	if err := a.WriteJSON(&b); err != nil || !strings.Contains(b.String(), `"p99_ratio": null`) {
		t.Errorf("%v: %s", err, b.String())
	}
}
