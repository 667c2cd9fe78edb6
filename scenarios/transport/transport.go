// Package transport reads how packets are carried between leaves.
//
// It knows the words, not what becomes of them. It is tested through package scenarios, by every key of the language and by
// broken scenarios.
package transport

import "halflight/scenarios/outline"

// Words are those of By, in order.
var Words = []string{"ipv4", "ipv6", "both", "labels", "segments_labels", "segments_ipv6"}

// Transport says what packets are carried by. A nil *Transport: nothing is said, and tables are as fib has them.
type Transport struct {
	Off      bool
	By       int   // place in Words
	Segments *int  // of a way that is given by segments
	Entropy  *bool // label stacks carry an entropy label
	MTU      *int64
}

// segmentsMost is far more than a way through a Clos and around it needs; a routing header would take 127 (RFC 8754 section 2).
const segmentsMost = 16

// The words that segments and entropy go with.
const (
	labels         = 3
	segmentsLabels = 4
	segmentsIPv6   = 5
)

// Read reads the transport, nil where not given.
func Read(o *outline.Object) *Transport {
	m, off, given := o.Switchable("transport")
	if !given {
		return nil
	}
	t := &Transport{Off: off}
	if m == nil {
		if !off {
			o.Wrong("transport", "true does not say what packets are carried by", "such as transport: {by: ipv6}")
		}
		return t
	}
	m.Require("by")
	t.By = max(m.Word("by", Words...), 0)
	m.Whole("segments", &t.Segments, 1, segmentsMost)
	m.Flag("entropy", &t.Entropy)
	m.Bytes("mtu", &t.MTU)
	m.Done()
	if t.Segments != nil && t.By != segmentsLabels && t.By != segmentsIPv6 {
		m.Wrong("segments", Words[t.By]+" has no segments", "they go with segments_labels and segments_ipv6")
	}
	if t.Entropy != nil && t.By != labels && t.By != segmentsLabels {
		m.Wrong("entropy", Words[t.By]+" has room for entropy in its header as it is", "an entropy label goes with labels and segments_labels")
	}
	return t
}
