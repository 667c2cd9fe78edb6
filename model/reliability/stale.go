package reliability

import "math"

// Stale says what a router of a Clos loses while it forwards by the tables it had: for a fault of every link, spine or top
// alike, the share of all demand that is lost from that fault on, summed over those faults that its tables do not answer.
// Leaves carry nobody else's traffic. Derived by counting; held against simulation.
type Stale struct{ Link, Spine, Top float64 }

// Pace is how often one part has faults of a kind, and how long each lasts: a second and s.
type Pace struct{ Rate, Lasts float64 }

// up is the share of all demand that a spine takes from its pod to others, and what it takes from leaf to leaf within.
func (c Clos) up() (up, inside float64) {
	n, m := float64(c.Pods*c.Leaves), float64(c.Leaves)
	if n < 2 {
		return 0, 0
	}
	return m * (n - m) / (n * (n - 1)) / float64(c.Spines), m * (m - 1) / (n * (n - 1)) / float64(c.Spines)
}

// StaleSpine is what a spine loses: to a dead uplink, or one of its tops, what it still sends there; to a dead link of
// such a top, what it sends over it to that pod. And to a link of a leaf elsewhere, or a spine, that returns: what
// others send it again while it has no route. In three stages nothing: for each leaf there is one link, and nobody
// sends it what goes there.
func (c Clos) StaleSpine() Stale {
	if c.Tops == 0 {
		return Stale{}
	}
	up, _ := c.up()
	return Stale{Link: 3 * up, Spine: up, Top: up}
}

// StaleTop is what a top loses: to a link of a leaf that returns, what spines send it again while it has no route.
func (c Clos) StaleTop() Stale {
	if c.Tops == 0 {
		return Stale{}
	}
	up, _ := c.up()
	return Stale{Link: float64(c.Pods) * up / float64(c.Tops)}
}

// StaleLeaf is what a leaf loses of what its own servers send: to a dead uplink; to a dead link between a spine of its
// plane and the leaf sent to; to a dead spine, of its own pod or the one sent to.
func (c Clos) StaleLeaf() Stale {
	n, m := float64(c.Pods*c.Leaves), float64(c.Leaves)
	if n < 2 {
		return Stale{}
	}
	return Stale{Link: 2 / n, Spine: (1 + (n-m)/(n-1)) / n}
}

// Lost is the expected loss, in seconds of all demand, of a restart with tables kept that lasts so many s, by Campbell's
// theorem: faults of a Poisson process, each from its instant to the end of the restart, or as long as it lasts.
func (s Stale) Lost(restart float64, links, spines, tops []Pace) float64 {
	sum := 0.0
	for _, of := range []struct {
		weight float64
		list   []Pace
	}{{s.Link, links}, {s.Spine, spines}, {s.Top, tops}} {
		for _, p := range of.list {
			d := math.Min(p.Lasts, restart)
			sum += float64(of.weight * p.Rate * d * (restart - float64(d/2)))
		}
	}
	return sum
}

// ColdSpine is what a spine loses that restarts without its tables and with traffic on it, in seconds of all demand:
// what leaves give it until they prune, and what comes from other pods until leaves there have converged.
func (c Clos) ColdSpine(prune, converge float64) float64 {
	up, inside := c.up()
	if c.Tops == 0 {
		return inside * prune
	}
	return float64((up+inside)*prune) + float64(up*converge)
}

// ColdTop is the same of a top: what spines give it until they prune.
func (c Clos) ColdTop(prune float64) float64 {
	if c.Tops == 0 {
		return 0
	}
	up, _ := c.up()
	return float64(c.Pods) * up / float64(c.Tops) * prune
}

// ColdLeaf is what is lost a second while a leaf restarts without its tables: all that its servers send and get, if they
// have no other leaf.
func (c Clos) ColdLeaf() float64 { return 2 / float64(c.Pods*c.Leaves) }

// KeepingPays is the length of a restart, in s, below which keeping tables loses less: where kept(L) = cold(L), found by
// halving; infinite if that lies beyond a century. kept must grow faster than cold. For faults that outlast the restart
// and a cold loss of c it is sqrt(2c / (weight x rate)).
func KeepingPays(kept, cold func(restart float64) float64) float64 {
	low, high := 0.0, 100*365*86400.0
	if kept(high) <= cold(high) {
		return math.Inf(1)
	}
	for range 200 {
		mid := (low + high) / 2
		if kept(mid) <= cold(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}
