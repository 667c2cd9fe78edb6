package twin

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
)

// maker draws a random scenario. Times come from small sets on purpose, so that
// instants coincide: that is where two programs differ.
type maker struct {
	*rand.Rand
	fab    *fabric
	settle int // ms
	signal int // ms
	names  []string
	blind  bool // nothing but loss of light is seen, and a router is cut off with its light on
}

// Generate draws a random script on a random small fabric: the same text for the
// same seed. It leaves out kinds that need the control plane to be hung, slow or
// restarted with tables kept.
func Generate(seed uint64) string { return generate(seed, false) }

// GenerateAll draws from every kind.
func GenerateAll(seed uint64) string { return generate(seed, true) }

// altered is a script with something changed, given its fabric.
func altered(text string, change func(out map[string]any, fab *fabric)) string {
	var out map[string]any
	if err := json.Unmarshal([]byte(text), &out); err != nil {
		panic(err)
	}
	scn, err := parseScenario([]byte(text))
	if err != nil {
		panic(err)
	}
	fab, err := buildFabric(scn)
	if err != nil {
		panic(err)
	}
	change(out, fab)
	again, err := json.MarshalIndent(out, "", " ")
	if err != nil {
		panic(err)
	}
	return string(again)
}

func generate(seed uint64, all bool) string {
	m := &maker{Rand: rand.New(rand.NewPCG(seed, 0x7477696e))}
	clos := m.clos()
	var scn scenario
	c := &scn.Fabric.Clos
	c.Pods, c.Leaves, c.Spines, c.Tops, c.Parallel = clos["pods"], clos["leaves"], clos["spines"], clos["tops"], clos["parallel"]
	fab, err := buildFabric(&scn)
	if err != nil {
		panic(err)
	}
	m.fab = fab
	m.blind = m.chance(0.15)
	m.signal = pick(m, 0, 5, 5, 30)
	m.settle = m.signal + pick(m, 0, 5, 20, 100, 2000)
	out := map[string]any{
		"name":    fmt.Sprintf("random-%d", seed),
		"random":  false,
		"horizon": "60s",
		"fabric":  m.fabricKeys(clos),
		"timers":  map[string]any{"spf": m.spf(), "lsp_generation": m.doubling(0, 10, 50, 200), "spf_run": pick(m, "0s", "0s", "1ms", "10ms", "120ms")},
		"fib": map[string]any{"base": pick(m, "0s", "5ms", "20ms"), "per_prefix": pick(m, "0s", "1ms", "3ms"),
			"local_prune": m.chance(0.8), "prune_delay": pick(m, "0s", "0s", "7ms", "60ms")},
		"detection": map[string]any{"signal": milli(m.signal), "settle": milli(m.settle),
			"bfd":   m.packets(pick(m, 50, 100), pick(m, 1, 2, 3)),
			"hello": m.packets(pick(m, 200, 1000), 3)},
		"flooding": map[string]any{"per_hop": pick(m, "1ms", "2ms", "5ms", "40ms"), "exchange": pick(m, "0s", "0s", "5ms"),
			"pacing": m.pacing(), "second_lsp_counts": m.chance(0.6)},
		"overload": map[string]any{"leaves": m.chance(0.4), "until_ready": m.chance(0.7)},
		"restart":  map[string]any{"grace": pick(m, "500ms", "2s", "60s")},
		"hashing":  pick(m, "independent", "independent", "independent", "polarised"),
	}
	if all {
		m.tables(out["fib"].(map[string]any))
		m.senses(out["detection"].(map[string]any))
		m.floods(out["flooding"].(map[string]any))
	}
	if m.chance(0.2) {
		out["start"] = map[string]any{"backoff": "last"}
	}
	if m.blind || m.chance(0.3) {
		out["groups"] = m.groups()
	}
	out["script"] = m.script(all)
	text, err := json.MarshalIndent(out, "", " ")
	if err != nil {
		panic(err)
	}
	return string(text)
}

func pick[T any](m *maker, from ...T) T { return from[m.IntN(len(from))] }

func (m *maker) chance(p float64) bool { return m.Float64() < p }

func milli(n int) string { return fmt.Sprintf("%dms", n) }

func (m *maker) clos() map[string]int {
	if m.chance(0.65) {
		return map[string]int{"pods": 1, "leaves": 2 + m.IntN(4), "spines": 2 + m.IntN(3), "tops": 0, "parallel": pick(m, 1, 1, 2)}
	}
	return map[string]int{"pods": 2, "leaves": 1 + m.IntN(3), "spines": 2, "tops": 1 + m.IntN(2), "parallel": pick(m, 1, 1, 2)}
}

