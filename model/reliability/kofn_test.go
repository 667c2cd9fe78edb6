package reliability

import (
	"math"
	"math/big"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func TestMTTFNoRepair(t *testing.T) {
	for _, row := range table(t, "norepair.txt", 43) {
		v := numbers(t, row)
		printed(t, "MTTF", MTTFNoRepair(int(v[0]), int(v[1])), v[2], 15, 1e-13)
	}
}

// NIST/SEMATECH e-Handbook 8.1.8.4, formula; figures at 60 digits.
func TestReliability(t *testing.T) {
	for _, c := range []struct {
		n, k    int
		r, want float64
	}{
		{3, 2, 0.9, 0.972}, {4, 3, 0.95, 0.98598125}, {8, 6, 0.99, 0.999946066678802}, {16, 12, 0.9, 0.98299600172212},
		{32, 24, 0.9, 0.996704619156296}, {1024, 768, 0.75, 0.516786504897879}, {1024, 1000, 0.98, 0.817387858615323},
	} {
		printed(t, "reliability", Reliability(c.n, c.k, c.r), c.want, 14, 1e-11)
		within(t, "unreliability", Unreliability(c.n, c.k, 1-c.r), 1-c.want, 1e-9)
	}
	// theriac.org Desk Reference excerpt: two in parallel, 0.01 a hour, 10 h: "about 0.0018"; MTTF 150 h.
	printed(t, "R(10 h)", ReliabilityAt(2, 1, 100, 10), 0.990944082994, 12, 1e-11)
	within(t, "one less", UnreliabilityAt(2, 1, 100, 10), 1-0.990944082994, 1e-9)
	printed(t, "hazard", HazardAt(2, 1, 100, 10), 0.001737871318, 10, 1e-11)
	within(t, "MTTF", MTTFNoRepair(2, 1)*100, 150, 1e-15)
}

// MTTF is the integral of R(t), and the hazard is -R'/R: both by differences, as a second method.
func TestReliabilityAtAgainstIntegral(t *testing.T) {
	for _, c := range [][2]int{{3, 2}, {16, 12}, {5, 1}} {
		n, k := c[0], c[1]
		const h = 0.0005
		sum := 0.5
		for i := 1; i < 60000; i++ {
			sum += ReliabilityAt(n, k, 1, float64(i)*h)
		}
		within(t, "integral", sum*h, MTTFNoRepair(n, k), 1e-6)
		slope := (ReliabilityAt(n, k, 1, 0.4+1e-5) - ReliabilityAt(n, k, 1, 0.4-1e-5)) / 2e-5
		within(t, "hazard", HazardAt(n, k, 1, 0.4), -slope/ReliabilityAt(n, k, 1, 0.4), 1e-7)
	}
}

func TestGroupTable(t *testing.T) {
	for _, row := range table(t, "group.txt", 108) {
		v := numbers(t, row)
		g := Group{MTBF: v[0], MTTR: v[1], Units: int(v[2]), Need: int(v[3]), Crew: int(v[4])}
		f := g.Figures()
		printed(t, "U", f.Unavailability, v[5], 12, 1e-9)
		printed(t, "MTTF", f.MTTF, v[6], 12, 1e-9)
		printed(t, "failures a year", f.Frequency*year, v[7], 12, 1e-9)
		printed(t, "mean up", f.MeanUp, v[8], 12, 1e-9)
		printed(t, "mean down", f.MeanDown, v[9], 12, 1e-9)
		if off := math.Abs(f.LogUnavailability - math.Log(v[5])); off > 1e-11 {
			t.Errorf("log U %g, off by %g", f.LogUnavailability, off)
		}
		if t.Failed() {
			t.Fatalf("first at %+v", g)
		}
	}
}

// Closed forms (MIL-HDBK-338B section 10, RADC-TR-77-287 chapter 3, from memory).
func TestGroupClosedForms(t *testing.T) {
	for _, mttr := range []float64{1e-6, 0.3, 40, 3000} {
		const mtbf = 1000.0
		l, m := 1/mtbf, 1/mttr
		within(t, "1 of 2", Group{2, 1, mtbf, mttr, 1}.Figures().MTTF, (3*l+m)/(2*l*l), 1e-12)
		within(t, "2 of 3", Group{3, 2, mtbf, mttr, 1}.Figures().MTTF, (5*l+m)/(6*l*l), 1e-12)
		within(t, "U of 1 of 2", Group{2, 1, mtbf, mttr, 1}.Figures().Unavailability, 2*l*l/(m*m+2*l*m+2*l*l), 1e-12)
		for _, c := range [][2]int{{4, 3}, {8, 6}, {64, 1}, {300, 250}} {
			f := Group{c[0], c[1], mtbf, mttr, 0}.Figures()
			within(t, "independent units", f.Unavailability, Unreliability(c[0], c[1], mttr/(mtbf+mttr)), 1e-9)
		}
	}
}

// The range of float64 left behind: nothing is 0, negative or not a number, and the logarithm goes on.
func TestGroupUnderflow(t *testing.T) {
	f := Group{Units: 1024, Need: 1, MTBF: 438000, MTTR: 4}.Figures()
	want := 1024 * math.Log(4.0/438004)
	within(t, "log U", f.LogUnavailability, want, 1e-12)
	if !(f.Unavailability > 0) || !(f.Frequency > 0) || !math.IsInf(f.MTTF, 1) || !(f.MeanDown > 0) {
		t.Errorf("figures beyond float64: %+v", f)
	}
	f = Group{Units: 1024, Need: 1024, MTBF: 1, MTTR: 1e6, Crew: 1}.Figures()
	if f.Unavailability != 1 || !(f.Frequency > 0) || f.LogUnavailability > 0 || !math.IsInf(f.MeanDown, 1) || f.MeanUp != 1.0/1024 {
		t.Errorf("a system that is never up: %+v", f)
	}
}

// Second method: the generator matrix of the same chain, solved by gonum/mat.
func TestGroupAgainstGenerator(t *testing.T) {
	for n := 1; n <= 7; n++ {
		for k := 1; k <= n; k++ {
			for crew := range 4 {
				g := Group{Units: n, Need: k, MTBF: 50, MTTR: 20, Crew: crew}
				p := stationary(t, n, func(j int) float64 { return float64(n-j) / 50 }, func(j int) float64 {
					if crew > 0 && j > crew {
						return float64(crew) / 20
					}
					return float64(j) / 20
				})
				down := 0.0
				for j := n - k + 1; j <= n; j++ {
					down += p[j]
				}
				frequency := p[n-k] * float64(k) / 50
				f := g.Figures()
				within(t, "U", f.Unavailability, down, 1e-10)
				within(t, "frequency", f.Frequency, frequency, 1e-10)
				within(t, "mean up", f.MeanUp, (1-down)/frequency, 1e-9)
				within(t, "mean down", f.MeanDown, down/frequency, 1e-10)
				within(t, "MTTF", f.MTTF, absorption(t, g), 1e-9)
			}
		}
	}
}

// stationary solves pi Q = 0, sum 1, for a birth-death chain on 0..n.
func stationary(t *testing.T, n int, birth, death func(int) float64) []float64 {
	t.Helper()
	a := mat.NewDense(n+1, n+1, nil)
	for j := range n { // balance of state j; the last row is the sum
		out := birth(j)
		if j > 0 {
			out += death(j)
			a.Set(j, j-1, birth(j-1))
		}
		a.Set(j, j, -out)
		a.Set(j, j+1, death(j+1))
	}
	for j := range n + 1 {
		a.Set(n, j, 1)
	}
	b := mat.NewVecDense(n+1, nil)
	b.SetVec(n, 1)
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil {
		t.Fatal(err)
	}
	return x.RawVector().Data
}

// absorption is the mean time from all up to the first down state, by the matrix of mean first passage.
func absorption(t *testing.T, g Group) float64 {
	t.Helper()
	up := g.Units - g.Need + 1
	a := mat.NewDense(up, up, nil)
	b := mat.NewVecDense(up, nil)
	for j := range up {
		fail, repair := float64(g.Units-j)/g.MTBF, float64(j)/g.MTTR
		if g.Crew > 0 && j > g.Crew {
			repair = float64(g.Crew) / g.MTTR
		}
		a.Set(j, j, fail+repair)
		b.SetVec(j, 1)
		if j > 0 {
			a.Set(j, j-1, -repair)
		}
		if j+1 < up {
			a.Set(j, j+1, -fail)
		}
	}
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil {
		t.Fatal(err)
	}
	return x.AtVec(0)
}

// exactTail is P(X >= c) of a binomial in 300 bits.
func exactTail(c, n int, p float64) *big.Float {
	const bits = 300
	q := new(big.Float).SetPrec(bits).Sub(big.NewFloat(1).SetPrec(bits), big.NewFloat(p))
	lost, kept := powers(big.NewFloat(p), n, bits), powers(q, n, bits)
	sum := new(big.Float).SetPrec(bits)
	for x := max(c, 0); x <= n; x++ {
		term := new(big.Float).SetPrec(bits).SetInt(new(big.Int).Binomial(int64(n), int64(x)))
		term.Mul(term, lost[x])
		sum.Add(sum, term.Mul(term, kept[n-x]))
	}
	return sum
}

func powers(x *big.Float, n int, bits uint) []*big.Float {
	list := []*big.Float{big.NewFloat(1).SetPrec(bits)}
	for range n {
		last := list[len(list)-1]
		list = append(list, new(big.Float).SetPrec(bits).Mul(last, x))
	}
	return list
}
