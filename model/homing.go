package model

import (
	"fmt"

	"halflight/model/failure"
	"halflight/model/given"
	"halflight/model/homing"
	"halflight/model/setting"
	"halflight/scenarios"
	typed "halflight/scenarios/homing"
)

// homing resolves how servers are attached.
func (b *builder) homing() {
	h, f := b.s.Homing, b.w.Fabric
	if h == nil {
		return
	}
	p := homing.Default()
	p.Groups, p.Attachments = given.Or(h.Groups, p.Groups), given.Or(h.Attachments, p.Attachments)
	p.Paired, p.FollowUplinks = given.Or(h.Paired, 0), given.Or(h.FollowUplinks, false)
	if k := h.Keepalive; k != nil {
		p.Keepalive = int64(k.After)
		if k.Off {
			p.Keepalive = homing.Never
		}
	}
	if m := h.Moves; m != nil && !m.Off {
		p.MovesShare, p.MovesWithin = given.Or(m.Share, 1), given.Span(m.Within, 0)
	}
	if o := b.s.Overlay; o != nil {
		p.Hold, p.Tracking, p.Withdraw = given.Span(o.Hold, p.Hold), given.Span(o.Tracking, p.Tracking), given.Span(o.Withdraw, p.Withdraw)
	}
	if p.Attachments == 2 && f.Shape.Leaves%2 != 0 {
		b.bad("homing.attachments", fmt.Sprintf("leaves of a pod are mates two by two: %d is odd", f.Shape.Leaves))
		return
	}
	if f.Leaves > homing.LeavesMost {
		b.bad("homing", fmt.Sprintf("servers are followed on up to %d leaves, this fabric has %d: leave homing out, or take fewer pods", homing.LeavesMost, f.Leaves))
		return
	}
	b.w.Homing, f.Access = p, p.Access(f)
}

// placeAccess fills in the access link of a fault.
func (b *builder) placeAccess(path string, p scenarios.Part, f *failure.Scripted) bool {
	h, c := &b.w.Homing, b.w.Fabric.Shape
	first, at := int32(p.Servers.First*c.Leaves+p.Servers.Second), int32(p.A.First*c.Leaves+p.A.Second)
	attachment := 0
	switch {
	case !h.On():
		b.bad(path, "access links are not followed: say homing: {attachments: 1}")
		return false
	case p.Servers.Number >= h.Groups:
		b.bad(path, fmt.Sprintf("groups of servers of a leaf are numbered 0 to %d: see homing.groups", h.Groups-1))
		return false
	case at != first && at != h.Mate(first):
		b.bad(path, "these servers are not attached to this leaf: their first leaf is in their name, and with attachments: 2 there is its mate, "+b.w.Fabric.Routers[h.Mate(first)].Name)
		return false
	case at != first:
		attachment = 1
	}
	link := h.Link(first, p.Servers.Number, attachment)
	f.On, f.Access = h.Name(b.w.Fabric, link), []int32{link}
	return true
}

// homing lists how servers are attached, if they are followed.
func (l *lister) homing() {
	p, h, o := &l.b.w.Homing, l.b.s.Homing, l.b.s.Overlay
	if !p.On() {
		return
	}
	if o == nil {
		o = &typed.Overlay{}
	}
	l.Add("homing.groups", setting.Whole(p.Groups), h.Groups != nil)
	l.Add("homing.attachments", setting.Whole(p.Attachments), h.Attachments != nil)
	if p.Attachments == 2 {
		l.Add("homing.paired", setting.Number(p.Paired), h.Paired != nil)
	}
	l.Add("homing.follow_uplinks", setting.Yes(p.FollowUplinks), h.FollowUplinks != nil)
	if p.Keepalive == homing.Never {
		l.Add("homing.keepalive", "false", true)
	} else {
		l.Time("homing.keepalive", p.Keepalive, h.Keepalive != nil)
	}
	if m := h.Moves; m == nil || m.Off {
		l.Add("homing.moves", "false", m != nil)
	} else {
		l.Add("homing.moves.share", setting.Number(p.MovesShare), m.Share != nil)
		l.Time("homing.moves.within", p.MovesWithin, true)
	}
	l.Time("overlay.hold", p.Hold, o.Hold != nil)
	l.Time("overlay.tracking", p.Tracking, o.Tracking != nil)
	l.Time("overlay.withdraw", p.Withdraw, o.Withdraw != nil)
}