func (m *maker) fabricKeys(clos map[string]int) map[string]any {
	out := map[string]any{"clos": clos}
	if m.chance(0.3) {
		metrics := map[string]int{}
		for range 1 + m.IntN(4) {
			metrics[m.link()] = 1 + m.IntN(3)
		}
		out["metrics"] = metrics
	}
	return out
}

// floods adds what flooding can do besides.
func (m *maker) floods(f map[string]any) {
	f["lossy"] = m.chance(0.5)
	if m.chance(0.3) {
		delete(f, "exchange")
		f["window"] = map[string]any{"burst": 1 + m.IntN(4), "interval": pick(m, "0s", "1ms", "7ms"), "receive": 1 + m.IntN(5), "per_ack": 1 + m.IntN(4), "ack_delay": pick(m, "0s", "3ms", "20ms")}
	}
}

// senses adds what detection can do besides.
func (m *maker) senses(d map[string]any) {
	if bfd, ok := d["bfd"].(map[string]any); ok && m.chance(0.4) {
		bfd["receive"] = pick(m, "50ms", "200ms")
		bfd["at"] = map[string]any{pick(m, "leaf", "spine"): map[string]any{"interval": pick(m, "30ms", "150ms"), "receive": pick(m, "70ms", "250ms"), "multiplier": pick(m, 2, 5)}}
	}
	if hello, ok := d["hello"].(map[string]any); ok {
		hello["three_way"] = m.chance(0.5)
	}
	if m.chance(0.3) {
		d["damping"] = map[string]any{"increment": 1000, "cut_off": pick(m, 1500, 2000, 2500), "reuse": pick(m, 500, 750), "half_life": pick(m, "2s", "3s"), "hold": pick(m, "10s", "15s")}
	}
}

// tables adds what makes writes more, fewer, or later.
func (m *maker) tables(fib map[string]any) {
	fib["families"], fib["labels"] = pick(m, "ipv4", "ipv6", "both"), pick(m, 0, 0, 1)
	fib["shared_groups"], fib["repair_tunnel"] = m.chance(0.3), m.chance(0.3)
	switch m.IntN(4) {
	case 0:
		fib["local_delay"] = pick(m, "30ms", "500ms", "2s")
	case 1:
		fib["ordered"] = map[string]any{"hold": pick(m, "0s", "200ms"), "step": pick(m, "10ms", "100ms", "500ms")}
	}
}

func (m *maker) link() string { return m.fab.links[m.IntN(len(m.fab.links))].name }

func (m *maker) spf() map[string]any {
	switch m.IntN(5) {
	case 0:
		d := m.doubling(0, 10, 50)
		d["form"] = "a"
		return map[string]any{"doubling": d}
	case 1:
		d := m.doubling(0, 10, 50)
		d["form"] = "b"
		return map[string]any{"doubling": d}
	case 2:
		return map[string]any{"two_step": map[string]any{"rapid_delay": pick(m, "10ms", "50ms"), "rapid_runs": 1 + m.IntN(3),
			"slow_delay": pick(m, "500ms", "1s"), "wait_time": pick(m, "2s", "4s")}}
	}
	return map[string]any{"rfc8405": map[string]any{"initial_delay": pick(m, "0s", "10ms", "50ms"), "short_delay": pick(m, "50ms", "200ms"),
		"long_delay": pick(m, "500ms", "2s", "5s"), "time_to_learn": pick(m, "100ms", "500ms"), "holddown": pick(m, "1s", "3s", "10s")}}
}

func (m *maker) doubling(first ...int) map[string]any {
	return map[string]any{"first_delay": milli(first[m.IntN(len(first))]), "incremental_delay": pick(m, "50ms", "100ms"),
		"maximum_delay": pick(m, "400ms", "1s"), "wait_time": pick(m, "2s", "4s")}
}

func (m *maker) packets(interval, multiplier int) any {
	if m.blind || m.chance(0.55) {
		return false
	}
	return map[string]any{"interval": milli(interval), "multiplier": multiplier}
}

func (m *maker) pacing() any {
	if m.chance(0.7) {
		return false
	}
	return map[string]any{"burst": 1 + m.IntN(4), "interval": pick(m, "3ms", "10ms", "33ms")}
}

// groups makes one group of routers and one of links.
func (m *maker) groups() []any {
	r := m.IntN(len(m.fab.names))
	l := m.IntN(len(m.fab.links))
	n := len(m.fab.links)
	m.names = []string{"routers", "links"}
	var shore []string
	for _, i := range m.fab.linksOf[r] {
		shore = append(shore, m.fab.links[i].name)
	}
	return []any{
		map[string]any{"name": "shore", "members": shore},
		map[string]any{"name": "routers", "members": []string{m.fab.names[r], m.fab.names[(r+1)%len(m.fab.names)]}},
		map[string]any{"name": "links", "members": []string{m.fab.links[l].name, m.fab.links[(l+1)%n].name}},
	}
}
