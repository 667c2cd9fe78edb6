package story

import (
	"halflight/sim"
	"halflight/sim/record"
)

// Told is a tale for other programs.
type Told struct {
	Scenario    string             `json:"scenario"`
	Seed        uint64             `json:"seed"`
	Replication uint32             `json:"replication"`
	Mode        string             `json:"mode"`
	Kind        string             `json:"kind"`
	Fault       record.Fault       `json:"fault"` // its phases are below, by name
	Phases      map[string]float64 `json:"lost_seconds_by_phase"`
	Lines       []ToldLine         `json:"lines"`
	Cut         bool               `json:"cut"` // more happened than is told
}

// ToldLine is one instant of a tale.
type ToldLine struct {
	At    int64   `json:"at_ns"` // since the onset
	Share float64 `json:"lost_share"`
	Text  string  `json:"text"` // empty: the share alone moved
}

// ToldOf turns a tale into what is printed.
func ToldOf(scenario string, seed uint64, replication uint32, t *sim.Tale) Told {
	out := Told{Scenario: scenario, Seed: seed, Replication: replication, Mode: t.Mode, Kind: t.Kind, Fault: t.Fault,
		Phases: map[string]float64{}, Lines: []ToldLine{}, Cut: t.Cut}
	for i, lost := range t.Fault.Phases {
		if lost > 0 {
			out.Phases[t.Phases[i]] = lost
		}
	}
	out.Fault.Phases = nil
	for _, l := range t.Lines {
		out.Lines = append(out.Lines, ToldLine{l.At, l.Share, l.Text})
	}
	return out
}
