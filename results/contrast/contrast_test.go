package contrast

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"halflight/results"
	"halflight/results/stat"
	"halflight/sim/record"
)

const day = int64(86400e9)

// sample is a set of so many replications whose SPF runs and quiet shares follow
// given functions of the number.
func sample(seed uint64, numbers []uint32, runs func(n uint32) int64, converged func(n uint32, k int) int64) *results.Set {
	s := &results.Set{
		Study: results.Study{Scenario: "hall", Digest: "d", Seed: seed, Asked: 40, Program: "p", WarmUp: day, Horizon: 30 * day},
		Header: record.Header{Modes: []record.Mode{{Name: "cut", Kind: "hard"}}, Phases: []string{"detection", "stranded"},
			States: []string{"QUIET", "LONG_WAIT"}, Routers: 10, Leaves: 4, Links: 20},
	}
	s.Part = s.Study.Whole()
	for _, n := range numbers {
		router := float64(300 * day)
		r := record.Replication{Number: n, From: day, To: 31 * day, LostSeconds: [][]float64{{1e3, 0}}, Onsets: []int64{8}, Present: []float64{1}, Unseen: []float64{0},
			RouterTime: router, StateTime: []float64{router, 0}, Waits: []record.Wait{{From: 50e6, To: 50e6, Total: router}},
			WaitMean: 50e6, LeafWaitMean: 50e6, RestWait: 50e6, SPFRuns: runs(n)}
		r.LeafWaits = r.Waits
		for k := range 8 {
			r.Faults = append(r.Faults, record.Fault{Index: int32(k), On: "leaf-0~spine-0", Onset: day + int64(k), End: 2 * day,
				FullConvergence: converged(n, k), RepairConvergence: record.None, SPFWait: 50e6, RouteLoss: record.None,
				Sighted: record.None, Mitigated: record.None, LostSeconds: 1, Phases: []float64{1, 0}})
		}
		s.Replications = append(s.Replications, r)
	}
	return s
}

func upTo(n uint32) (list []uint32) {
	for i := range n {
		list = append(list, i)
	}
	return list
}

// noise is a fixed, uneven figure of a number.
func noise(n uint32, salt uint64) float64 {
	x := (uint64(n)+1)*0x9e3779b97f4a7c15 ^ salt*0xbf58476d1ce4e5b9
	x ^= x >> 29
	x *= 0x94d049bb133111eb
	return float64(x>>40) / float64(1<<24)
}

func row(t *testing.T, c *Contrast, name string) *Row {
	t.Helper()
	for i := range c.Rows {
		if c.Rows[i].Name == name {
			return &c.Rows[i]
		}
	}
	t.Fatalf("no row %s", name)
	return nil
}

