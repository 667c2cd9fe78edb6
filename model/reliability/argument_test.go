package reliability

import (
	"strings"
	"testing"
)

// A mistake of the caller panics with the name of the package.
func TestArguments(t *testing.T) {
	for _, c := range []struct {
		name string
		call func()
	}{
		{"FITFromMTBF", func() { FITFromMTBF(0) }},
		{"Population", func() { FleetGap(Population{Count: -1, MTBF: 1}) }},
		{"BrokenNow", func() { BrokenNow(Population{Count: 4, MTBF: -1, MTTR: 2}) }},
		{"Group", func() { Group{Units: 2, Need: 3, MTBF: 1, MTTR: 1}.Figures() }},
		{"Group without", func() { Group{Units: 3, Need: 2, MTBF: 1}.Figures() }},
		{"RepairQueue", func() { RepairQueue{Units: 1, MTBF: 1, Repair: 1}.Figures() }},
		{"Reliability", func() { Reliability(3, 0, 0.5) }},
		{"BinomialTail", func() { BinomialTail(1, 3, 1.5) }},
		{"Spares", func() { Spares(10, 1, Population{Count: 1, MTBF: 1}) }},
		{"WeibullRenewal", func() { WeibullRenewal(0, 1) }},
		{"MTBFBoundsFailure", func() { MTBFBoundsFailure(10, 0, 0.9) }},
		{"RunMean", func() { RunMean(-0.1, 3) }},
		{"LossChain", func() { LossChain{0, 0, 0, 1}.RunMean(3) }},
		{"BFD", func() { BFDFalseDownMean(0.1, 256, 1) }},
		{"AlarmThreshold", func() { AlarmThreshold(10, 0.1, 0, 1) }},
		{"Backoff", func() { _, _ = Backoff{-1, 0, 0, 0, 1}.UnderPoisson(1) }},
		{"UnderPeriodic", func() { _, _ = section6.UnderPeriodic(0) }},
		{"Clos", func() { Clos{2, 2, 2, 0, 1}.Counts() }},
		{"SegmentRouting", func() { SegmentRouting(128, false) }},
	} {
		func() {
			defer func() {
				if what, ok := recover().(string); !ok || !strings.HasPrefix(what, "reliability: ") {
					t.Errorf("%s: recovered %v", c.name, what)
				}
			}()
			c.call()
		}()
	}
}
