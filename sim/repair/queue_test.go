package repair

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"halflight/model/operation"
	"halflight/sim/kernel"
)

// units is a population of links that fail and are repaired through the
// operator. Lives and repairs are of the laws given, in hours.
type units struct {
	*play
	life, work func(u float64) float64
	draw       kernel.Stream
	drawn      uint64

	failedAt []int64 // by unit
	down     int
	window   [2]int64
	since    int64
	time     []float64 // by number down: ns within the window
	waits    []float64 // h, of the failures in the window
	waited   int
	worked   [2]float64 // technician time at both ends of the window
}

func (u *units) next(law func(float64) float64) int64 {
	u.drawn++
	return kernel.Nanoseconds(law(u.draw.Uniform(1, 0, u.drawn)) * float64(hour))
}

// run plays n units in a window after a warm-up, in hours.
func run(t *testing.T, replication uint32, n, crew int, warmUp, length float64, life, work func(u float64) float64) *units {
	u := &units{play: newPlay(clos(t, 1, n, 1, 0, 1), plan(crew)), life: life, work: work, draw: kernel.NewStream(20, replication),
		failedAt: make([]int64, n), time: make([]float64, n+1)}
	u.window = [2]int64{int64(warmUp * float64(hour)), int64((warmUp + length) * float64(hour))}
	u.mine = func(_ Kind, unit int32) {
		u.count(+1)
		u.failedAt[unit] = u.now
		u.open(Ticket{Fault: unit, Links: []int32{unit}, Down: true, Attempts: []Attempt{{HandsOn: max(1, u.next(work)), Works: true}}})
	}
	u.seen = func(a Action) {
		switch a.Deed {
		case Begin:
			if at := u.failedAt[a.Fault]; at >= u.window[0] {
				u.waits = append(u.waits, float64(u.now-at)/float64(hour))
				if u.now > at {
					u.waited++
				}
			}
		case Repaired:
			u.count(-1)
			u.push(Task{At: u.now + u.next(life), Kind: own, A: a.Fault})
		}
	}
	for i := range n {
		u.push(Task{At: u.next(life), Kind: own, A: int32(i)})
	}
	u.until(u.window[0])
	u.worked[0] = u.o.HandsOnTotal(u.now)
	u.until(u.window[1])
	u.worked[1] = u.o.HandsOnTotal(u.now)
	u.count(0)
	return u
}

// count moves the number down and the time spent at the one before.
func (u *units) count(by int) {
	if from := max(u.since, u.window[0]); u.now > from {
		u.time[u.down] += float64(u.now - from)
	}
	u.since = u.now
	u.down += by
}

func (u *units) share(down int) float64 {
	return u.time[down] / float64(u.window[1]-u.window[0])
}

func (u *units) meanDown() float64 {
	sum := 0.0
	for j := range u.time {
		sum += float64(j) * u.share(j)
	}
	return sum
}

