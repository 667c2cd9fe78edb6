package sim

import (
	"halflight/model"
	"halflight/sim/kernel"
)

// chanceState is what only a random replication has.
type chanceState struct{}

func routerLaws(w *model.World, s kernel.Stream) (factor func(x int32) float64, rank func(x, d int32) uint64) {
	return nil, nil
}

func (e *engine) happenByChance(ev kernel.Event)  {}
func (e *engine) believed(x, link int32, up bool) {}
func (e *engine) settledByChance()                {}
func (e *engine) begunByChance(id int32)          {}
func (e *engine) closedByChance(id int32)         {}
func (e *engine) finish()                         { e.ledger.Flush(e.until) }