// Two sides whose figures are known: the rows hold what stat says of the figures.
func TestPairs(t *testing.T) {
	first := func(n uint32) int64 { return 1000 + int64(400*noise(n, 1)) }
	second := func(n uint32) int64 { return first(n) + 30 + int64(8*noise(n, 2)) }
	times := func(add int64) func(n uint32, k int) int64 {
		return func(n uint32, k int) int64 { return int64(1e8*noise(n*8+uint32(k), 3)) + 5e7 + add }
	}
	a, b := sample(1, upTo(20), first, times(0)), sample(1, upTo(20), second, times(7e6))
	c, err := Of([]Side{{"one", a}, {"two", b}}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	if !c.Common || c.LeftOut != 0 || c.Fabrics || !c.Measured {
		t.Errorf("%+v", c)
	}
	var x, y []float64
	for i := range a.Replications {
		hours := a.Replications[i].RouterTime / 3600e9
		x, y = append(x, float64(a.Replications[i].SPFRuns)/hours), append(y, float64(b.Replications[i].SPFRuns)/hours)
	}
	r := row(t, c, "spf_runs")
	want := stat.Paired(y, x, 0.95)
	if d := r.Differences[0]; d.Difference.Low != want.Difference.Low || d.Reduction != want.Reduction || !d.Sure || !d.Paired {
		t.Errorf("%+v, want %+v", d, want)
	}
	d := r.Differences[0]
	if low, high, _ := want.Family(c.Members); d.FamilyLow != low || d.FamilyHigh != high || !(low < d.Difference.Low && high > d.Difference.High) {
		t.Errorf("for %d at once from %v to %v, want %v to %v", c.Members, d.FamilyLow, d.FamilyHigh, low, high)
	}
	if !(want.Correlation > 0.9 && want.Reduction > 100) {
		t.Errorf("the sets are badly made: %+v", want)
	}
	// Every convergence time is 7 ms longer.
	m := row(t, c, "full_convergence.median").Differences[0]
	if math.Abs(m.Difference.Value-0.007) > 1e-12 || !m.Sure || !m.Paired {
		t.Errorf("%+v", m)
	}
	// What is the same on both sides is no member of the family.
	if d := row(t, c, "faults.cut").Differences[0]; d.Sure || d.Difference.Available() {
		t.Errorf("%+v", d)
	}
	n := 0
	for i := range c.Rows {
		if c.Rows[i].Differences[0].Difference.Available() {
			n++
		}
	}
	if n != c.Members || n != len(c.Sure(1)) {
		t.Errorf("%d members, %d beyond doubt, %d with an interval", c.Members, len(c.Sure(1)), n)
	}
	if s := strings.Join(c.Sentences(), " "); !strings.Contains(s, "two against one: beyond doubt median convergence of cuts goes from") {
		t.Errorf("%s", s)
	}
}

// Fewer than five replications of either side, paired or not, call nothing beyond
// doubt, however far apart they are; five do.
func TestFewPairs(t *testing.T) {
	quick := func(n uint32) int64 { return 1000 + int64(n%2) }
	slow := func(n uint32) int64 { return 5000 + int64(n%2) }
	same := func(n uint32, k int) int64 { return 5e7 + int64(n+1)*1e6 }
	of := func(seed uint64, first, other uint32) *Contrast {
		c, err := Of([]Side{{"one", sample(1, upTo(first), quick, same)}, {"two", sample(seed, upTo(other), slow, same)}}, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	for _, c := range []struct {
		seed         uint64
		first, other uint32
		sure         bool
	}{{1, 2, 2, false}, {1, 4, 4, false}, {2, 4, 20, false}, {2, 20, 4, false}, {1, 20, 4, false}, {2, 5, 5, true}} {
		got := of(c.seed, c.first, c.other)
		d := row(t, got, "spf_runs").Differences[0]
		if d.Difference.Available() && !(d.Difference.Low > 0) || d.Sure != c.sure {
			t.Errorf("%+v: %+v", c, d)
		}
		text := strings.Join(got.Sentences(), " ")
		if said := strings.Contains(text, "is called beyond doubt: that takes at least 5 replications, and there are "); said == c.sure {
			t.Errorf("%+v: %s", c, text)
		}
		var b bytes.Buffer
		if err := got.WriteJSON(&b); err != nil || strings.Contains(b.String(), `"beyond_doubt": true`) != c.sure {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

// A step that three digits do not show is told by its interval, not as a step from a
// value to itself.
func TestSmallSteps(t *testing.T) {
	value := func(v float64) Value { var x Value; x.Value = v; return x }
	for _, c := range []struct {
		from, to, low, high float64
		want                string
	}{
		{0.050112, 0.0501113, -983e-9, -352e-9, "goes from 50.1 ms down by 352 ns to 983 ns"},
		{0.0501113, 0.050112, 352e-9, 983e-9, "goes from 50.1 ms up by 352 ns to 983 ns"},
		{0.0501, 0.0502, 1e-5, 2e-4, "goes from 50.1 ms to 50.2 ms"},
		{0.05, 0.1, 0.04, 0.06, "goes from 50.0 ms to 100 ms (by a factor of 2.00 more)"},
	} {
		if got := change(value(c.from), value(c.to), stat.Estimate{Low: c.low, High: c.high}, "s"); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// A set against itself, and against replications of another seed.
func TestEquals(t *testing.T) {
	runs := func(salt uint64) func(n uint32) int64 {
		return func(n uint32) int64 { return 1000 + int64(400*noise(n, salt)) }
	}
	times := func(salt uint64) func(n uint32, k int) int64 {
		return func(n uint32, k int) int64 { return int64(1e8 * noise(n*8+uint32(k), salt)) }
	}
	a := sample(1, upTo(20), runs(1), times(3))
	c, err := Of([]Side{{"one", a}, {"same", a}, {"other", sample(2, upTo(30), runs(5), times(6))}}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Sure(1)) != 0 || len(c.Sure(2)) != 0 {
		t.Errorf("beyond doubt: %v and %v", c.Sure(1), c.Sure(2))
	}
	if d := row(t, c, "spf_runs").Differences; c.Common || d[1].Paired || len(c.Sides[2].Set.Replications) != 30 {
		t.Errorf("another seed was paired: %+v", d)
	}
	if s := strings.Join(c.Sentences(), " "); !strings.Contains(s, "the seeds differ, so nothing was paired") {
		t.Errorf("%s", s)
	}
}

// Only what all sides hold is paired.
func TestHoles(t *testing.T) {
	runs := func(n uint32) int64 { return int64(1000 + n) }
	times := func(n uint32, k int) int64 { return int64(n+1) * 1e6 }
	a, b := sample(1, []uint32{0, 2, 3, 5}, runs, times), sample(1, []uint32{2, 3, 4, 5, 6}, runs, times)
	c, err := Of([]Side{{"one", a}, {"two", b}}, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	if c.LeftOut != 3 || len(c.Sides[0].Set.Replications) != 3 || c.Sides[1].Set.Replications[2].Number != 5 {
		t.Errorf("%d left out, %v", c.LeftOut, c.Sides[1].Set.Replications)
	}
	if len(a.Replications) != 4 {
		t.Error("the set that was given has changed")
	}
	if _, err := Of([]Side{{"one", sample(1, []uint32{0}, runs, times)}, {"two", b}}, 0.9); err == nil {
		t.Error("nothing in common, and no error")
	}
}

// Measures that one side lacks have a row, and no difference.
func TestOtherNames(t *testing.T) {
	runs := func(n uint32) int64 { return int64(1000 + n) }
	times := func(n uint32, k int) int64 { return int64(n+1) * 1e6 }
	a, b := sample(1, upTo(20), runs, times), sample(1, upTo(20), runs, times)
	b.Header.Modes = []record.Mode{{Name: "slip", Kind: "restart"}}
	b.Header.Routers = 12
	c, err := Of([]Side{{"one", a}, {"two", b}}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	if d := row(t, c, "faults.slip"); d.Values[0].Known || !d.Values[1].Known || d.Differences[0].Difference.Known || !c.Fabrics {
		t.Errorf("%+v", d)
	}
	var text bytes.Buffer
	if err := c.WriteJSON(&text); err != nil {
		t.Fatal(err)
	}
	var back jsonContrast
	if err := json.Unmarshal(text.Bytes(), &back); err != nil || len(back.Measures) != len(c.Rows) || back.Family.Members != c.Members {
		t.Errorf("%v: %d measures, %d members", err, len(back.Measures), back.Family.Members)
	}
}

// No interval of a share says more than a share can differ, and a comparison that was
// stopped says so in its JSON.
func TestBoundsAndPartial(t *testing.T) {
	times := func(n uint32, k int) int64 { return int64(n+1) * 1e6 }
	runs := func(n uint32) int64 { return 1000 }
	quiet := func(salt uint64) *results.Set {
		s := sample(1, upTo(2), runs, times)
		for i := range s.Replications {
			r := &s.Replications[i]
			share := noise(r.Number, salt)
			r.StateTime = []float64{r.RouterTime * share, r.RouterTime * (1 - share)}
		}
		return s
	}
	c, err := Of([]Side{{"one", quiet(1)}, {"two", quiet(2)}}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	d := row(t, c, "backoff.quiet").Differences[0]
	if d.Difference.Sides != stat.TwoSided || d.Difference.Low != -1 || d.Difference.High != 1 || d.FamilyLow != -1 || d.FamilyHigh != 1 {
		t.Errorf("%+v", d)
	}
	for _, why := range []string{"", "interrupted"} {
		c.Partial = why
		var text bytes.Buffer
		if err := c.WriteJSON(&text); err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(text.String(), `"partial": "interrupted"`); got != (why != "") {
			t.Errorf("%q: %v", why, got)
		}
	}
}
