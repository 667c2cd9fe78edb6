// Package homing reads how servers are attached to leaves, and how leaves know of one another's servers.
//
// It knows the words, not what becomes of them. It is tested through package scenarios, by every key of the language and by
// broken scenarios.
package homing

import (
	"halflight/scenarios/outline"
	"halflight/scenarios/unit"
)

// Homing says how groups of servers are attached. A nil *Homing: every server has one leaf, and nothing happens to its link.
type Homing struct {
	Groups        *int // groups of servers of a leaf
	Attachments   *int // 1 or 2
	Paired        *float64
	FollowUplinks *bool
	Keepalive     *Keepalive
	Moves         *Moves
}

// Keepalive is after how long servers stop using an attachment that has light and passes nothing.
type Keepalive struct {
	Off   bool
	After unit.Duration
}

// Moves says what replicas do when their servers are cut off.
type Moves struct {
	Off    bool
	Share  *float64
	Within *unit.Duration
}

// Overlay says when leaves stop sending to an attachment.
type Overlay struct{ Hold, Tracking, Withdraw *unit.Duration }

// groupsMost is how many groups of servers a leaf may have.
const groupsMost = 1024

// Read reads homing and overlay, nil where not given.
func Read(o *outline.Object) (*Homing, *Overlay) {
	var h *Homing
	if m := o.Open("homing"); m != nil {
		h = &Homing{}
		h.read(m)
	}
	m := o.Open("overlay")
	if m == nil {
		return h, nil
	}
	v := &Overlay{}
	m.Duration("hold", &v.Hold, 1)
	m.Duration("tracking", &v.Tracking, 0)
	m.Duration("withdraw", &v.Withdraw, 0)
	m.Done()
	if h == nil && !o.Has("homing") {
		o.Wrong("overlay", "overlay says how leaves know of attachments, and there are none", "give homing too, such as homing: {attachments: 2}")
	}
	return h, v
}

func (h *Homing) read(m *outline.Object) {
	m.Whole("groups", &h.Groups, 1, groupsMost)
	m.Whole("attachments", &h.Attachments, 1, 2)
	if n := m.Peek("paired"); n != nil && n.Value == "false" {
		m.Take("paired")
		h.Paired = new(float64)
	} else {
		m.Share("paired", &h.Paired, 1)
	}
	if h.Paired != nil && *h.Paired > 0 && (h.Attachments == nil || *h.Attachments < 2) {
		m.Wrong("paired", "leaves are paired by the servers that have both", "give attachments: 2")
	}
	m.Flag("follow_uplinks", &h.FollowUplinks)
	h.keepalive(m)
	if v, off, given := m.Switchable("moves"); given {
		h.Moves = &Moves{Off: off}
		if v != nil {
			v.Require("within")
			v.Share("share", &h.Moves.Share, 1)
			v.Duration("within", &h.Moves.Within, 0)
			v.Done()
		} else if !off {
			m.Wrong("moves", "true does not say how soon", "such as moves: {share: 50%, within: 1min}")
		}
	}
	m.Done()
}

func (h *Homing) keepalive(m *outline.Object) {
	if n := m.Peek("keepalive"); n != nil && n.Value == "false" {
		m.Take("keepalive")
		h.Keepalive = &Keepalive{Off: true}
		return
	}
	var after *unit.Duration
	if m.Duration("keepalive", &after, 1); after != nil {
		h.Keepalive = &Keepalive{After: *after}
	}
}
