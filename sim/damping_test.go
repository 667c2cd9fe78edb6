package sim

import "testing"

// Damping (RFC 2439) keeps a link that flaps out of use, and with it its LSPs away
// from everybody; without it every flap is told (RFC 7938, section 7.3, weighs one
// against the other). A link that goes down every 4 s and up 2 s later, settle time
// 0.1 s: 30 times down in two minutes, 60 changes at either end. With the numbers of
// RFC 7196, table 1, and a cut-off of 2,000, the third down is the last that is seen
// before half an hour is over.
func TestDampingKeepsFlapsAway(t *testing.T) {
	text := `
name: damp
random: false
horizon: 80min
fabric: {clos: {pods: 1, leaves: 3, spines: 2, tops: 0}}
detection: {bfd: false, hello: false, settle: 100ms, damping: false}
timers: {lsp_generation: {first_delay: 0s, incremental_delay: 0s, maximum_delay: 0s, wait_time: 1ns}}
script:
  - {at: 10s, on: leaf-0-0~spine-0-0, kind: flapping, period: 4s, off: 2s, for: 2min}
`
	said := func(damping string) (n int, last int64) {
		p := Script(build(t, "damp", text, "detection.damping="+damping))
		for _, r := range p.Routers {
			if r.Name == "leaf-0-0" {
				return len(r.Originations), r.Originations[len(r.Originations)-1]
			}
		}
		return 0, 0
	}
	if n, _ := said("false"); n != 60 {
		t.Errorf("without damping leaf-0-0 says %d things, want 60", n)
	}
	n, last := said("{cut_off: 2000}")
	if n != 6 { // down, up, down, up, down, and up again when it may be used
		t.Errorf("with damping leaf-0-0 says %d things, want 6", n)
	}
	// Thirty downs end at the ceiling, 12,000 or near it: at most an hour to reuse;
	// the last down is 126 s after the start, noticed 10 ms later.
	if low, high := int64(126e9+1800e9), int64(136e9+3600e9); last < low || last > high {
		t.Errorf("used again after %d ns, want between %d and %d", last, low, high)
	}
}
