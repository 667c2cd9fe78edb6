package messages

import "halflight/model/failure"

// planScript plans every instant at which the script changes something. All
// physical changes of one instant are taken together, and so are drains.
func (p *play) planScript() {
	planned := map[[2]int64]bool{}
	at := func(t int64, drains bool) {
		key, s, do := [2]int64{t, 0}, physical, p.faultsChange
		if drains {
			key, s, do = [2]int64{t, 1}, operator, p.drainsChange
		}
		if !planned[key] {
			planned[key] = true
			p.plan(event{at: t, stage: s, part: [2]int32{1, 0}, do: do})
		}
	}
	for i := range p.world.Script {
		s := &p.world.Script[i]
		p.faults = append(p.faults, faultState{Scripted: s})
		drains := s.Kind == failure.Drain
		at(s.At, drains)
		if s.End >= 0 {
			at(s.End, drains)
		}
		for _, c := range s.Changes {
			at(s.At+c, drains)
		}
	}
}

// inForce says whether a fault is on its parts at an instant.
func (f *faultState) inForce(t int64) bool {
	if t < f.At || f.End >= 0 && t >= f.End {
		return false
	}
	if f.Kind != failure.Flapping {
		return true
	}
	off := false
	for _, c := range f.Changes {
		if f.At+c <= t {
			off = !off
		}
	}
	return off
}

// condition is what the faults in force come to.
type condition struct {
	dead, dark []bool    // routers: dead; and without light
	cut, unlit []bool    // links: cut; and without light
	passes     []float64 // directions: the share of packets that lossy faults and holes let by
	narrow     []float64 // directions: the largest size that passes
	stopped    []bool    // directions: nothing passes
	slow       []float64 // routers: what their times are multiplied by
}

func (p *play) conditionNow() condition {
	n, l := len(p.routers), len(p.f.Links)
	c := condition{make([]bool, n), make([]bool, n), make([]bool, l), make([]bool, l), make([]float64, 2*l), make([]float64, 2*l), make([]bool, 2*l), make([]float64, n)}
	for r := range c.slow {
		c.slow[r] = 1
	}
	for d := range c.passes {
		c.passes[d], c.narrow[d] = 1, 1e18
	}
	for i := range p.faults {
		f := &p.faults[i]
		if !f.inForce(p.now) || f.Kind == failure.Drain {
			continue
		}
		if f.Kind == failure.Slow {
			for _, r := range f.Routers {
				c.slow[r] *= f.Factor
			}
			continue
		}
		for _, r := range f.Routers {
			c.dead[r] = true
			c.dark[r] = c.dark[r] || !f.Light
		}
		if !f.Kind.Gray() {
			for _, l := range f.Links {
				c.cut[l] = true
				c.unlit[l] = c.unlit[l] || !f.Light
			}
			continue
		}
		directions := append([]int32(nil), f.Directions...)
		for _, l := range f.Links {
			directions = append(directions, 2*l, 2*l+1)
		}
		for _, d := range directions {
			c.gray(d, f)
		}
	}
	return c
}

// gray puts one fault on one direction.
func (c *condition) gray(d int32, f *faultState) {
	switch f.Kind {
	case failure.Oversize:
		c.narrow[d] = min(c.narrow[d], f.Above)
	case failure.Blackhole:
		c.passes[d] *= 1 - f.Share
		c.stopped[d] = c.stopped[d] || f.Share == 1
	default:
		c.passes[d] *= 1 - f.Loss
		c.stopped[d] = c.stopped[d] || f.Loss == 1
	}
}

// faultsChange takes all physical changes of an instant together.
func (p *play) faultsChange() {
	c := p.conditionNow()
	p.moved = true
	for r, x := range p.routers {
		if x.slow != c.slow[r] {
			p.meets()
			p.tell(int32(r), input{kind: slows, factor: c.slow[r]})
		}
		if x.alive == !c.dead[r] {
			continue
		}
		p.meets()
		if c.dead[r] {
			p.tell(int32(r), input{kind: fails})
			p.endsOf(int32(r), p.silence)
			continue
		}
		p.tell(int32(r), input{kind: returns})
		p.endsOf(int32(r), p.restart)
	}
	for l := range p.lines {
		p.lineChanges(int32(l), &c)
	}
}

// drainsChange takes all drains of an instant together: S26.
func (p *play) drainsChange() {
	all := make([]bool, len(p.routers))
	one := make([]bool, 2*len(p.f.Links))
	for i := range p.faults {
		f := &p.faults[i]
		if f.Kind != failure.Drain || !f.inForce(p.now) {
			continue
		}
		for _, r := range f.Routers {
			all[r] = true
		}
		for _, l := range f.Links {
			one[2*l], one[2*l+1] = true, true
		}
		for _, d := range f.Directions {
			one[d] = true
		}
	}
	for r, x := range p.routers {
		if x.drainedAll != all[r] {
			p.tell(int32(r), input{kind: drain, circuit: -1, on: all[r]})
		}
		for c, port := range p.f.Ports[r] {
			if on := one[port.Out()]; x.drained[c] != on {
				p.tell(int32(r), input{kind: drain, circuit: c, on: on})
			}
		}
	}
}
