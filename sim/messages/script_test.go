package messages

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strconv"
)

// maker draws a random scenario on a random small fabric.
type maker struct {
	*rand.Rand
	calm           bool // changes far apart beside what an LSP takes
	routers, links []string
	signal, settle int // ms
	packets        bool
}

// generate draws a scenario: the same text for the same seed. In a calm one few
// changes meet an LSP on its way; in others many do.
func generate(seed uint64, calm bool) string {
	m := &maker{Rand: rand.New(rand.NewPCG(seed, 0x6d736773)), calm: calm}
	out := map[string]any{"name": fmt.Sprintf("random-%d", seed), "random": false, "horizon": "60s", "fabric": m.fabric()}
	m.signal = pick(m, 0, 5, 5, 30)
	m.settle = m.signal + pick(m, 0, 5, 20, 100, 2000)
	m.packets = m.one(0.35)
	out["timers"] = map[string]any{"spf": m.spf(), "lsp_generation": m.doubling(0, 10, 50, 200), "spf_run": pick(m, "0s", "0s", "1ms", "10ms", "120ms")}
	out["fib"] = map[string]any{"base": pick(m, "0s", "5ms", "20ms"), "per_prefix": pick(m, "0s", "1ms", "3ms"),
		"local_prune": m.one(0.8), "prune_delay": pick(m, "0s", "0s", "7ms", "60ms")}
	bfd, hello := any(false), any(false)
	if m.packets {
		bfd = map[string]any{"interval": pick(m, "50ms", "100ms"), "multiplier": pick(m, 1, 2, 3)}
		if m.one(0.4) {
			hello = map[string]any{"interval": pick(m, "200ms", "1s"), "multiplier": 3}
		}
	}
	out["detection"] = map[string]any{"signal": milli(m.signal), "settle": milli(m.settle), "bfd": bfd, "hello": hello}
	hop := pick(m, "1ms", "2ms", "2ms", "5ms")
	if !calm {
		hop = pick(m, "5ms", "20ms", "40ms")
	}
	out["flooding"] = map[string]any{"per_hop": hop, "exchange": pick(m, "0s", "0s", "5ms"), "pacing": false, "second_lsp_counts": m.one(0.6)}
	out["overload"] = map[string]any{"leaves": m.one(0.4), "until_ready": m.one(0.7)}
	out["hashing"] = pick(m, "independent", "independent", "independent", "polarised")
	if m.one(0.2) {
		out["start"] = map[string]any{"backoff": "last"}
	}
	out["script"] = m.script()
	text, err := json.MarshalIndent(out, "", " ")
	if err != nil {
		panic(err)
	}
	return string(text)
}

func pick[T any](m *maker, from ...T) T { return from[m.IntN(len(from))] }

func (m *maker) one(p float64) bool { return m.Float64() < p }

func milli(n int) string { return strconv.Itoa(n) + "ms" }

// fabric draws three or five stages and names the parts.
func (m *maker) fabric() map[string]any {
	pods, leaves, spines, tops, parallel := 1, 2+m.IntN(4), 2+m.IntN(3), 0, pick(m, 1, 1, 2)
	if m.one(0.4) {
		pods, leaves, spines, tops = 2, 1+m.IntN(3), 2, 1+m.IntN(2)
	}
	for p := range pods {
		for l := range leaves {
			m.routers = append(m.routers, fmt.Sprintf("leaf-%d-%d", p, l))
			for s := range spines {
				for n := range parallel {
					tail := ""
					if parallel > 1 {
						tail = fmt.Sprintf("#%d", n)
					}
					m.links = append(m.links, fmt.Sprintf("leaf-%d-%d~spine-%d-%d%s", p, l, p, s, tail))
				}
			}
		}
		for s := range spines {
			m.routers = append(m.routers, fmt.Sprintf("spine-%d-%d", p, s))
			for t := range tops {
				m.links = append(m.links, fmt.Sprintf("spine-%d-%d~top-%d-%d", p, s, s, t))
			}
		}
	}
	for s := range spines {
		for t := range tops {
			m.routers = append(m.routers, fmt.Sprintf("top-%d-%d", s, t))
		}
	}
	out := map[string]any{"clos": map[string]int{"pods": pods, "leaves": leaves, "spines": spines, "tops": tops, "parallel": parallel}}
	if m.one(0.4) {
		metrics := map[string]int{}
		for range 1 + m.IntN(4) {
			metrics[pick(m, m.links...)] = 1 + m.IntN(3)
		}
		out["metrics"] = metrics
	}
	return out
}

