package model

import (
	"fmt"

	"halflight/model/failure"
)

// mostEvents is how many faults, flaps, changes, campaigns or hosts that go away one
// key may ask of a replication. More are a unit mistyped: they would be played for
// hours, while no part of such a fabric is ever whole.
const mostEvents = 1e8

// plenty refuses a rate, in events a second, of which more come than can be played.
func (b *builder) plenty(path string, rate float64) {
	if n := rate * float64(b.w.WarmUp+b.w.Horizon) / 1e9; n > mostEvents {
		b.bad(path, fmt.Sprintf("asks for %.2g events in a replication, at most 100 million can be played: let more time pass between them", n))
	}
}

// events looks at what comes at rates of its own, beside modes of failure.
func (b *builder) events() {
	hosts := float64(b.w.Hosts.Leaf * b.w.Fabric.Leaves)
	b.plenty("underlay.reboots.rate", hosts*b.w.Hosts.Reboots.Rate)
	b.plenty("underlay.flaps.rate", hosts*b.w.Hosts.Flaps.Rate)
	if u := b.w.Operation.Upgrades; u != nil {
		b.plenty("operations.upgrades.every", 1e9/float64(u.Every))
	}
	if c := b.w.Operation.Changes; c != nil {
		b.plenty("operations.changes.rate", c.Rate)
	}
}

// often looks at a mode of failure: at its onsets, or at its flaps.
func (b *builder) often(path string, m *failure.Mode, episodes bool) {
	parts := m.Population(b.w.Fabric, b.w.Groups)
	key := ".life"
	if episodes {
		key = ".episodes"
	}
	b.plenty(path+key, max(m.OnsetsPerDay(parts, m.Dwell()), m.FlapsPerDay(parts))/86400)
}
