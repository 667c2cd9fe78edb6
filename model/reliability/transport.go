package reliability

import "fmt"

// Header sizes in bytes, and the document of each.
const (
	headerIPv4     = 20 // RFC 791 section 3.1, without options
	headerIPv6     = 40 // RFC 8200 section 3
	headerUDP      = 8  // RFC 768
	headerVXLAN    = 8  // RFC 7348 section 5
	headerEthernet = 14 // RFC 7348 section 5, the inner one, without tag and check sequence
	headerSegments = 8  // RFC 8754 section 2, before its list
	segmentEntry   = 16 // RFC 8754 section 2, one IPv6 address
	labelEntry     = 4  // RFC 3032 section 2.1
	// segmentsMost follows from the header's length, 8 bits in units of 8 bytes (RFC 8754 section 2).
	segmentsMost = 127
)

// MTUIPv6 is the least MTU of a link that carries IPv6 (RFC 8200 section 5).
const MTUIPv6 = 1280

// Transport is a way of carrying packets between leaves: what it puts between the outer link header and the packet of
// the server.
type Transport struct {
	Name   string
	Header int // bytes
}

// VXLAN carries the server's Ethernet frame in UDP over IPv4 or, with over6, IPv6 (RFC 7348).
func VXLAN(over6 bool) Transport {
	ip, name := headerIPv4, "VXLAN over IPv4"
	if over6 {
		ip, name = headerIPv6, "VXLAN over IPv6"
	}
	return Transport{Name: name, Header: ip + headerUDP + headerVXLAN + headerEthernet}
}

// IPv6InIPv6 carries the server's packet behind one more IPv6 header (RFC 8200, RFC 2473).
func IPv6InIPv6() Transport { return Transport{Name: "IPv6 in IPv6", Header: headerIPv6} }

// SegmentRouting carries the packet behind an IPv6 header and a segment routing header of 1 to 127 segments, no TLVs
// (RFC 8754). Reduced leaves the first segment, which is the destination already, out of the list (section 4.1.1), and
// with it the whole routing header when it is the only one.
func SegmentRouting(segments int, reduced bool) Transport {
	require(segments >= 1 && segments <= segmentsMost, "a segment routing header takes 1 to 127 segments")
	t := Transport{Name: fmt.Sprintf("segment routing, %d segments", segments), Header: headerIPv6}
	listed := segments
	if reduced {
		t.Name += ", reduced"
		listed--
	}
	if listed > 0 {
		t.Header += headerSegments + listed*segmentEntry
	}
	return t
}

// Labels carries the packet behind a stack of label entries, at least one (RFC 3032).
func Labels(entries int) Transport {
	require(entries >= 1, "a label stack has at least one entry")
	return Transport{Name: fmt.Sprintf("label stack, %d entries", entries), Header: entries * labelEntry}
}

// InnerLargest is the largest packet of the server, its IP header included, that fits where links carry mtu bytes behind
// their own header; 0 when none does.
func (t Transport) InnerLargest(mtu int) int { return max(0, mtu-t.Header) }

// MTUNeeded is the least MTU that carries a server's packet of inner bytes.
func (t Transport) MTUNeeded(inner int) int { return inner + t.Header }

// Overhead is the share of the carried bytes that is header, for a server's packet of inner bytes.
func (t Transport) Overhead(inner int) float64 {
	require(inner > 0, "a packet has at least one byte")
	return float64(t.Header) / float64(t.Header+inner)
}
