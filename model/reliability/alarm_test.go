package reliability

import (
	"fmt"
	"math"
	"testing"
)

// Thresholds as whole numbers, false alarms and power of the binomial tail: testdata/alarm.txt (SciPy, mpmath); the level of one of m
// independent tests is 1 - (1 - alpha)^(1/m) (Sidak, from memory).
func TestAlarmTable(t *testing.T) {
	losses := []float64{1e-4, 3e-4, 1e-3, 3e-3, 1e-2, 5e-2}
	for _, row := range table(t, "alarm.txt", 18) {
		v := numbers(t, row)
		n, p0, alpha, m, c := int(v[0]), v[1], v[2], int(v[3]), int(v[4])
		what := fmt.Sprintf("n %d p0 %g alpha %g m %d ", n, p0, alpha, m)
		if got := AlarmThreshold(n, p0, alpha, m); got != c {
			t.Errorf("%s: threshold %d, want %d", what, got, c)
		}
		printed(t, what+"false alarms", FalseAlarms(n, c, p0, m), v[5], 7, 1e-9)
		printed(t, what+"one less", FalseAlarms(n, c-1, p0, m), v[6], 7, 1e-9)
		for i, p := range losses {
			printed(t, fmt.Sprintf("%spower at %g", what, p), AlarmPower(n, c, p), v[7+i], 10, 1e-9)
		}
	}
	printed(t, "tail", BinomialTail(5, 10000, 1e-5), 7.6604522576666e-8, 14, 1e-11)
	printed(t, "test level", TestLevel(0.01, 94208), 1.06682397646e-7, 12, 1e-9)
}

// Threshold 3 of 1,000 probes: windows to the first alarm, the mean 1/power of a geometric law, power by SciPy as in
// testdata/alarm.txt; and the boundary between 47,104 and 94,208 tests.
func TestAlarmWindows(t *testing.T) {
	for _, c := range []struct{ p, power, windows float64 }{
		{1e-3, 0.08020934284, 12.46737555}, {3e-3, 0.5771465148, 1.732662286}, {1e-2, 0.997320568, 1.002686631},
		{2e-2, 0.9999996138, 1.000000386}, {5e-2, 1, 1},
	} {
		printed(t, "power", AlarmPower(1000, 3, c.p), c.power, 10, 1e-9)
		printed(t, "windows", AlarmWindows(1000, 3, c.p), c.windows, 10, 1e-9)
	}
	// The smallest number of tests that needs 4: 0.01 / P(X >= 3) at n = 1000, p0 = 1e-5.
	edge := int(math.Floor(0.01 / BinomialTail(3, 1000, 1e-5)))
	if a, b := AlarmThreshold(1000, 1e-5, 0.01, edge), AlarmThreshold(1000, 1e-5, 0.01, edge+1); a != 3 || b != 4 {
		t.Errorf("around %d tests: thresholds %d and %d, want 3 and 4", edge, a, b)
	}
	if c := AlarmThreshold(10, 1, 0.5, 1); c != 11 {
		t.Errorf("a path that loses everything needs a threshold it cannot reach, got %d", c)
	}
}

// Closed form: the least n with (1 - p)^n at most so much.
func TestProbesToSee(t *testing.T) {
	for _, c := range []struct {
		p, miss float64
		want    int
	}{{0.01, 0.05, 299}, {0.001, 0.05, 2995}, {0.01, 0.001, 688}} {
		if got := ProbesToSee(c.p, c.miss); got != c.want {
			t.Errorf("loss %g, miss %g: %d probes, want %d", c.p, c.miss, got, c.want)
		}
	}
}
