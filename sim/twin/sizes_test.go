package twin

import (
	"math/rand/v2"
	"testing"
)

// GenerateSizes is a script of Generate in which most of the faults, and one to three
// more, stop large packets, some of them on a group of links.
func GenerateSizes(seed uint64) string {
	return altered(Generate(seed), func(out map[string]any, fab *fabric) {
		m := &maker{Rand: rand.New(rand.NewPCG(seed, 1500)), fab: fab, signal: 5, settle: 20}
		if out["groups"] != nil {
			m.names = []string{"links"}
		}
		script := out["script"].([]any)
		for i := range script {
			if m.chance(0.6) {
				script[i] = m.oversize(script[i].(map[string]any)["at"].(string))
			}
		}
		for range 1 + m.IntN(3) {
			script = append(script, m.oversize(milli(pick(m, 0, 500, 1000, 1005, 3000, 5000))))
		}
		out["script"] = script
	})
}

// oversize draws a fault that stops large packets.
func (m *maker) oversize(at string) map[string]any {
	e := map[string]any{"at": at, "kind": "oversize", "on": m.direction(m.link()), "above": pick(m, 400, 500, 750, 750, 1000, 1250, 1400, 1500)}
	if len(m.names) > 0 && m.chance(0.3) {
		e["on"] = "group:links"
	}
	m.length(e, 0.5)
	return e
}

// The fast engine and the plain program agree where a packet meets several sizes: every
// share, every charge.
func TestEngineAgreesWithTwinOnSizes(t *testing.T) {
	agree(t, func(seed uint64) string { return GenerateSizes(seed + 30_000) }, 120)
}

// Scripts on which the engine once took sizes as independent: of two faults, or of one
// that a flow meets in both directions of a link as it loops.
func TestEngineAgreesWithTwinWhereSizesMeet(t *testing.T) {
	found := []uint64{759, 898, 1102}
	agree(t, func(i uint64) string { return Generate(found[i]) }, len(found))
	found = []uint64{617, 778}
	agree(t, func(i uint64) string { return GenerateAll(found[i]) }, len(found))
}
