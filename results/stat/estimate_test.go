package stat

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// codes lists the codes of an estimate's warnings in order.
func codes(e Estimate) []Code {
	var list []Code
	for _, w := range e.Warnings {
		list = append(list, w.Code)
	}
	return list
}

func wantCodes(t *testing.T, what string, e Estimate, want ...Code) {
	t.Helper()
	if got := codes(e); !slices.Equal(got, want) {
		t.Errorf("%s: warnings %v, want %v", what, got, want)
	}
}

// twenty returns 20 counts that begin with those given.
func twenty(first ...int) []int {
	return append(first, make([]int, 20-len(first))...)
}

func TestEventWarnings(t *testing.T) {
	even := slices.Repeat([]int{2}, 20)
	cases := []struct {
		what   string
		counts []int
		want   []Code
	}{
		{"40 events, evenly", even, nil},
		{"29 events", append(slices.Repeat([]int{1}, 18), 5, 6), []Code{FewEvents}},
		{"30 events", append(slices.Repeat([]int{1}, 18), 6, 6), nil},
		{"10 of 40 in one, a quarter and not more", append(slices.Repeat([]int{2}, 15), 10), nil},
		{"11 of 41 in one", append(slices.Repeat([]int{2}, 15), 11), []Code{OneReplication}},
		{"3 events in one", twenty(3), []Code{FewEvents, OneReplication}},
		{"none", twenty(), []Code{ZeroSeen}},
	}
	for _, c := range cases {
		wantCodes(t, c.what, Estimate{}.WithEvents(c.counts), c.want...)
	}
}

func TestShareWarning(t *testing.T) {
	even := slices.Repeat([]float64{1}, 20)
	wantCodes(t, "even", Estimate{}.WithShares(even))
	even[7] = 6.3 // of 25.3: a quarter is 6.325
	wantCodes(t, "just below a quarter", Estimate{}.WithShares(even))
	even[7] = 6.4
	wantCodes(t, "above a quarter", Estimate{}.WithShares(even), OneReplication)
	wantCodes(t, "nothing at all", Estimate{}.WithShares(make([]float64, 20)))
}

// TestWarningsSayTheCure: a warning is a number with advice, not a shrug.
func TestWarningsSayTheCure(t *testing.T) {
	few := Estimate{}.WithEvents(twenty(2, 2, 2, 2, 2)).Warnings[0].Text
	if !strings.Contains(few, "10 events") || !strings.Contains(few, "about 3 times") {
		t.Errorf("few events: %q", few)
	}
	one := Estimate{}.WithEvents(twenty(60, 40, 50, 50)).Warnings[0].Text
	if !strings.Contains(one, "30 %") || !strings.Contains(one, "more replications") {
		t.Errorf("one replication: %q", one)
	}
	none := Count(0, 0.95).Warnings[0].Text
	if !strings.Contains(none, "upper bound at 95 %") || !strings.Contains(none, "tenfold") {
		t.Errorf("zero seen: %q", none)
	}
}

// No doubt advises fewer replications than another of the same figure: six lean
// ones ask for 12 by their skewness, 12 by their events and 9 by what is beyond a
// quantile, and all of them say 20.
func TestNoCureBelowTheFirstLook(t *testing.T) {
	lean := []float64{1, 1.1, 0.9, 1, 1.2, 1.4}
	if w := (Estimate{}).WithSkew(lean).Warnings; len(w) != 1 || !strings.Contains(w[0].Text, "about 20 replications would cure it") {
		t.Errorf("lopsided: %v", w)
	}
	counts := []int{3, 2, 3, 2, 3, 2}
	for what, e := range map[string]Estimate{"counts": RateOver(counts, 1, 0.95), "an amount": Estimate{}.WithEvents(counts)} {
		if w := e.Warnings; len(w) != 1 || !strings.Contains(w[0].Text, "about 2 times the horizon, or 20 replications, would give that many") {
			t.Errorf("events of %s: %v", what, w)
		}
	}
	if w := fewBeyond(7, 6); !strings.Contains(w.Text, "about 3.3 times the replications") {
		t.Errorf("beyond: %v", w)
	}
	if w := fewBeyond(5, 20); !strings.Contains(w.Text, "about 2 times the replications") {
		t.Errorf("beyond, of 20: %v", w)
	}
}

