// Package model turns a scenario into a World: everything chance does not
// decide, resolved and immutable. It is the description of what is so; what
// happens is sim's.
//
// It is tested by building every shipped scenario and by broken ones.
package model

import (
	"halflight/model/control"
	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/model/homing"
	"halflight/model/operation"
	"halflight/model/timer"
	"halflight/model/traffic"
	"halflight/model/transport"
)

// World is a resolved scenario. Times are ns.
type World struct {
	Name, About     string
	Seed            uint64
	Replications    int
	WarmUp, Horizon int64 // the horizon is measured from the end of the warm-up
	Random          bool  // false: the script alone

	Fabric    *fabric.Fabric
	Groups    []fabric.Group
	Timers    timer.Set
	Hosts     control.Hosts
	Mixed     []Mixed // routers with another SPF back-off; of two entries for one router the later counts
	Spread    float64 // sigma of a router's own lognormal factor (median 1) on run and write times; 0: all equal
	Polarised bool    // hashing: the same flow label at every router

	Modes  []failure.Mode
	Script []failure.Scripted // in the order of the file; times from the start, warm-up included

	Transport transport.Transport
	Homing    homing.Plan
	Traffic   traffic.Demand
	Classes   []traffic.Class
	Operation operation.Plan
	Prices    operation.Prices
}
