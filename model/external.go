package model

import (
	"fmt"

	"halflight/model/given"
	"halflight/model/setting"
	"halflight/model/traffic"
)

// external resolves who sends to whom where not all pairs are alike.
func (b *builder) external(d *traffic.Demand) {
	f := b.w.Fabric
	pods := f.Shape.Pods / max(f.Fabrics, 1)
	if x := b.s.Traffic.External; x != nil && !x.Off {
		d.External = traffic.External{Share: given.Or(x.Share, 0), At: traffic.Place(x.At)}
		switch d.External.At {
		case traffic.AtPod:
			if pods < 2 || f.Shape.Tops == 0 {
				b.bad("traffic.external.at", "a pod of their own for border leaves needs another pod for servers, in each fabric")
				return
			}
		case traffic.AtLeaves:
			d.External.Boxes = given.Or(x.Boxes, pods)
			if most := pods * f.Shape.Leaves; d.External.Boxes > most {
				b.bad("traffic.external.boxes", fmt.Sprintf("a fabric has %d leaves", most))
				return
			}
		default:
			if !b.w.Timers.OverloadLeaves {
				b.bad("traffic.external.at", "the outside would carry traffic between routers of this fabric: say overload: {leaves: true}")
				return
			}
		}
	}
	f.Border = d.External.Border(f)
	if d.Mix = traffic.NewMix(f, d.External); d.External.Share > 0 && b.s.Homing != nil {
		b.bad("homing", "servers are followed where all leaves of a fabric send alike: leave out traffic.external")
	}
}

// external lists traffic with what lies outside.
func (l *lister) external() {
	s, x := l.b.s.Traffic.External, &l.b.w.Traffic.External
	if x.Share == 0 {
		l.Add("traffic.external", "false", s != nil)
		return
	}
	l.Add("traffic.external.share", setting.Number(x.Share), true)
	l.Add("traffic.external.at", x.At.String(), true)
	if x.At == traffic.AtLeaves {
		l.Add("traffic.external.boxes", setting.Whole(x.Boxes), s.Boxes != nil)
	}
}