func TestWithKeepsTheOriginal(t *testing.T) {
	a := Estimate{}.With(fewEvents(1, 0))
	b, c := a.With(fewReplications(2)), a.With(noSpread(3))
	if len(a.Warnings) != 1 || b.Warnings[1].Code != FewReplications || c.Warnings[1].Code != NoSpread {
		t.Errorf("warnings are shared: %v %v %v", codes(a), codes(b), codes(c))
	}
	wantCodes(t, "a code twice", b.With(fewReplications(9)), FewEvents, FewReplications)
}

// TestZeroSeenIsOneSided: -ln(0.05) for a count and 1-0.05^(1/n) for a share,
// closed forms of the Poisson and binomial probability of none.
func TestZeroSeenIsOneSided(t *testing.T) {
	count := Count(0, 0.95)
	near(t, "count", count.High, -math.Log(0.05), 1e-14)
	rate := Rate(0, 500, 0.95)
	near(t, "rate", rate.High, -math.Log(0.05)/500, 1e-14)
	share := Proportion(0, 20, 0.95)
	near(t, "share", share.High, 1-math.Pow(0.05, 1.0/20), 1e-14)
	bounded := MeanBounded(make([]float64, 20), 0.5, 0.95)
	near(t, "bounded mean", bounded.High, share.High/2, 1e-14)
	over := RateOver(make([]int, 20), 25, 0.95)
	near(t, "rate over replications", over.High, rate.High, 1e-14)
	for _, e := range []Estimate{count, rate, share, bounded, over} {
		if e.Sides != UpperBound || e.Value != 0 || e.Low != 0 || !e.Known || !e.Available() {
			t.Errorf("not a bound: %+v", e)
		}
		wantCodes(t, "zero seen", e, ZeroSeen)
	}
}

func TestAllSeenIsOneSided(t *testing.T) {
	e := Proportion(50, 50, 0.95)
	if e.Sides != LowerBound || e.High != 1 || e.Value != 1 {
		t.Errorf("not a lower bound: %+v", e)
	}
	near(t, "low", e.Low, math.Pow(0.05, 1.0/50), 1e-14)
}

// TestTooLittle: what cannot have an interval says why and has none.
func TestTooLittle(t *testing.T) {
	cases := []struct {
		what  string
		e     Estimate
		known bool
	}{
		{"mean of nothing", Mean(nil, 0.95), false},
		{"mean of one", Mean([]float64{3}, 0.95), true},
		{"mean of zeros", Mean(make([]float64, 20), 0.95), true},
		{"share of no trial", Proportion(0, 0, 0.95), false},
		{"rate over nothing", RateOver(nil, 1, 0.95), false},
		{"quantile of nothing", Quantile(nil, 0.5, 0.95), false},
		{"quantile of five", Quantile(sets["A"][:5], 0.5, 0.95), true},
		{"largest", Largest(sets["A"]), true},
		{"largest of nothing", Largest(nil), false},
		{"Welch of nothing", Welch(nil, sets["A"], 0.95).Difference, false},
		{"Welch of one", Welch(sets["A"][:1], sets["A"], 0.95).Difference, true},
	}
	for _, c := range cases {
		if c.e.Available() || c.e.Reason == "" || c.e.Level != 0 || c.e.Known != c.known || c.e.Low != c.e.High {
			t.Errorf("%s: %+v", c.what, c.e)
		}
	}
	if v := Largest(sets["A"]).Value; v != 13.3 {
		t.Errorf("largest of A is %v", v)
	}
}

func TestMeanWithoutSpread(t *testing.T) {
	e := Mean(slices.Repeat([]float64{0.1}, 23), 0.95)
	if e.Value != 0.1 || e.Low != 0.1 || e.High != 0.1 || e.Sides != TwoSided {
		t.Errorf("23 equal figures: %+v", e)
	}
	wantCodes(t, "23 equal figures", e, NoSpread)
	wantCodes(t, "10 replications", Mean(sets["A"], 0.95), FewReplications)
}

