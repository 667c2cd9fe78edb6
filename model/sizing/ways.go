package sizing

import (
	"halflight/model"
	"halflight/model/transport"
)

// Way is a transport: what it adds to packets and to tables of this fabric.
type Way struct {
	By       string  `json:"by"`
	Present  bool    `json:"present"`
	Header   int     `json:"header_bytes"`
	Inner    int     `json:"inner_bytes"`           // the largest packet of a server
	InRepair int     `json:"inner_bytes_in_repair"` // the largest that gets around a dead link too
	Overhead float64 `json:"overhead"`              // share of what is carried that is header, for a packet of 1,000 bytes
	Entries  int     `json:"table_entries"`         // of a router, all destinations
	Write    float64 `json:"write_s"`               // of all of them
	Repairs  bool    `json:"repair_tunnels"`        // without state of their own
	Entropy  int     `json:"entropy_bits"`
}

// Ways are all of them, and the MTU they were reckoned for.
type Ways struct {
	MTU      int   `json:"mtu_bytes"`
	Segments int   `json:"segments"`
	List     []Way `json:"list"`
}

// packet is the size, in bytes, that overheads are given for.
const packet = 1000

// waysOf lists all transports with the segments and MTU of the scenario.
func waysOf(w *model.World) Ways {
	now := w.Transport
	if !now.On {
		now = transport.Default(transport.IPv4)
	}
	a := Ways{MTU: now.MTU, Segments: now.Segments}
	for _, t := range now.All() {
		entries := int(w.Timers.Prefixes) * t.Entries() * w.Fabric.Leaves
		a.List = append(a.List, Way{By: t.By.String(), Present: w.Transport.On && t.By == w.Transport.By, Header: t.Header(), Inner: t.Inner(), InRepair: t.InnerInRepair(),
			Overhead: float64(t.Header()) / float64(packet+t.Header()), Entries: entries,
			Write: (float64(w.Timers.FIBBase) + float64(float64(entries)*float64(w.Timers.FIBPerPrefix))) / 1e9, Repairs: t.Repairs(), Entropy: t.EntropyBits()})
	}
	return a
}
