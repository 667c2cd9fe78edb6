package impact

import "fmt"

func (l *Ledger) Describe() string {
	s := ""
	for d := int32(0); int(d) < l.f.Leaves; d++ {
		for x := int32(0); int(x) < l.f.Leaves; x++ {
			for _, e := range l.entries.of(d, x) {
				s += fmt.Sprintf(" %d>%d f%d k%d first%d %.3f;", x, d, e.fault, e.kind, e.first, float64(e.amount)/l.unit)
			}
		}
	}
	return s
}
