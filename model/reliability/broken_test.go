package reliability

import (
	"math"
	"testing"
)

// Number down with ample technicians, binomial at 60 digits; no publication is known.
func TestBrokenNow(t *testing.T) {
	for _, c := range []struct {
		n                int
		years, mttr      float64
		mean             float64
		p0, p1, p2, p3   float64
		four             float64
		quantile99, p999 int // read off the masses
	}{
		{94208, 100, 4, 0.430171551728, 0.65039687, 0.27978351, 0.060177089, 0.0086286801, 0.0010138532, 2, 4},
		{94208, 100, 24, 2.58097038437, 0.075697833, 0.19537922, 0.25213822, 0.21692176, 0.25986296, 7, 9},
		{160000, 100, 4, 0.730590271277, 0.48162381, 0.35187128, 0.12853665, 0.031302294, 0.006665963, 3, 4},
		{2500, 25, 24, 0.273942581635, 0.76036432, 0.20831899, 0.028525433, 0.0026029784, 0.0001882759, 2, 3},
	} {
		p := Population{c.n, c.years * year, c.mttr}
		law := BrokenNow(p)
		printed(t, "mean", BrokenMean(p), c.mean, 12, 1e-11)
		for i, want := range []float64{c.p0, c.p1, c.p2, c.p3} {
			printed(t, "mass", law.At(i), want, 8, 1e-9)
		}
		printed(t, "four or more", law.AtLeast(4), c.four, 7, 1e-9)
		if q := law.Quantile(0.99); q != c.quantile99 {
			t.Errorf("p99 of %d units %d, want %d", c.n, q, c.quantile99)
		}
		if q := law.Quantile(0.999); q != c.p999 {
			t.Errorf("p99.9 of %d units %d, want %d", c.n, q, c.p999)
		}
	}
}

// Second method: every state of a small mixed fleet listed.
func TestBrokenNowListed(t *testing.T) {
	fleet := []Population{{3, 100, 30}, {5, 70, 10}, {2, 10, 10}}
	var down []float64
	for _, p := range fleet {
		for range p.Count {
			down = append(down, p.MTTR/(p.MTBF+p.MTTR))
		}
	}
	want := make([]float64, len(down)+1)
	for state := range 1 << len(down) {
		probability, count := 1.0, 0
		for i, u := range down {
			if state>>i&1 == 1 {
				probability *= u
				count++
			} else {
				probability *= 1 - u
			}
		}
		want[count] += probability
	}
	law := BrokenNow(fleet...)
	mean := 0.0
	for i, w := range want {
		within(t, "mass", law.At(i), w, 1e-12)
		mean += float64(i) * w
	}
	within(t, "mean", BrokenMean(fleet...), mean, 1e-12)
	if law.At(-1) != 0 || law.At(len(down)+1) != 0 {
		t.Error("mass outside the range")
	}
}

// A fleet so broken that the window leaves 0 out: mean and spread of the law are those of the binomial.
func TestBrokenNowLarge(t *testing.T) {
	law := BrokenNow(Population{1_000_000, 900, 100}, Population{500_000, 100, 100})
	sum, mean, square := 0.0, 0.0, 0.0
	for i, m := range law.Mass {
		x := float64(law.Low + i)
		sum, mean, square = sum+m, mean+x*m, square+(x-350000)*(x-350000)*m
	}
	within(t, "sum", sum, 1, 1e-11)
	within(t, "mean", mean, 350000, 1e-11)
	within(t, "variance", square, 1e6*0.09+5e5*0.25, 1e-9)
	// The normal law, with half a count: 2.3263478740 standard deviations (Abramowitz and Stegun 26.2, from memory).
	near := 350000 + 2.3263478740*math.Sqrt(square)
	if q := float64(law.Quantile(0.99)); math.Abs(q-near) > 2 {
		t.Errorf("p99 %g, the normal law says %g", q, near)
	}
}

func TestBinomialAgainstExactSums(t *testing.T) {
	for _, n := range []int{1, 7, 30, 120} {
		for _, p := range []float64{0, 1e-9, 0.01, 0.3, 0.5, 0.97, 1} {
			for c := -1; c <= n+1; c++ {
				want, _ := exactTail(c, n, p).Float64()
				if want > 0 && want < 1e-300 {
					continue // float64 itself has fewer digits there
				}
				within(t, "tail", BinomialTail(c, n, p), want, 1e-11)
			}
		}
	}
}

func TestPoisson(t *testing.T) {
	for _, mean := range []float64{0, 1e-6, 0.4, 3, 40, 900, 20000} {
		sum := 0.0
		low := max(0, int(mean-13*math.Sqrt(mean)))
		for x := low; x < int(mean+13*math.Sqrt(mean))+20; x++ {
			sum += PoissonMass(x, mean)
			within(t, "tail", PoissonTail(x+1, mean), 1-sum, 1e-9+1e-12/math.Max(1e-300, math.Abs(1-sum)))
		}
		within(t, "all mass", sum, 1, 1e-11)
	}
	// Small tails: e^-m m^c / c! (1 + m/(c+1) + ...), by hand at m = 0.01, c = 8.
	want := math.Exp(-0.01) * 1e-16 / 40320 * (1 + 0.01/9 + 0.0001/90 + 1e-6/990)
	within(t, "tail of 8", PoissonTail(8, 0.01), want, 1e-12)
}

func TestSpares(t *testing.T) {
	optics := Population{Count: 160000, MTBF: 100 * year}
	for _, c := range []struct {
		lead, level float64
		fleet       []Population
	}{
		{720, 0.95, []Population{optics}}, {720, 0.999, []Population{optics}}, {24, 0.5, []Population{optics}},
		{2160, 0.99, []Population{optics, {Count: 2500, MTBF: 25 * year}}}, {0, 0.99, []Population{optics}},
		{2000, 1 - 1e-9, []Population{{Count: 40, MTBF: 25 * year}}},
	} {
		// Second method: the distribution added up from 0.
		demand := 0.0
		for _, p := range c.fleet {
			demand += float64(p.Count) * c.lead / p.MTBF
		}
		want, term := 0, math.Exp(-demand)
		for sum := term; sum < c.level; sum += term {
			want++
			term *= demand / float64(want)
		}
		got := Spares(c.lead, c.level, c.fleet...)
		if got != want {
			t.Errorf("spares for %g h at %g: %d, want %d", c.lead, c.level, got, want)
		}
		if StockOut(got, c.lead, c.fleet...) > 1-c.level || got > 0 && StockOut(got-1, c.lead, c.fleet...) <= 1-c.level {
			t.Errorf("spares for %g h at %g: %d is not the smallest that covers", c.lead, c.level, got)
		}
	}
}