func (m *maker) spf() map[string]any {
	switch m.IntN(5) {
	case 0, 1:
		d := m.doubling(0, 10, 50)
		d["form"] = pick(m, "a", "b")
		return map[string]any{"doubling": d}
	case 2:
		return map[string]any{"two_step": map[string]any{"rapid_delay": pick(m, "10ms", "50ms"), "rapid_runs": 1 + m.IntN(3),
			"slow_delay": pick(m, "500ms", "1s"), "wait_time": pick(m, "2s", "4s")}}
	}
	return map[string]any{"rfc8405": map[string]any{"initial_delay": pick(m, "0s", "10ms", "50ms"), "short_delay": pick(m, "50ms", "200ms"),
		"long_delay": pick(m, "500ms", "2s", "5s"), "time_to_learn": pick(m, "100ms", "500ms"), "holddown": pick(m, "1s", "3s", "10s")}}
}

func (m *maker) doubling(first ...int) map[string]any {
	return map[string]any{"first_delay": milli(pick(m, first...)), "incremental_delay": pick(m, "50ms", "100ms"),
		"maximum_delay": pick(m, "400ms", "1s"), "wait_time": pick(m, "2s", "4s")}
}

// script draws one to six faults.
func (m *maker) script() []any {
	var out []any
	at, on := pick(m, 0, 1, 500, 1000), ""
	for range 1 + m.IntN(6) {
		e := map[string]any{"at": milli(at), "on": on}
		m.fault(e)
		on = ""
		if m.one(0.25) {
			on = e["on"].(string) // once more
		}
		out = append(out, e)
		if m.calm {
			at += pick(m, 0, 61, 150, 337, 700, 1500, 2100, 4000)
		} else {
			at += pick(m, 0, 1, 3, 10, 20, 41, 50, 150, 700, m.signal, m.settle, 2000)
		}
	}
	return out
}

// fault draws kind, part and details; a part that is there already is kept if
// the kind can have it.
func (m *maker) fault(e map[string]any) {
	link, router := pick(m, m.links...), pick(m, m.routers...)
	for _, l := range m.links {
		if l == e["on"] {
			link = l
		}
	}
	for _, r := range m.routers {
		if r == e["on"] {
			router = r
		}
	}
	m.length(e, 0.75)
	dark := !m.packets || m.one(0.5)
	switch m.IntN(15) {
	case 0, 1, 2, 3:
		e["kind"], e["on"] = "hard", link
		if !dark {
			e["light"] = true
		}
	case 4, 5, 6:
		e["kind"], e["on"] = "hard", router
		if !dark {
			e["light"], e["plane"] = true, "data"
		}
	case 7:
		e["kind"], e["on"], e["kept"] = "restart", router, false
		m.length(e, 1)
	case 8:
		e["kind"], e["on"], e["loss"] = pick(m, "lossy", "silent"), m.direction(link), pick(m, 0.025, 0.1, 0.5, 1)
	case 9:
		e["kind"], e["on"], e["share"] = "blackhole", m.direction(link), pick(m, 0.1, 0.25, 1)
	case 10, 11:
		e["kind"], e["on"] = "flapping", link
		m.flaps(e)
	case 12:
		e["kind"], e["on"] = "drain", m.direction(link)
	case 13:
		e["kind"], e["on"] = "drain", router
	case 14:
		e["kind"], e["on"], e["factor"] = "slow", router, pick(m, 2, 3, 10)
	}
}

// direction turns a link into one of its directions, half of the time.
func (m *maker) direction(link string) string {
	var a, b, tail string
	for i, ch := range link {
		switch ch {
		case '~':
			a, b = link[:i], link[i+1:]
		case '#':
			tail, b = link[i:], link[len(a)+1:i]
		}
	}
	return pick(m, link, link, a+">"+b+tail, b+">"+a+tail)
}

func (m *maker) length(e map[string]any, p float64) {
	if !m.one(p) {
		return
	}
	if m.calm {
		e["for"] = milli(pick(m, 91, 133, 410, 1000, 2003, 3000, 5000))
	} else {
		e["for"] = milli(pick(m, 3, 20, 50, max(1, m.signal), max(1, m.settle), 133, 410, 1000))
	}
}

func (m *maker) flaps(e map[string]any) {
	if m.one(0.5) {
		delete(e, "for")
		t := pick(m, 0, 0, 40)
		var changes []string
		for range 1 + m.IntN(5) {
			changes = append(changes, milli(t))
			t += pick(m, 31, 100, 500, 1500)
		}
		e["changes"] = changes
		return
	}
	e["for"] = milli(pick(m, 500, 2000, 3100))
	e["period"] = milli(pick(m, 200, 700, 1000))
	e["off"] = milli(pick(m, 31, 50, 150))
}