func TestWithin(t *testing.T) {
	e := twoSided(0.1, -0.2, 1.4, 0.95, 20).Within(0, 1)
	if e.Low != 0 || e.High != 1 || e.Value != 0.1 {
		t.Errorf("cut to %v to %v", e.Low, e.High)
	}
	if none := Largest([]float64{7}).Within(0, 1); none.Low != 7 {
		t.Errorf("an estimate without interval was cut: %+v", none)
	}
}

// TestOverdispersedCounts: events in groups of 16 are no Poisson events.
func TestOverdispersedCounts(t *testing.T) {
	groups := []int{16, 0, 32, 16, 0, 48, 0, 16, 16, 32, 0, 16, 32, 0, 0, 16, 16, 48, 16, 0}
	e := RateOver(groups, 2, 0.95)
	wantCodes(t, "groups", e, Overdispersed)
	want := Mean(toFloats(groups), 0.95).Scaled(0.5)
	if e.Low != want.Low || e.High != want.High {
		t.Errorf("%v to %v, want the t interval %v to %v", e.Low, e.High, want.Low, want.High)
	}
	plain := RateOver([]int{3, 1, 2, 4, 2, 0, 1, 3, 2, 5, 1, 2, 2, 3, 1, 2, 0, 4, 2, 1}, 2, 0.95)
	wantCodes(t, "plain", plain)
	low, _ := PoissonInterval(41, 0.95)
	near(t, "plain low", plain.Low, low/40, 1e-14)
}

func TestLooks(t *testing.T) {
	if got := SequentialLooks(170); !slices.Equal(got, []int{20, 40, 80, 160}) {
		t.Errorf("looks up to 170: %v", got)
	}
	if got := SequentialLooks(80); !slices.Equal(got, []int{20, 40, 80}) {
		t.Errorf("looks up to 80: %v", got)
	}
	if got := SequentialLooks(19); len(got) != 0 {
		t.Errorf("looks up to 19: %v", got)
	}
	for n, want := range map[int]int{0: 20, 19: 20, 20: 40, 39: 40, 79: 80, 80: 160} {
		if got := NextLook(n); got != want {
			t.Errorf("after %d: %d, want %d", n, got, want)
		}
	}
}

// TestMistakesPanic: what no replication can give is a mistake of ours.
func TestMistakesPanic(t *testing.T) {
	nan := math.NaN()
	for what, f := range map[string]func(){
		"level 1":            func() { Mean(sets["A"], 1) },
		"level NaN":          func() { Count(3, nan) },
		"NaN value":          func() { Mean([]float64{1, nan}, 0.95) },
		"infinite value":     func() { QuantileType7([]float64{1, math.Inf(1)}, 0.5) },
		"no value":           func() { QuantileType7(nil, 0.5) },
		"more than trials":   func() { Wilson(3, 2, 0.95) },
		"negative count":     func() { Count(-1, 0.95) },
		"exposure 0":         func() { Rate(1, 0, 0.95) },
		"above greatest":     func() { MeanBounded([]float64{0.5, 1.1}, 1, 0.95) },
		"negative amount":    func() { Estimate{}.WithShares([]float64{1, -1}) },
		"unequal pairs":      func() { Paired(sets["A"], sets["B"], 0.95) },
		"weights of 0":       func() { WeightedQuantile([]Weighted{{1, 0}}, 0.5) },
		"negative weight":    func() { PoolWeighted([][]Weighted{{{1, -1}}}) },
		"quantile 1, pooled": func() { Pool([][]float64{{1}}).Quantile(1, 0.95, 1) },
	} {
		func() {
			defer func() {
				if text, _ := recover().(string); !strings.HasPrefix(text, "stat: ") {
					t.Errorf("%s: panic %q, want one of ours", what, text)
				}
			}()
			f()
		}()
	}
}
