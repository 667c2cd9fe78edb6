package linkstate

import "fmt"

func (c *Control) Describe(sub uint8, a int32) string {
	switch Kind(sub) {
	case Write, EndRun, Expire:
		s := fmt.Sprint([]string{"originate","expire","start","endrun","write"}[sub])
		for _, x := range c.batches.all[a] {
			s += " " + c.f.Routers[x].Name
			if Kind(sub) == Write { for _, w := range c.routers[x].pending { s += fmt.Sprintf("[%s=%b@%d]", c.f.Routers[w.dest].Name, w.set[0], w.at/1000) } }
			if Kind(sub) == EndRun { for _, w := range c.routers[x].computed { s += fmt.Sprintf("[%s=%b]", c.f.Routers[w.dest].Name, w.set[0]) } }
		}
		return s
	}
	return ""
}