// held fails unless the mean of replications lies within 3.5 standard errors.
func held(t *testing.T, what string, got []float64, want float64) {
	t.Helper()
	n, mean, square := float64(len(got)), 0.0, 0.0
	for _, x := range got {
		mean += x / n
	}
	for _, x := range got {
		square += (x - mean) * (x - mean)
	}
	se := math.Sqrt(square / (n - 1) / n)
	if z := (mean - want) / se; !(math.Abs(z) <= 3.5) || len(got) < 30 {
		t.Errorf("%s: %.6g +- %.2g in %d replications, want %.6g, z %.2f", what, mean, se, len(got), want, z)
	}
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// The finite-source repair queue M/M/c//N. The first, third and fourth row are
// inputs of textbook exercises; the figures are the birth-death chain solved at
// 40 digits, the first row by hand too (28/29 down). The chance of a wait is by
// the arrival theorem.
func TestRepairQueue(t *testing.T) {
	for _, c := range []struct {
		n                                            int
		mtbf, repair                                 float64
		crew                                         int
		down, waiting, busy, wait, waitChance, allUp float64
	}{
		{2, 12, 8, 1, 0.965517241379, 0.275862069, 0.6896551724, 3.2, 0.4, 0.31034483},
		{3, 10, 8, 1, 1.87121799845, 0.9681923972, 0.9030256012, 8.577319588, 0.7422680412, 0.096974399},
		{3, 10, 8, 2, 1.40341655716, 0.1261498029, 0.6386333771, 0.7901234568, 0.1975308642, 0.16425756},
		{5, 2.5, 0.4, 1, 1.10939326812, 0.486896191, 0.6224970771, 0.3128664914, 0.5148534034, 0.37750292},
		{6, 100, 10, 1, 0.845149036784, 0.3296639405, 0.5154850963, 6.395217686, 0.4360478231, 0.4845149},
		{10, 100, 10, 2, 1.03863781863, 0.1425016005, 0.4480681091, 1.590177895, 0.2198577467, 0.36795459},
	} {
		var down, busy, wait, chance, allUp []float64
		for rep := range uint32(40) {
			length := 1500 * (c.mtbf + c.repair) / float64(c.n)
			life := func(u float64) float64 { return kernel.Exponential(u, c.mtbf) }
			work := func(u float64) float64 { return kernel.Exponential(u, c.repair) }
			u := run(t, rep, c.n, c.crew, 20*(c.mtbf+c.repair), length, life, work)
			down = append(down, u.meanDown())
			allUp = append(allUp, u.share(0))
			wait = append(wait, mean(u.waits))
			chance = append(chance, float64(u.waited)/float64(len(u.waits)))
			busy = append(busy, (u.worked[1]-u.worked[0])/float64(u.window[1]-u.window[0])/float64(c.crew))
		}
		what := fmt.Sprintf("%d units, crew of %d: ", c.n, c.crew)
		held(t, what+"down", down, c.down)
		held(t, what+"technicians at work", busy, c.busy)
		held(t, what+"wait", wait, c.wait)
		held(t, what+"chance of a wait", chance, c.waitChance)
		held(t, what+"all up", allUp, c.allUp)
		if waiting := c.down - c.busy*float64(c.crew); math.Abs(waiting-c.waiting) > 1e-8 {
			t.Errorf("%s%v waiting: the row contradicts itself", what, waiting)
		}
	}
}

// Ample technicians: the number down is Binomial(N, r/(m+r)) whatever the law
// of the repair (Sevastyanov, from memory). N = 2500, m = 25 y, r = 24 h:
// figures from that law. Repair constant and lognormal.
func TestAmpleTechnicians(t *testing.T) {
	const sigma = 1.0
	for _, law := range []struct {
		name string
		work func(u float64) float64
	}{
		{"constant", func(float64) float64 { return 24 }},
		{"lognormal", func(u float64) float64 { return kernel.LogNormal(u, math.Log(24)-sigma*sigma/2, sigma) }},
	} {
		name := law.name
		var down, busy []float64
		var shares [4][]float64
		for rep := range uint32(30) {
			life := func(u float64) float64 { return kernel.Exponential(u, 219000) }
			u := run(t, rep, 2500, 0, 1000, 87600, life, law.work)
			down = append(down, u.meanDown())
			busy = append(busy, (u.worked[1]-u.worked[0])/float64(u.window[1]-u.window[0]))
			for j := range shares {
				shares[j] = append(shares[j], u.share(j))
			}
			if u.waited > 0 {
				t.Fatalf("%s: %d waited for one of ample technicians", name, u.waited)
			}
		}
		held(t, name+": down", down, 0.273942581635)
		held(t, name+": technicians at work", busy, 0.273942581635)
		for j, want := range []float64{0.76036432, 0.20831899, 0.028525433, 0.0026029784} {
			held(t, fmt.Sprintf("%s: share of time with %d down", name, j), shares[j], want)
		}
	}
}

// A crew that is there from 6 h to 14 h and from 20 h to 22 h of each day, worked
// by hand: what comes at night waits for the morning, one who is at work at 14 h
// finishes, and the second shift is two.
func TestShifts(t *testing.T) {
	p := newPlay(clos(t, 1, 8, 1, 0, 1), operation.Plan{Floor: 0.5, FirstGuided: 1, Shifts: []operation.Shift{
		{From: 6 * hour, To: 14 * hour, Crew: 1}, {From: 20 * hour, To: 22 * hour, Crew: 2}}})
	var got []string
	p.seen = func(a Action) {
		if a.Deed == Begin || a.Deed == Repaired {
			got = append(got, fmt.Sprintf("%d %v %v", a.Fault, a.Deed, float64(p.now)/float64(hour)))
		}
	}
	p.mine = func(_ Kind, fault int32) {
		p.open(Ticket{Fault: fault, Links: []int32{fault}, Down: true, Attempts: []Attempt{{HandsOn: 3 * hour, Works: true}}})
	}
	for fault, at := range []int64{1, 2, 13, 13, 21, 47} {
		p.push(Task{At: at * hour, Kind: own, A: int32(fault)})
	}
	p.until(80 * hour)
	want := "0 begin 6, 0 repaired 9, 1 begin 9, 1 repaired 12, 2 begin 13, 2 repaired 16, 3 begin 20, 4 begin 21, 3 repaired 23, 4 repaired 24, 5 begin 54, 5 repaired 57"
	if s := strings.Join(got, ", "); s != want {
		t.Errorf("\ngot  %s\nwant %s", s, want)
	}
}
