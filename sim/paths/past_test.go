package paths

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"halflight/model/fabric"
	"halflight/sim/paths/plain"
)

// Links that come and go, on two copies that share what they have gone through and
// move each at its own time: against routes that have gone through nothing, and, at
// the end, against gonum. Some moves are done again, some undone, some forgotten.
func TestRoutesToAndFro(t *testing.T) {
	again := 0
	rapid.Check(t, func(t *rapid.T) {
		f := plain.Draw(t)
		first := NewRoutes(f, NewLayout(f))
		for i, l := range f.Links {
			first.SetMetric(l.Lower, f.PortOf(l.Lower, int32(i)), l.Metric[0])
			first.SetMetric(l.Upper, f.PortOf(l.Upper, int32(i)), l.Metric[1])
		}
		first.Apply()
		pair := [2]*Routes{first, first.Clone()}
		var twins [2]*Routes
		for i := range twins {
			twins[i] = first.Clone()
		}
		few := rapid.SliceOfN(rapid.Int32Range(0, int32(len(f.Links)-1)), 1, 3).Draw(t, "links")
		for step := range rapid.IntRange(1, 40).Draw(t, "steps") {
			i := rapid.IntRange(0, 1).Draw(t, "copy")
			r, twin := pair[i], twins[i]
			clearTouched(r)
			was := NewSets(r.Next.Layout)
			was.Copy(r.Next)
			twin.past = new(past)
			switch rapid.IntRange(0, 9).Draw(t, "what") {
			case 0:
				x := rapid.Int32Range(0, int32(len(f.Routers)-1)).Draw(t, "router")
				bit := rapid.Bool().Draw(t, "bit")
				r.SetOverload(x, bit)
				twin.SetOverload(x, bit)
			case 1: // numbers mean something else from now on
				for k := range r.past.moves {
					for c := range r.past.moves[k].changes {
						r.past.moves[k].changes[c].set = [2]uint32{}
					}
				}
				r.Next.distinct.Forgotten++
			default:
				link := rapid.SampledFrom(few).Draw(t, "link")
				l, up := f.Links[link], rapid.Bool().Draw(t, "up")
				for d, x := range [2]int32{l.Lower, l.Upper} {
					m := uint32(0)
					if up {
						m = l.Metric[d]
					}
					r.SetMetric(x, f.PortOf(x, link), m)
					twin.SetMetric(x, f.PortOf(x, link), m)
				}
			}
			if _, _, ok := r.past.find(r.applied, r.digest, r.Next.distinct.Forgotten); ok && r.applied != r.digest {
				again++
			}
			r.Apply()
			twin.Apply()
			sameRoutes(t, f, r, twin, was, fmt.Sprint("step ", step))
		}
		for _, r := range pair {
			y := &plain.Topology{Fabric: f, Metric: make([]uint32, 2*len(f.Links)), Overload: r.overload, Without: -1}
			for x := range f.Ports {
				for p, port := range f.Ports[x] {
					y.Metric[port.Out()] = r.metric[x][p]
				}
			}
			hold(t, y, r, "at the end")
		}
	})
	if again == 0 {
		t.Error("no move was ever done again")
	}
}

func clearTouched(r *Routes) {
	for x := range r.Touched {
		r.Touched[x], r.Full[x] = r.Touched[x][:0], false
	}
}

// sameRoutes compares costs, next hops, and that what changed was touched.
func sameRoutes(t *rapid.T, f *fabric.Fabric, r, twin *Routes, was Sets, when string) {
	for d := range int32(f.Leaves) {
		for x := range int32(len(f.Routers)) {
			if got, want := r.Cost(d, x), twin.Cost(d, x); got != want {
				t.Fatalf("%s: cost of %d to %d is %d, looked for %d", when, x, d, got, want)
			}
			if got, want := r.Next.Of(d, x), twin.Next.Of(d, x); !slices.Equal(got, want) {
				t.Fatalf("%s: next hops of %d to %d are %v, looked for %v", when, x, d, plain.Ports(got), plain.Ports(want))
			}
			if !Same(was.Of(d, x), r.Next.Of(d, x)) && !r.Full[x] && !slices.Contains(r.Touched[x], d) {
				t.Fatalf("%s: the entry of %d for %d changed and is not among Touched", when, x, d)
			}
		}
	}
}
