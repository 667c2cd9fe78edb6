package traffic

import (
	"math"

	"halflight/model/fabric"
)

// Box is a kind of router and the share of all demand that one of them carries at
// rest, what begins or ends there included.
type Box struct {
	Name   string
	Number int
	Share  float64 // of all demand, by the busiest of them
}

// Boxes lists the kinds of router of a Clos that carry anything, leaves first. Equal
// ways share equally, and all is in use.
func (d *Demand) Boxes(f *fabric.Fabric) []Box {
	names := []string{"leaf", "border leaf", "spine", "top"}
	list := make([]Box, len(names))
	for i := range list {
		list[i].Name = names[i]
	}
	for x := range f.Routers {
		kind := 0
		switch c := f.Routers[x].Class; {
		case f.Foreign(int32(x)):
			continue
		case c == fabric.Spine:
			kind = 2
		case c == fabric.Top:
			kind = 3
		case f.Border != nil && f.Border[x]:
			kind = 1
		}
		list[kind].Number++
	}
	t := d.through(f)
	for s, v := range t.leaf {
		kind := 0
		if f.Border != nil && f.Border[s] {
			kind = 1
		}
		if !f.Foreign(int32(s)) {
			list[kind].Share = math.Max(list[kind].Share, 2*v)
		}
	}
	for _, v := range t.pod {
		list[2].Share = math.Max(list[2].Share, v/float64(f.Shape.Spines))
	}
	for _, v := range t.tops {
		list[3].Share = math.Max(list[3].Share, v/float64(f.Shape.Spines*f.Shape.Tops/max(f.Fabrics, 1)))
	}
	out := list[:0]
	for _, b := range list {
		if b.Number > 0 {
			out = append(out, b)
		}
	}
	return out
}

// Hottest is the share of all demand that the busiest router carries at rest.
func (d *Demand) Hottest(f *fabric.Fabric) float64 {
	most := 0.0
	for _, b := range d.Boxes(f) {
		most = math.Max(most, b.Share)
	}
	return most
}

// through is what passes each part at rest, as shares of all demand.
type through struct {
	leaf []float64 // by destination: what it sends
	pod  []float64 // by pod: what passes its spines, each pair once
	far  []float64 // by pod: what goes up from its spines to tops
	tops []float64 // by fabric: what passes its tops
}

func (d *Demand) through(f *fabric.Fabric) through {
	k := max(f.Fabrics, 1)
	t := through{make([]float64, f.Leaves), make([]float64, f.Shape.Pods), make([]float64, f.Shape.Pods), make([]float64, k)}
	all := float64(f.Leaves * (f.Leaves - 1))
	atTops := f.Outside > 0 && f.Routers[f.Ports[f.Leaves-1][0].Peer].Class == fabric.Top
	for s := range int32(f.Leaves) {
		for e := range int32(f.Leaves) {
			w := d.Mix.Pair(s, e) / all
			if w == 0 {
				continue
			}
			t.leaf[s] += w
			a, b := f.Routers[s].First, f.Routers[e].First
			switch in, out := f.Foreign(s), f.Foreign(e); {
			case in || out:
				near := a
				if in {
					near = b
				}
				t.pod[near] += w
				if atTops {
					t.tops[f.Of(s)] += w
					if out {
						t.far[near] += w
					}
				}
			case a == b:
				t.pod[a] += w
			default:
				t.pod[a] += w
				t.pod[b] += w
				t.far[a] += w
				t.tops[f.Of(s)] += w
			}
		}
	}
	return t
}
