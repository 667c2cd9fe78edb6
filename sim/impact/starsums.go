package impact

import (
	"slices"

	"halflight/sim/forwarding"
)

// point is one of its entrances.
type point struct {
	x, first int32     // first: the router whose entry makes it lose
	arrives  []float64 // by plane: what leaves send there, see arriving
	spoke    forwarding.Spoke
}

// way is what goes one way.
type way struct {
	fault int32
	kind  uint8
	hops  int     // of the hub, in which some is lost so
	lost  float64 // summed over them: of what the hub sends to each
	own   float64 // by weight, of the points but for what comes of the sum
}

// starSums are those of a plane.
type starSums struct {
	lost float64 // summed over the hub's next hops: what is lost of what it sends to each, or comes back
	own  float64 // by weight, of the points but for what comes of the sum
	back float64 // by weight, of the points: share that comes to a next hop of the hub
}

// add makes room for a point.
func (s *star) add(x int32) *point {
	s.points = slices.Grow(s.points, 1)[:len(s.points)+1]
	p := &s.points[len(s.points)-1]
	p.x = x
	return p
}

// way finds what goes one way, or begins with it.
func (s *star) way(fault int32) *way {
	for i := range s.ways[1:] {
		if w := &s.ways[1+i]; w.fault == fault {
			return w
		}
	}
	s.ways = append(s.ways, way{fault: fault, kind: cellGray})
	return &s.ways[len(s.ways)-1]
}

// count adds what a router does that the hub sends to, or takes it off.
func (s *star) count(k *forwarding.Spoke, sign int) {
	if k.Back[0] > 0 {
		s.ways[0].count(float64(k.To[0]*k.Back[0]), sign)
	}
	for p := range s.classes {
		s.classes[p].lost += float64(sign) * (1 - float64(k.To[p]*(1-k.Lacks[p]-k.Back[p])))
	}
	if k.Sound {
		return
	}
	way := k.Way.Amount
	for i := range k.Losses {
		u := &k.Losses[i]
		lost := float64(k.To[0] * u.Amount)
		if way > 0 && u.Cause == k.Way.Cause {
			lost, way = lost+way, 0
		}
		s.way(u.Cause).count(lost, sign)
	}
	if way > 0 {
		s.way(k.Way.Cause).count(way, sign)
	}
}

func (w *way) count(lost float64, sign int) {
	if lost == 0 {
		return
	}
	if w.hops, w.lost = w.hops+sign, w.lost+float64(sign)*lost; w.hops == 0 {
		w.lost = 0
	}
}

// weigh adds a point by its weight, or takes it off.
func (s *star) weigh(p *point, sign float64) {
	k, w := &p.spoke, sign*p.arrives[0]
	for i := range s.classes {
		c, back, w := &s.classes[i], k.Back[i]/s.hops, sign*p.arrives[i]
		c.back += float64(w * back)
		c.own += float64(w * (k.Lacks[i] + float64(back*k.To[i])*(1-k.Lacks[i]-k.Back[i])))
	}
	back := float64(k.Back[0]/s.hops) * k.To[0]
	s.ways[0].own += float64(w * float64(back*(1-k.Back[0])))
	for i := range k.Losses {
		u := &k.Losses[i]
		s.way(u.Cause).own += float64(w * float64(u.Amount*(1-back)))
	}
}

// lack is what a point lacks in a plane.
func (s *star) lack(p *point, plane int) float64 {
	k := &p.spoke
	lost := s.classes[plane].lost + float64(k.To[plane]*(1-k.Lacks[plane]-k.Back[plane]))
	return k.Lacks[plane] + float64(k.Back[plane]/s.hops*lost)
}

// losses lists what a unit of traffic at a point loses.
func (s *star) losses(p *point, list []entryOfUnit) []entryOfUnit {
	k := &p.spoke
	back := k.Back[0] / s.hops
	for i := range s.ways {
		w := &s.ways[i]
		u := entryOfUnit{fault: w.fault, first: -1, kind: w.kind, whole: i == 0, amount: float64(back * w.lost)}
		if i == 0 {
			u.amount = float64(back * (w.lost + float64(k.To[0]*(1-k.Back[0]))))
		} else {
			for j := range k.Losses {
				if v := &k.Losses[j]; v.Cause == w.fault {
					u.amount += float64(v.Amount * (1 - float64(back*k.To[0])))
					u.whole = u.whole || v.Whole
				}
			}
		}
		if u.amount > 0 {
			list = append(list, u)
		}
	}
	return list
}
