package results

import (
	"math"
	"slices"
	"testing"

	"halflight/results/stat"
	"halflight/sim/record"
)

// By hand: links between routers at 0.6 in the busiest hour and three quarters left
// are at 0.8; access links at 0.7 are less, at 0.9 more, and at 1.4 where servers
// lost one of two.
func TestFullestLinkByHand(t *testing.T) {
	for _, c := range []struct {
		access, lost float64
		attachments  int
		want         float64
		over         bool
	}{
		{0.7, 0, 0, 0.8, false}, {0.9, 0, 0, 0.9, false}, {1.25, 0, 0, 1.25, true}, {0.7, 0.01, 1, 0.8, false},
		{0.7, 0, 2, 0.8, false}, {0.7, 0.01, 2, 1.4, true}, {0, 0, 0, 0.8, false},
	} {
		s := testSet(2)
		s.Header.BusiestUse, s.Header.BusiestAccess, s.Header.Congestion = 0.6, c.access, false
		if c.attachments > 0 {
			s.Header.Servers = &record.ServersOf{Groups: 4, Attachments: c.attachments, Access: 4 * c.attachments}
		}
		for i := range s.Replications {
			s.Replications[i].CapacityWorst = 0.75
			if c.attachments > 0 {
				s.Replications[i].Servers = &record.Servers{Lost: c.lost * float64(i)}
			}
		}
		got, found := Summarise(s, Options{}).Find("load.worst")
		if !found || math.Abs(got.Estimate.Value-c.want) > 1e-12 {
			t.Errorf("%+v: %+v", c, got)
			continue
		}
		if over := slices.ContainsFunc(got.Estimate.Warnings, func(w stat.Warning) bool { return w.Code == Overfull }); over != c.over {
			t.Errorf("%+v: warnings %v", c, got.Estimate.Warnings)
		}
	}
}
