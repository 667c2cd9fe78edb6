package sim

import (
	"fmt"
	"testing"

	"halflight/sim/record"
)

// Unit availability MTBF/(MTBF+MTTR), whatever the law of the repair; the clock
// of a life runs only while the unit is up. [common practice, no source]
func TestAvailabilityOfLinks(t *testing.T) {
	t.Parallel()
	const mtbf, mttr = 1000.0, 100.0
	for _, c := range []struct{ name, lead, hands string }{
		{"exponential", "{exponential: {mean: 100h}}", "0s"},
		{"two-parts", "{lognormal: {mean: 60h, sigma: 1}}", "{exponential: {mean: 40h}}"},
		{"fixed", "60h", "40h"},
	} {
		w := build(t, c.name, fmt.Sprintf(sure, c.name, "unlimited")+fmt.Sprintf(`
warm_up: 3000h
horizon: 20000h
fabric: {clos: {pods: 1, leaves: 4, spines: 3, tops: 0}}
failures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: 1000h}}, repair: {lead: %s, hands_on: %s}}]
`, c.lead, c.hands))
		links := float64(len(w.Fabric.Links))
		all := playAll(w, 31, atLeast)
		agrees(t, c.name+": unavailability", each(all, func(r *record.Replication) float64 { return r.Present[0] / links }), mttr/(mtbf+mttr))
		agrees(t, c.name+": onsets", each(all, func(r *record.Replication) float64 { return float64(r.Onsets[0]) }), links*20000/(mtbf+mttr))
		if c.hands != "0s" {
			agrees(t, c.name+": technicians", each(all, func(r *record.Replication) float64 { return r.HandsOn }), links*40/(mtbf+mttr))
		}
	}
}

// Onsets of exponential lives are Poisson when repair takes no time to speak
// of: mean and dispersion of the counts over 200 replications.
func TestOnsetsArePoisson(t *testing.T) {
	t.Parallel()
	w := build(t, "poisson", fmt.Sprintf(sure, "poisson", "unlimited")+`
warm_up: 10h
horizon: 1000h
fabric: {clos: {pods: 1, leaves: 3, spines: 2, tops: 0}}
failures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: 100h}}, repair: {lead: 3min, hands_on: 0s}}]
`)
	counts := each(playAll(w, 5, 200), func(r *record.Replication) float64 { return float64(r.Onsets[0]) })
	agrees(t, "onsets", counts, 6*1000/100.05)
	if z := dispersed(counts); !(z >= -farOff && z <= farOff) {
		t.Errorf("onsets are not Poisson: dispersion z = %.2f of %v", z, counts)
	}
}

// kOfN are steady states of n units of which k are needed, MTBF 1000 h, MTTR
// 100 h, exponential; units go on failing while the system is down. Own exact
// solution of the birth-and-death chain, relative 1e-11. crew 0: unlimited.
var kOfN = []struct {
	n, k, crew            int
	unavailable, failures float64 // failures: of the system, a year of 8760 h
}{
	{2, 1, 1, 0.016393442623, 1.43606557377},
	{2, 1, 0, 0.00826446280992, 1.4479338843},
	{4, 4, 1, 0.353336782204, 22.6590791516},
	{4, 4, 0, 0.316986544635, 23.932791476},
	{4, 3, 1, 0.0946714950854, 6.79772374547},
	{4, 3, 0, 0.0437811624889, 7.1798374428},
	{4, 2, 1, 0.0170719089498, 1.35954474909},
	{4, 2, 0, 0.002800355167, 0.71798374428},
	{8, 7, 1, 0.391026820803, 16.5965490437},
	{8, 7, 0, 0.160286715622, 22.8849860436},
	{8, 6, 1, 0.201568498386, 9.95792942623},
	{8, 6, 0, 0.0296646491638, 6.86549581307},
}

// A leaf with n uplinks that needs k of them, repaired first come first served
// by a crew of one or by anybody.
func TestUplinksOfALeafAndTheCrew(t *testing.T) {
	t.Parallel()
	const settled, length = 4000, 100_000 // h
	for _, c := range []struct{ n, crew int }{{2, 1}, {2, 0}, {4, 1}, {4, 0}, {8, 1}, {8, 0}} {
		crew := "unlimited"
		if c.crew > 0 {
			crew = fmt.Sprint(c.crew)
		}
		w := build(t, "uplinks", fmt.Sprintf(sure, "uplinks", crew)+fmt.Sprintf("warm_up: 0s\nhorizon: %dh\nfabric: {clos: {pods: 1, leaves: 2, spines: %d, tops: 0}}\n", settled+length, c.n)+
			oneByOne(c.n, "kind: hard, life: {exponential: {mean: 1000h}}, repair: {lead: 0s, hands_on: {exponential: {mean: 100h}}}"))
		var seen []levels
		for _, r := range playAll(w, 77, atLeast) {
			seen = append(seen, overlap(spells(&r, every), c.n, settled*hour, r.To))
		}
		for _, row := range kOfN {
			if row.n != c.n || row.crew != c.crew {
				continue
			}
			var u, f []float64
			for i := range seen {
				u = append(u, seen[i].atLeastDown(c.n-row.k+1))
				f = append(f, seen[i].reached[c.n-row.k+1]*8760/length)
			}
			name := fmt.Sprintf("%d of %d, crew %s", row.k, row.n, crew)
			agrees(t, name+": unavailable", u, row.unavailable)
			agrees(t, name+": failures a year", f, row.failures)
		}
	}
}

