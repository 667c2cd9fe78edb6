package repair

import (
	"fmt"
	"testing"

	"halflight/model/fabric"
)

// glacier is 36 pods of 40 leaves and 24 spines, 24 planes of 24 tops: 2,880
// routers, 55,296 links.
func glacier(b *testing.B) *fabric.Fabric { return clos(b, 36, 40, 24, 24, 1) }

// A ticket from sighting to close, for a link of a leaf and one of a spine.
func BenchmarkTicket(b *testing.B) {
	for _, c := range []struct {
		ends string
		link int32
	}{{"leaf-spine", 0}, {"spine-top", 36 * 40 * 24}} {
		b.Run(fmt.Sprintf("routers=2880/link=%s", c.ends), func(b *testing.B) {
			p := newPlay(glacier(b), plan(0))
			p.seen = func(Action) {}
			t := Ticket{Links: []int32{c.link}, Attempts: []Attempt{visit(true)}}
			for b.Loop() {
				p.open(t)
				p.until(p.now + hour)
			}
			if p.o.Drains == 0 {
				b.Error("nothing was drained")
			}
		})
	}
}

// One adjacency that goes down and comes up.
func BenchmarkBelieve(b *testing.B) {
	for _, c := range []struct {
		ends string
		link int32
	}{{"leaf-spine", 0}, {"spine-top", 36 * 40 * 24}} {
		b.Run(fmt.Sprintf("routers=2880/link=%s", c.ends), func(b *testing.B) {
			p := newPlay(glacier(b), plan(0))
			for b.Loop() {
				p.now++
				p.believe(c.link, false)
				p.believe(c.link, true)
			}
		})
	}
}
