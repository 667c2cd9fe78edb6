package bands

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"halflight/sim/forwarding"
)

// passing draws what directions with sizes let pass, in three planes: of some planes
// all fits, or nothing.
func passing(r *rand.Rand) forwarding.Direction {
	way := forwarding.Direction{Cause: -1}
	for range 3 {
		fit := []float64{0, 0.125, 0.5, 0.75, 1, r.Float64()}[r.IntN(6)]
		way.Fit = append(way.Fit, fit)
		way.Pass = append(way.Pass, fit*(1-0.5*float64(r.IntN(2))))
	}
	return way
}

// What gets past several directions is the product of what they pass of what fits
// them, times what fits the narrowest: summed over bands, and direction after direction.
func TestNarrowestAloneCounts(t *testing.T) {
	for seed := range uint64(500) {
		r := rand.New(rand.NewPCG(seed, 1500))
		b := &Field{}
		for range 2 + r.IntN(4) {
			b.sized = append(b.sized, sized{way: passing(r)})
		}
		n := 0
		b.ends, n = b.cuts()
		path := forwarding.Direction{Pass: []float64{1, 1, 1}}
		want, narrow := [3]float64{1, 1, 1}, [3]float64{1, 1, 1}
		for _, s := range b.sized {
			Follow(&path, &s.way)
			for plane, fit := range s.way.Fit {
				narrow[plane] = min(narrow[plane], fit)
				if fit > 0 {
					want[plane] *= s.way.Pass[plane] / fit
				}
			}
		}
		for plane := range want {
			want[plane] *= narrow[plane]
			got, all := 0.0, 0.0
			for band := range n {
				weight, pass := 1.0, 1.0
				if b.ends != nil {
					weight = b.weight(plane, band)
				}
				for _, s := range b.sized {
					pass *= b.within(s.way, band).Pass[plane]
				}
				got, all = got+weight*pass, all+weight
			}
			if math.Abs(got-want[plane]) > 1e-14 || math.Abs(path.Pass[plane]-want[plane]) > 1e-14 || math.Abs(all-1) > 1e-14 {
				t.Errorf("seed %d, plane %d: %v by %d bands that make %v, %v one after the other, want %v", seed, plane, got, n, all, path.Pass[plane], want[plane])
			}
			if path.Fit[plane] != narrow[plane] {
				t.Errorf("seed %d, plane %d: %v fits, want %v", seed, plane, path.Fit[plane], narrow[plane])
			}
		}
	}
}

// A direction that all sizes fit leaves a way as narrow as it was.
func TestFollowWithoutSizes(t *testing.T) {
	way := forwarding.Direction{Pass: []float64{0.5, 1}}
	Follow(&way, &forwarding.Direction{Pass: []float64{0.5, 0.25}, Fit: []float64{0.5, 0.5}})
	Follow(&way, &forwarding.Direction{Pass: []float64{0.5, 1}})
	if !slices.Equal(way.Pass, []float64{0.125, 0.25}) || !slices.Equal(way.Fit, []float64{0.5, 0.5}) {
		t.Errorf("%+v", way)
	}
}
