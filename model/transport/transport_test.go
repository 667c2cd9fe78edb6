package transport

import "testing"

// A worked example of each way: the figures of the RFCs added up by hand, at an
// MTU of 1,500 bytes.
func TestWorkedExamples(t *testing.T) {
	for _, c := range []struct {
		by             By
		segments       int
		entropy        bool
		header, repair int
		inner          int
		entries, bits  int
		repairs        bool
		sum            string
	}{
		{IPv4, 1, true, 50, 50, 1450, 1, 14, false, "RFC 7348 section 5: IPv4 20 + UDP 8 + VXLAN 8 + inner Ethernet 14"},
		{IPv6, 1, true, 70, 70, 1430, 1, 14, false, "RFC 7348 section 5, RFC 8200 section 3: IPv6 40 + 8 + 8 + 14"},
		{Both, 1, true, 70, 70, 1430, 2, 14, false, "the longer of the two; a prefix of each family"},
		{Labels, 1, false, 8, 8, 1492, 2, 0, false, "RFC 3032 section 2.1: 4 for the way + 4 for whose packet it is"},
		{Labels, 1, true, 16, 16, 1484, 2, 20, false, "RFC 6790 section 4.2: 2 entries of 4 more"},
		{SegmentsLabels, 1, false, 8, 12, 1492, 2, 0, true, "RFC 3032: as a label; 4 more in repair"},
		{SegmentsLabels, 3, true, 24, 28, 1476, 2, 20, true, "RFC 3032: (3 + 1 + 2) x 4"},
		{SegmentsIPv6, 1, true, 40, 64, 1460, 1, 20, true, "RFC 8754 section 4.1: IPv6 40 alone; in repair 40 + 8 + 1 x 16"},
		{SegmentsIPv6, 2, true, 64, 80, 1436, 1, 20, true, "RFC 8754 section 4.1.1: 40 + 8 + 1 x 16; in repair 40 + 8 + 2 x 16"},
	} {
		one := Transport{On: true, By: c.by, Segments: c.segments, Entropy: c.entropy, MTU: 1500}
		if one.Header() != c.header || one.InRepair() != c.repair || one.Inner() != c.inner || one.InnerInRepair() != 1500-c.repair {
			t.Errorf("%v, %d segments: header %d, in repair %d, inner %d; want %d, %d, %d (%s)", c.by, c.segments, one.Header(), one.InRepair(), one.Inner(),
				c.header, c.repair, c.inner, c.sum)
		}
		if one.Entries() != c.entries || one.EntropyBits() != c.bits || one.Repairs() != c.repairs {
			t.Errorf("%v: %d entries, %d bits, repairs %v; want %d, %d, %v", c.by, one.Entries(), one.EntropyBits(), one.Repairs(), c.entries, c.bits, c.repairs)
		}
	}
	// RFC 7348 section 5 wants source ports of the dynamic range, 49152 to 65535: 2^14 of them.
	if 1<<bitsPort != 65535-49152+1 {
		t.Error("ports")
	}
	if (Transport{By: IPv6, MTU: 1500}).Header() != 0 {
		t.Error("what is off adds nothing")
	}
}

// Every way has a word, and the list holds each once.
func TestAll(t *testing.T) {
	list := Default(IPv6).All()
	if len(list) != int(count) {
		t.Fatalf("%d ways", len(list))
	}
	for i, one := range list {
		if one.By != By(i) || one.By.String() == "" || one.MTU != 1500 {
			t.Errorf("%+v", one)
		}
	}
}
