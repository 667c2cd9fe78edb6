package homing

import (
	"testing"

	"halflight/model/fabric"
	"halflight/model/homing"
)

func rest(t testing.TB, leaves, groups, attachments int) *Servers {
	f, err := fabric.Clos{Pods: 1, Leaves: leaves, Spines: 2, Parallel: 1}.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	p := homing.Default()
	p.Groups, p.Attachments = groups, attachments
	f.Access = p.Access(f)
	s := New(&p, f, 10e6, 2e9, 0)
	s.Older, s.Blame = func(a, b int32) bool { return a < b }, func(int32, int32) int32 { return 0 }
	s.Path = func(int32, int32) bool { return true }
	return s
}

// At rest every ordered pair of leaves has the traffic of one pair, whatever the
// number of groups; with two attachments all but that of mates, who hand over
// themselves, and all of it could go another way.
func TestWeightsAtRest(t *testing.T) {
	for _, attachments := range []int{1, 2} {
		s := rest(t, 6, 3, attachments)
		for p := range int32(6 / attachments) {
			for q := range int32(6 / attachments) {
				f := s.Flow(p, q)
				for i := range attachments {
					for j := range attachments {
						want, spare := 1.0, 0.0
						if p == q {
							want = 0
						} else if attachments == 2 {
							spare = 1
						}
						got := s.Spare(s.leafOf(p, i), s.leafOf(q, j))
						if d := got - spare; d > 1e-12 || d < -1e-12 {
							t.Errorf("%d attachments, %d to %d: %v could go another way, want %v", attachments, p, q, got, spare)
						}
						if d := f.Weight[i][j] - want; d > 1e-12 || d < -1e-12 {
							t.Errorf("%d attachments, %d to %d: %+v, want %v", attachments, p, q, f, want)
						}
					}
				}
				if len(f.Extra) > 0 {
					t.Errorf("%+v is lost at rest", f.Extra)
				}
			}
		}
	}
}

// With one leaf of a pair dead and left by its servers and by all other leaves, the
// other has what both had: twice to and from every other leaf, and 1/1 of the rest.
func TestWeightsWithoutAMate(t *testing.T) {
	s := rest(t, 4, 2, 2)
	s.SetLeaf(0, false, false, 7)
	for _, a := range []int32{1, 2, 3} {
		s.Missing(a, 0, true, 0)
	}
	s.Close(0)
	for len(s.Tasks) > 0 {
		due := s.Tasks
		s.Tasks = nil
		for _, task := range due {
			if task.Kind != Drop {
				s.Do(task, task.At)
			}
		}
		s.Close(2e9)
	}
	for _, block := range [][2]int32{{0, 1}, {1, 0}} {
		f := s.Flow(block[0], block[1])
		for i := range 2 {
			own := f.Weight[1][i]
			if block[0] == 1 {
				own = f.Weight[i][1]
			}
			if own != 2 || len(f.Extra) > 0 {
				t.Errorf("block %v: %+v", block, f)
			}
		}
	}
	if f := s.Flow(0, 0); f.Weight != [2][2]float64{} || len(f.Extra) > 0 {
		t.Errorf("mates: %+v", f)
	}
}

// One change of one access link, and all blocks that it spoils, in a hall of 400
// leaves with 16 groups each.
func BenchmarkChange(b *testing.B) {
	s := rest(b, 400, 16, 2)
	work := func() {
		for _, block := range s.Stale {
			s.Flow(s.Block(block))
		}
		s.Stale = s.Stale[:0]
	}
	work()
	for i := 0; b.Loop(); i++ {
		s.Cut(7, i%2 == 0, 1)
		s.Close(int64(i))
		s.Tasks = s.Tasks[:0]
		work()
	}
}
