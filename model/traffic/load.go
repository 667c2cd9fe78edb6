package traffic

import (
	"math"

	"halflight/model/fabric"
)

// Levels are the loads of a Clos with all in use and all tables at rest, bit/s
// in each direction: a link between leaf and spine, and one between spine and
// top (0 without tops). Up and down carry the same.
type Levels struct{ LeafSpine, SpineTop float64 }

// Sent returns what a leaf sends to others when a share of the access capacity
// is offered, bit/s. Without a number of servers a leaf has as many as the
// narrowest stage of the fabric can carry, so that a load of 1 fills that stage.
func (d *Demand) Sent(f *fabric.Fabric, load float64) float64 {
	if d.Servers > 0 {
		return load * d.Access * float64(d.Servers)
	}
	one := d.perBit(f)
	ls, st := speeds(f)
	most := ls / one.LeafSpine
	if one.SpineTop > 0 {
		most = math.Min(most, st/one.SpineTop)
	}
	return load * most
}

// Rest returns the loads of the links when a share of the access capacity is
// offered.
func (d *Demand) Rest(f *fabric.Fabric, load float64) Levels {
	sent, one := d.Sent(f, load), d.perBit(f)
	return Levels{sent * one.LeafSpine, sent * one.SpineTop}
}

// perBit is what one bit/s of every leaf puts on a link of either kind, the
// busiest one: equal ways share equally. With a Mix it is the mean leaf that sends
// one bit/s.
func (d *Demand) perBit(f *fabric.Fabric) Levels {
	c, n := f.Shape, float64(f.Leaves)
	if d.Mix != nil {
		return d.mixed(f)
	}
	l := Levels{LeafSpine: 1 / float64(max(c.Spines*c.Parallel, 1))}
	if c.Tops > 0 {
		away := (n - float64(c.Leaves)) / (n - 1) // of what a leaf sends, to other pods
		l.SpineTop = float64(c.Leaves) * away / float64(c.Spines*c.Tops)
	}
	return l
}

// mixed is perBit where not all pairs are alike.
func (d *Demand) mixed(f *fabric.Fabric) Levels {
	c, n := f.Shape, float64(f.Leaves)
	t := d.through(f)
	l := Levels{}
	for s, v := range t.leaf {
		if !f.Foreign(int32(s)) {
			l.LeafSpine = math.Max(l.LeafSpine, n*v/float64(c.Spines*c.Parallel))
		}
	}
	if c.Tops > 0 {
		for _, v := range t.far {
			l.SpineTop = math.Max(l.SpineTop, n*v/float64(c.Spines*c.Tops/max(f.Fabrics, 1)))
		}
	}
	return l
}

// speeds are those of the first link of either kind.
func speeds(f *fabric.Fabric) (leafSpine, spineTop float64) {
	for i := range f.Links {
		l := &f.Links[i]
		switch {
		case int(l.Lower) < f.Leaves && leafSpine == 0:
			leafSpine = l.Speed
		case int(l.Lower) >= f.Leaves && spineTop == 0:
			spineTop = l.Speed
		}
	}
	return leafSpine, spineTop
}

// Use is how full the fullest link is at rest, and with so many of a leaf's
// uplinks, or of a spine's, in use: the least share left is left, 0 to 1.
// What is lost upstream is not taken off (first order), and above 1 the excess
// is lost.
func (d *Demand) Use(f *fabric.Fabric, load, left float64) float64 {
	if left <= 0 {
		return math.Inf(1)
	}
	a, b := d.Uses(f, load)
	return math.Max(a, b) / left
}

// Uses is how full the links of either kind are at rest.
func (d *Demand) Uses(f *fabric.Fabric, load float64) (leafSpine, spineTop float64) {
	at := d.Rest(f, load)
	ls, st := speeds(f)
	if st > 0 {
		spineTop = at.SpineTop / st
	}
	return at.LeafSpine / ls, spineTop
}

// AccessUse is how full the fullest access link is, all in use. Without a number of
// servers a leaf has as many access links as make it the load. With one it is above
// the load where destinations without servers, or with little to send, leave more
// for the others.
func (d *Demand) AccessUse(f *fabric.Fabric, load float64) float64 {
	if d.Servers == 0 || d.Mix == nil {
		return load
	}
	most := 0.0
	for s := range int32(f.Leaves) {
		most = math.Max(most, d.Mix.Served(s))
	}
	return float64(load * most)
}

// Lost is the share of a load that a link too full for it loses.
func Lost(use float64) float64 {
	if use <= 1 {
		return 0
	}
	return 1 - 1/use
}

// Quiet is the share of the access capacity that is offered outside the busiest
// hour, so that the mean over a day is the load.
func (d *Demand) Quiet() float64 { return math.Max((24*d.Load-d.Busiest)/23, 0) }