// finiteSource are steady states of N machines and c repairmen, all laws
// exponential. Inputs of the first four are exercises of queueing textbooks; the
// values are our own exact solution of the birth-and-death chain, and L = 28/29
// for the first by hand. Times in h.
var finiteSource = []struct {
	machines                                      int
	life, work                                    string
	crew                                          int
	down, waiting, busy, yearly, wait, stay, made float64 // made: P(a failure has to wait)
	sound                                         float64 // P(nobody is down)
}{
	{2, "12h", "8h", 1, 0.965517241379, 0.275862069, 0.6896551724, 755.1724138, 3.2, 11.2, 0.4, 0.31034483},
	{3, "10h", "8h", 1, 1.87121799845, 0.9681923972, 0.9030256012, 988.8130334, 8.577319588, 16.57731959, 0.7422680412, 0.096974399},
	{3, "10h", "8h", 2, 1.40341655716, 0.1261498029, 0.6386333771, 1398.607096, 0.7901234568, 8.790123457, 0.1975308642, 0.16425756},
	{5, "2.5h", "0.4h", 1, 1.10939326812, 0.486896191, 0.6224970771, 13632.68599, 0.3128664914, 0.7128664914, 0.5148534034, 0.37750292},
	{6, "100h", "10h", 1, 0.845149036784, 0.3296639405, 0.5154850963, 451.5649444, 6.395217686, 16.39521769, 0.4360478231, 0.4845149},
	{10, "100h", "10h", 2, 1.03863781863, 0.1425016005, 0.4480681091, 785.0153271, 1.590177895, 11.59017789, 0.2198577467, 0.36795459},
}

// Links of a whole fabric under one crew are the machines of a finite-source
// repair queue.
func TestRepairQueueOfAFabric(t *testing.T) {
	t.Parallel()
	shape := map[int][2]int{2: {2, 1}, 3: {3, 1}, 5: {5, 1}, 6: {2, 3}, 10: {5, 2}}
	for i, q := range finiteSource {
		length := int(1000 / q.yearly * 8760) // h: a thousand faults
		w := build(t, "queue", fmt.Sprintf(sure, "queue", fmt.Sprint(q.crew))+fmt.Sprintf(`
warm_up: %dh
horizon: %dh
fabric: {clos: {pods: 1, leaves: %d, spines: %d, tops: 0}}
failures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: %s}}, repair: {lead: 0s, hands_on: {exponential: {mean: %s}}}}]
`, length/10, length, shape[q.machines][0], shape[q.machines][1], q.life, q.work))
		name := fmt.Sprintf("%d machines, %d at work", q.machines, q.crew)
		all := playAll(w, uint64(1000+i), 40)
		hours := float64(all[0].To-all[0].From) / float64(hour)
		agrees(t, name+": down", each(all, func(r *record.Replication) float64 { return r.Present[0] }), q.down)
		agrees(t, name+": waiting", each(all, func(r *record.Replication) float64 { return r.Present[0] - r.HandsOn }), q.waiting)
		agrees(t, name+": busy", each(all, func(r *record.Replication) float64 { return r.HandsOn / float64(q.crew) }), q.busy)
		agrees(t, name+": a year", each(all, func(r *record.Replication) float64 { return float64(r.Onsets[0]) / hours * 8760 }), q.yearly)
		// Little's law with the two measured rates: mean time of a stay, and of a wait.
		agrees(t, name+": stay", each(all, stay), q.stay)
		var made, sound []float64
		for j := range all {
			r := &all[j]
			from := r.From + (r.To-r.From)/20 // what began before the window is not listed
			l := overlap(spells(r, every), q.machines, from, r.To)
			sound = append(sound, l.share[0])
			late, total := 0.0, 0.0
			for n := 1; n <= q.machines; n++ {
				total += l.reached[n]
				if n > q.crew {
					late += l.reached[n]
				}
			}
			made = append(made, late/total)
		}
		agrees(t, name+": has to wait", made, q.made)
		agrees(t, name+": all sound", sound, q.sound)
	}
}

// stay is the mean time from onset to repair, in h, of faults that began in the
// first nine tenths of the window, of which hardly any is open at its end.
func stay(r *record.Replication) float64 {
	sum, n := 0.0, 0
	for i := range r.Faults {
		f := &r.Faults[i]
		if f.Onset < r.To-(r.To-r.From)/10 && f.End != record.None {
			sum += float64(f.End-f.Onset) / float64(hour)
			n++
		}
	}
	return sum / float64(n)
}
