package wander_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"halflight/sim/wander"
)

// drawBreeds draws up to four breeds of up to three routers. Next hops that no breed has
// lead elsewhere.
func drawBreeds(t *rapid.T, planes int) []wander.Breed {
	list := make([]wander.Breed, rapid.IntRange(1, 4).Draw(t, "breeds"))
	next := int32(10)
	for i := range list {
		for range rapid.IntRange(1, 3).Draw(t, "routers") {
			list[i].Routers = append(list[i].Routers, next)
			next++
		}
		list[i].Late = rapid.Bool().Draw(t, "late")
	}
	for i := range list {
		b := &list[i]
		b.Hops = float64(rapid.IntRange(0, 2).Draw(t, "elsewhere"))
		for k := range list {
			if k == i || !rapid.Bool().Draw(t, "leads") {
				continue
			}
			h := wander.Hop{Breed: k}
			for range planes {
				h.Pass = append(h.Pass, rapid.SampledFrom([]float64{1, 0.9, 0.5, 0}).Draw(t, "pass"))
			}
			b.To, b.Hops = append(b.To, h), b.Hops+float64(len(list[k].Routers))
		}
		b.Hops = max(b.Hops, 1)
	}
	return list
}

// seen is what is told of one breed, by the first that is late.
type seen struct {
	at    int
	first int32
}

// listing follows every way, router by router.
type listing struct {
	list   []wander.Breed
	on     map[int32]bool
	left   map[seen][]float64
	looped map[seen]float64
}

func (l *listing) follow(at int, x, first int32, left []float64) {
	b := &l.list[at]
	if first == wander.NoFirst && b.Late {
		if first = int32(at); len(l.on) == 0 {
			first = wander.StartFirst
		}
	}
	key := seen{at, first}
	if l.left[key] == nil {
		l.left[key] = make([]float64, len(left))
	}
	for k := range left {
		l.left[key][k] += left[k]
	}
	l.on[x] = true
	for _, h := range b.To {
		for _, y := range l.list[h.Breed].Routers {
			on := make([]float64, len(left))
			for k := range left {
				on[k] = left[k] * h.Pass[k] / b.Hops
			}
			if l.on[y] {
				l.looped[key] += on[0]
			} else {
				l.follow(h.Breed, y, first, on)
			}
		}
	}
	delete(l.on, x)
}

// Bundles against listing every way.
func TestFollowAgainstListing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const planes = 2
		list := drawBreeds(t, planes)
		start := rapid.IntRange(0, len(list)-1).Draw(t, "start")
		l := listing{list, map[int32]bool{}, map[seen][]float64{}, map[seen]float64{}}
		l.follow(start, list[start].Routers[0], wander.NoFirst, []float64{1, 1})

		p, ok := wander.Pack(list)
		if !ok {
			t.Fatal("so few do not fit")
		}
		var room wander.Room
		for range 2 { // the second finds the room as the first left it
			left, looped := map[seen][]float64{}, map[seen]float64{}
			room.Follow(list, p, start, planes, func(w *wander.Way, had []float64, back float64) {
				key := seen{int(w.At), w.First}
				if left[key] == nil {
					left[key] = make([]float64, planes)
				}
				for k := range had {
					left[key][k] += had[k]
				}
				looped[key] += back
			})
			for key, want := range l.left {
				for k := range want {
					if want[k] > 0 && (left[key] == nil || math.Abs(left[key][k]-want[k]) > 1e-12) {
						t.Fatalf("%+v, plane %d: %v, want %v", key, k, left[key], want)
					}
				}
				if math.Abs(looped[key]-l.looped[key]) > 1e-12 {
					t.Fatalf("%+v: %v comes back, want %v", key, looped[key], l.looped[key])
				}
			}
		}
	})
}

// In the mean, what comes back and what leaves add up to all, and what is told differs from
// listing every way by the spread that is left out: a twentieth at most where breeds have
// three routers at most (none of 40,000 went beyond).
func TestMeanAgainstListing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := drawBreeds(t, 1)
		start := rapid.IntRange(0, len(list)-1).Draw(t, "start")
		l := listing{list, map[int32]bool{}, map[seen][]float64{}, map[seen]float64{}}
		l.follow(start, list[start].Routers[0], wander.NoFirst, []float64{1})
		want, back := make([]float64, len(list)), 0.0
		for key, left := range l.left {
			want[key.at] += left[0]
		}
		for _, amount := range l.looped {
			back += amount
		}

		var room wander.Room
		for range 2 {
			got, looped, out := make([]float64, len(list)), 0.0, 0.0
			room.FollowMean(list, start, func(at int, left, back float64) {
				b := &list[at]
				got[at] += left
				looped += back
				out += left
				for _, h := range b.To {
					out -= left * h.Pass[0] / b.Hops * float64(len(list[h.Breed].Routers))
				}
			})
			if math.Abs(looped+out-1) > 1e-11 {
				t.Fatalf("%v comes back and %v leaves, of 1", looped, out)
			}
			if math.Abs(looped-back) > 0.05 {
				t.Fatalf("%v comes back, want %v", looped, back)
			}
			for k := range got {
				if math.Abs(got[k]-want[k]) > 0.05 {
					t.Fatalf("breed %d: %v, want %v", k, got, want)
				}
			}
		}
	})
}

// Between s spines and t tops that all send to one another each way has seen as many of
// either as any other after as many steps, so that the mean is exact: with all s spines
// and t tops passing everything, after a spines and b tops a spine sends back b/t, a
// top a/s.
func TestMeanOfTwoBreeds(t *testing.T) {
	const spines, tops = 36, 24
	list := []wander.Breed{{Hops: tops, To: []wander.Hop{{Breed: 1, Pass: []float64{1}}}}, {Hops: spines, To: []wander.Hop{{Breed: 0, Pass: []float64{1}}}}}
	for x := range int32(spines + tops) {
		b := &list[0]
		if x >= spines {
			b = &list[1]
		}
		b.Routers = append(b.Routers, x)
	}
	var want []float64 // what comes back, step by step
	left := 1.0
	for a, b := 1, 0; left > 1e-11; {
		back := left * float64(b) / tops
		if len(want)%2 == 1 {
			back = left * float64(a) / spines
		}
		want, left = append(want, back), left-back
		if len(want)%2 == 1 {
			b++
		} else {
			a++
		}
	}
	step := 0
	var room wander.Room
	room.FollowMean(list, 0, func(at int, left, back float64) {
		if step < len(want) {
			if at != step%2 || math.Abs(back-want[step]) > 1e-12 {
				t.Errorf("step %d: at breed %d %v comes back, want %v", step, at, back, want[step])
			}
		}
		step++
	})
	if step < len(want) {
		t.Errorf("%d steps, want %d", step, len(want))
	}
}
