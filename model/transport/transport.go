// Package transport is how packets are carried between leaves: what that adds to
// a packet, to tables, and to what routers can spread flows by.
//
// It knows no fabric. It is tested against the header figures of the RFCs, a
// worked example each.
package transport

import "halflight/model/reliability"

// By is what carries a server's packet from leaf to leaf.
type By uint8

// The ways of carrying. IPv4, IPv6 and both carry the server's frame in UDP
// (RFC 7348); labels and segments carry its packet.
const (
	IPv4 By = iota
	IPv6
	Both
	Labels
	SegmentsLabels
	SegmentsIPv6
	count
)

var names = [count]string{"ipv4", "ipv6", "both", "labels", "segments_labels", "segments_ipv6"}

// String returns the word of a scenario.
func (b By) String() string { return names[b] }

// Transport is a way of carrying in numbers. The zero value, with On false, adds
// nothing.
type Transport struct {
	On       bool
	By       By
	Segments int  // that a way is made of, at least 1
	Entropy  bool // two more entries of a label stack (RFC 6790 section 4.2)
	MTU      int  // bytes that links carry behind their own header
}

// Default returns a way of carrying of which nothing else is said.
func Default(by By) Transport {
	return Transport{On: true, By: by, Segments: 1, Entropy: true, MTU: 1500}
}

// All lists every way of carrying, with this one's segments, entropy and MTU.
func (t Transport) All() []Transport {
	var list []Transport
	for by := range count {
		one := t
		one.On, one.By = true, by
		list = append(list, one)
	}
	return list
}

// service is the label entry that says whose packet it is (RFC 4364 section 5,
// from memory).
const service = 1

// entropyEntries are the indicator and the label of RFC 6790 section 4.2.
const entropyEntries = 2

// header is what a way of so many segments adds.
func (t Transport) header(segments int) reliability.Transport {
	switch t.By {
	case IPv4:
		return reliability.VXLAN(false)
	case IPv6, Both: // both: what fits the longer one fits both
		return reliability.VXLAN(true)
	case SegmentsIPv6:
		return reliability.SegmentRouting(segments, true)
	}
	entries := segments + service
	if t.Entropy {
		entries += entropyEntries
	}
	return reliability.Labels(entries)
}

// segments are those of the way: label switching has one label for it.
func (t Transport) segments() int {
	if t.By == Labels {
		return 1
	}
	return t.Segments
}

// Header is how many bytes are added to a packet.
func (t Transport) Header() int {
	if !t.On {
		return 0
	}
	return t.header(t.segments()).Header
}

// InRepair is the same of a packet that goes around a dead link: its way has one
// segment more. Without repair tunnels nothing does.
func (t Transport) InRepair() int {
	if !t.Repairs() {
		return t.Header()
	}
	return t.header(t.segments() + 1).Header
}

// Inner is the largest packet of a server that fits, in repair if there is such
// a thing.
func (t Transport) Inner() int { return t.header(t.segments()).InnerLargest(t.MTU) }

// InnerInRepair is the largest that fits while it is led around a dead link too.
func (t Transport) InnerInRepair() int { return max(0, t.MTU-t.InRepair()) }

// Families is how many families of prefixes tables hold.
func (t Transport) Families() int {
	if t.By == Both {
		return 2
	}
	return 1
}

// LabelEntries is how many label entries a prefix has.
func (t Transport) LabelEntries() int {
	if t.By == Labels || t.By == SegmentsLabels {
		return 1
	}
	return 0
}

// Entries is how many table entries a destination has.
func (t Transport) Entries() int {
	return t.Families() * (1 + t.LabelEntries())
}

// Repairs says whether a way around a dead link can be put into the packet, so
// that repair tunnels need no state of their own.
func (t Transport) Repairs() bool { return t.By == SegmentsLabels || t.By == SegmentsIPv6 }

// Entropy bits: the UDP source port from 49152 to 65535 (RFC 7348 section 5), the
// flow label (RFC 8200 section 3), the entropy label (RFC 6790 section 4.2).
const (
	bitsPort  = 14
	bitsFlow  = 20
	bitsLabel = 20
)

// EntropyBits is how many bits of a flow routers can spread by without looking
// into the server's packet.
func (t Transport) EntropyBits() int {
	switch t.By {
	case SegmentsIPv6:
		return bitsFlow
	case IPv4:
		return bitsPort
	case IPv6, Both: // a router may take port or flow label: no more than the flow decides
		return bitsPort
	}
	if t.Entropy {
		return bitsLabel
	}
	return 0
}
