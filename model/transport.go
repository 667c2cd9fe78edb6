package model

import (
	"fmt"

	"halflight/model/given"
	"halflight/model/setting"
	"halflight/model/transport"
)

// transport resolves what carries packets, which says how many entries tables
// have and whether there are repair tunnels.
func (b *builder) transport() {
	s := b.s.Transport
	if s == nil || s.Off {
		return
	}
	t := transport.Default(transport.By(s.By))
	t.Segments, t.Entropy, t.MTU = given.Or(s.Segments, t.Segments), given.Or(s.Entropy, t.Entropy), int(given.Or(s.MTU, int64(t.MTU)))
	if t.MTU < t.InRepair()+packetLeast {
		b.bad("transport.mtu", fmt.Sprintf("%d bytes leave no room for a server's packet: %d of header and at least %d", t.MTU, t.InRepair(), packetLeast))
	}
	if b.s.FIB.Families != nil || b.s.FIB.Labels != nil {
		b.bad("transport", "transport says what tables hold, and so do fib.families and fib.labels: keep one")
	}
	w := b.w
	w.Transport = t
	w.Timers.Entries = w.Timers.Prefixes * int64(t.Entries())
	if b.s.FIB.RepairTunnel == nil {
		w.Timers.RepairTunnel = t.Repairs()
	}
	w.Traffic.Header = float64(t.Header())
	for i := range w.Classes {
		w.Classes[i].Header = w.Traffic.Header
	}
}

// packetLeast is the least packet that is worth carrying: what every host that
// speaks IPv4 takes (RFC 791 section 3.1, 576 bytes).
const packetLeast = 576

// transport lists what carries packets.
func (l *lister) transport() {
	s, t := l.b.s.Transport, l.b.w.Transport
	if !t.On {
		l.Add("transport", "false", s != nil)
		return
	}
	l.Add("transport.by", t.By.String(), true)
	if t.Repairs() {
		l.Add("transport.segments", setting.Whole(t.Segments), s.Segments != nil)
	}
	if t.LabelEntries() > 0 {
		l.Add("transport.entropy", setting.Yes(t.Entropy), s.Entropy != nil)
	}
	l.Add("transport.mtu", setting.Whole(t.MTU)+"B", s.MTU != nil)
}
