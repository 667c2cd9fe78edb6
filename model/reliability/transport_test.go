package reliability

import "testing"

// Header sizes added up from the figures of the RFCs named.
func TestTransport(t *testing.T) {
	for _, c := range []struct {
		transport Transport
		header    int
		of1500    int // largest inner packet at an MTU of 1,500
		source    string
	}{
		{VXLAN(false), 50, 1450, "RFC 7348 section 5: IPv4 20, UDP 8, VXLAN 8, inner Ethernet 14"},
		{VXLAN(true), 70, 1430, "RFC 7348 section 5: IPv6 40, UDP 8, VXLAN 8, inner Ethernet 14"},
		{IPv6InIPv6(), 40, 1460, "RFC 8200 section 3: 40"},
		{SegmentRouting(1, false), 64, 1436, "RFC 8754 section 2: 40 + 8 + 16"},
		{SegmentRouting(1, true), 40, 1460, "RFC 8754 section 4.1: one segment needs no routing header"},
		{SegmentRouting(3, false), 96, 1404, "RFC 8754 section 2: 40 + 8 + 3 x 16"},
		{SegmentRouting(3, true), 80, 1420, "RFC 8754 section 4.1.1: the first segment is left out"},
		{SegmentRouting(127, false), 2080, 0, "RFC 8754 section 2: 40 + 8 + 127 x 16 = 40 + 8 + 8 x 254"},
		{Labels(1), 4, 1496, "RFC 3032 section 2.1: 4 bytes an entry"},
		{Labels(5), 20, 1480, "RFC 3032 section 2.1: 4 bytes an entry"},
	} {
		if c.transport.Header != c.header {
			t.Errorf("%s: %d bytes, want %d (%s)", c.transport.Name, c.transport.Header, c.header, c.source)
		}
		if got := c.transport.InnerLargest(1500); got != c.of1500 {
			t.Errorf("%s: largest packet %d, want %d", c.transport.Name, got, c.of1500)
		}
		if got := c.transport.MTUNeeded(1500); got != 1500+c.header {
			t.Errorf("%s: MTU %d, want %d", c.transport.Name, got, 1500+c.header)
		}
		within(t, c.transport.Name, c.transport.Overhead(1000), float64(c.header)/float64(1000+c.header), 1e-15)
	}
	// A header of 255 units of 8 bytes after the first 8 holds 127 addresses of 16 (RFC 8754 section 2).
	if segmentsMost != 255*8/segmentEntry {
		t.Errorf("%d segments at most", segmentsMost)
	}
	if MTUIPv6 != 1280 {
		t.Error("RFC 8200 section 5: 1,280")
	}
}
