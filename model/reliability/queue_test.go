package reliability

import (
	"math"
	"strings"
	"testing"
)

// Inputs of the first rows are textbook exercises; answers at 60 digits, the first one also by hand (L = 28/29).
func TestRepairQueueTable(t *testing.T) {
	for _, row := range table(t, "queue.txt", 27) {
		v := numbers(t, row[:11])
		q := RepairQueue{Units: int(v[0]), MTBF: v[1], Repair: v[2], Crew: int(v[3])}
		f := q.Figures()
		printed(t, "L", f.Down, v[4], 12, 1e-9)
		printed(t, "Lq", f.Waiting, v[5], 10, 1e-9)
		printed(t, "utilisation", f.Utilisation, v[6], 10, 1e-9)
		printed(t, "throughput", f.Throughput*year, v[7], 10, 1e-9)
		printed(t, "Wq", f.Wait, v[8], 10, 1e-9)
		printed(t, "W", f.DownTime, v[9], 10, 1e-9)
		printed(t, "P(wait)", f.WaitProbability, v[10], 10, 1e-9)
		// P0 of an overloaded crew is below the range of float64: compare logarithms.
		mantissa, exponent, _ := strings.Cut(row[11], "e")
		log := math.Log(number(t, mantissa))
		if exponent != "" {
			log += number(t, exponent) * math.Ln10
		}
		within(t, "log P0", math.Exp(f.LogAllUp-log), 1, 1e-7)
		if t.Failed() {
			t.Fatalf("first at %+v", q)
		}
	}
	within(t, "28/29", RepairQueue{2, 12, 8, 1}.Figures().Down, 28.0/29, 1e-14)
}

// Second method: the generator matrix solved by gonum/mat, whose own rounding is some 1e-15 whatever the size of the answer.
func TestRepairQueueAgainstGenerator(t *testing.T) {
	for n := 1; n <= 9; n++ {
		for crew := 1; crew <= 10; crew++ {
			for _, repair := range []float64{0.5, 8, 60} {
				p := stationary(t, n, func(j int) float64 { return float64(n-j) / 20 },
					func(j int) float64 { return float64(min(j, crew)) / repair })
				down, waiting, arrive, late := 0.0, 0.0, 0.0, 0.0
				for j, m := range p {
					down += float64(j) * m
					waiting += float64(max(0, j-crew)) * m
					arrive += float64(n-j) * m
					if j >= crew {
						late += float64(n-j) * m
					}
				}
				f := RepairQueue{n, 20, repair, crew}.Figures()
				for _, c := range []struct {
					what      string
					got, want float64
				}{
					{"L", f.Down, down}, {"Lq", f.Waiting, waiting}, {"X", f.Throughput, arrive / 20},
					{"P(wait)", f.WaitProbability, late / arrive}, {"P0", f.AllUp, p[0]},
				} {
					if math.Abs(c.got-c.want) > float64(1e-10*c.want)+1e-14 {
						t.Errorf("%d units, crew %d, repair %g: %s %g, want %g", n, crew, repair, c.what, c.got, c.want)
					}
				}
				within(t, "W", f.DownTime, f.Wait+repair, 1e-11)
			}
		}
	}
}

// Balance that must hold at any size: throughput is units up over MTBF, and Down = Waiting + busy technicians.
func TestRepairQueueBalance(t *testing.T) {
	for _, crew := range []int{1, 2, 3, 7, 40, 1000, 200000} {
		for _, repair := range []float64{0.01, 4, 400, 1e6} {
			f := RepairQueue{160000, 876000, repair, crew}.Figures()
			within(t, "balance", f.Throughput, (160000-f.Down)/876000, 1e-9)
			within(t, "Down", f.Waiting+f.Utilisation*float64(crew), f.Down, 1e-11)
			if f.WaitProbability < 0 || f.WaitProbability > 1 || f.AllUp < 0 || math.IsNaN(f.Wait) || math.IsInf(f.LogAllUp, 0) {
				t.Errorf("crew %d, repair %g: %+v", crew, repair, f)
			}
		}
	}
}

func TestErlangC(t *testing.T) {
	for _, c := range []struct {
		repair           float64
		crew             int
		load, wait, mean float64
	}{
		{4, 1, 0.430173516, 0.430173516, 3.019680749}, {4, 2, 0.430173516, 0.07614651902, 0.1940253137},
		{4, 4, 0.430173516, 0.001039783906, 0.001165080612}, {24, 4, 2.581041096, 0.3477349838, 5.881523126},
	} {
		rate := 94208.0 / 876000
		printed(t, "load", OfferedWork(c.repair, Population{Count: 94208, MTBF: 876000}), c.load, 9, 1e-9)
		printed(t, "Erlang C", ErlangC(c.crew, rate*c.repair), c.wait, 9, 1e-9)
		printed(t, "wait", ManyServerWait(c.crew, rate, c.repair), c.mean, 10, 1e-9)
	}
	// Second method: the sum of its definition.
	for c := 1; c <= 12; c++ {
		load, term, sum := 0.8*float64(c), 1.0, 0.0
		for i := range c {
			sum += term
			term *= load / float64(i+1)
		}
		term *= 5 // 1 / (1 - 0.8)
		within(t, "definition", ErlangC(c, load), term/(sum+term), 1e-13)
	}
	if ErlangC(3, 3) != 1 || !math.IsInf(ManyServerWait(3, 3, 1), 1) {
		t.Error("an overloaded crew has no steady wait")
	}
}

func TestPollaczekKhinchine(t *testing.T) {
	rate := 94208.0 / 876000
	for _, c := range []struct{ scv, wait float64 }{
		{0, 1.509840374}, {1, 3.019680749}, {LognormalSCV(0.5), 1.938673416}, {LognormalSCV(1), 4.104171654},
		{LognormalSCV(math.Sqrt(2 * math.Ln2)), 6.039361498},
	} {
		printed(t, "wait", PollaczekKhinchine(rate, 4, c.scv), c.wait, 10, 1e-9)
	}
	printed(t, "scv", LognormalSCV(0.5), 0.2840254167, 10, 1e-9)
	printed(t, "scv", LognormalSCV(1), 1.718281828, 10, 1e-9)
	if !math.IsInf(PollaczekKhinchine(0.5, 2, 1), 1) {
		t.Error("a full server has no steady wait")
	}
}
