// Package homing says how groups of servers are attached to leaves, and when
// leaves stop sending to an attachment.
//
// It numbers groups and their links; it knows nothing of what fails. It is tested
// by hand and through package model.
package homing

import (
	"fmt"

	"halflight/model/fabric"
)

// Plan is how servers are attached. Times are ns. The zero value: every server
// has one leaf, and nothing is followed beyond it.
type Plan struct {
	Groups        int     // groups of servers of a leaf; 0: nothing is followed
	Attachments   int     // 1 or 2
	Paired        float64 // share of a leaf's own failures that strike its mate too
	FollowUplinks bool    // a leaf without uplinks takes its access links down
	Keepalive     int64   // until servers leave an attachment that has light and passes nothing; Never
	MovesShare    float64 // of what a group does, that others take over; 0: nothing moves
	MovesWithin   int64   // since the group was cut off

	Tracking int64 // until a leaf forgets attachments of a leaf that is missing from its table
	Withdraw int64 // from a change of an access link, as its leaf notices, until other leaves know
	Hold     int64 // until an overlay session over which nothing passes drops
}

// Never is a time that does not come.
const Never = int64(1) << 62

// Default returns the plan of servers of which no more is said than that they
// are to be followed.
func Default() Plan {
	return Plan{Groups: 1, Attachments: 1, Keepalive: 90e9, Tracking: 1e9, Withdraw: 100e6, Hold: 90e9}
}

// On says whether servers are followed at all.
func (p *Plan) On() bool { return p.Groups > 0 }

// Access is the number of access links of a fabric.
func (p *Plan) Access(f *fabric.Fabric) int { return f.Leaves * p.Groups * p.Attachments }

// Mate is the other leaf of groups that have a leaf as their first, or the leaf
// itself with one attachment. Leaves of a pod are mates two by two, in order.
func (p *Plan) Mate(leaf int32) int32 {
	if p.Attachments < 2 {
		return leaf
	}
	return leaf ^ 1
}

// Link is the access link of an attachment: of group k of a leaf, the one to the
// leaf itself (0) or to its mate (1).
func (p *Plan) Link(leaf int32, group, attachment int) int32 {
	return (leaf*int32(p.Groups)+int32(group))*int32(p.Attachments) + int32(attachment)
}

// Of returns what Link was told.
func (p *Plan) Of(link int32) (leaf int32, group, attachment int) {
	n := link / int32(p.Attachments)
	return n / int32(p.Groups), int(n % int32(p.Groups)), int(link % int32(p.Attachments))
}

// At is the leaf at the end of an access link.
func (p *Plan) At(link int32) int32 {
	leaf, _, attachment := p.Of(link)
	if attachment == 1 {
		return p.Mate(leaf)
	}
	return leaf
}

// Name is the name of an access link.
func (p *Plan) Name(f *fabric.Fabric, link int32) string {
	leaf, group, _ := p.Of(link)
	return f.Routers[p.At(link)].Name + "~" + p.GroupName(f, leaf, group)
}

// GroupName is the name of a group of servers: that of its first leaf, and a
// number.
func (p *Plan) GroupName(f *fabric.Fabric, leaf int32, group int) string {
	r := &f.Routers[leaf]
	return fmt.Sprintf("servers%s-%0*d", r.Name[len(fabric.Leaf.String()):], digits(p.Groups-1), group)
}

// digits is how many digits a number has.
func digits(n int) int { return len(fmt.Sprint(n)) }

// LeavesMost is up to how many leaves servers are followed: pairs of leaves are
// then kept one by one.
const LeavesMost = 512
