package reliability

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// Alternating renewal, figures at 60 digits; an edge up and an edge down both count.
func TestAlternating(t *testing.T) {
	for _, c := range []struct{ up, down, share, hour, month, sdHour, sdDay float64 }{
		{30, 1, 0.0322580645161, 232.258064516, 167225.806452, 0.0040962276, 0.00083624668},
		{60, 2, 0.0322580645161, 116.129032258, 83612.9032258, 0.0057921618, 0.0011826248},
		{10, 0.5, 0.047619047619, 685.714285714, 493714.285714, 0.0034635469, 0.00070703837},
		{3600, 5, 0.00138696255201, 1.9972260749, 1438.00277393, 0.0019587408, 0.00040009229},
		{120, 30, 0.2, 48.0, 34560.0, 0.046033804, 0.0094267809},
		{5, 5, 0.5, 720.0, 518400.0, 0.018627429, 0.0038035738},
	} {
		a := Alternating{c.up, c.down}
		printed(t, "share", a.DownShare(), c.share, 12, 1e-9)
		printed(t, "an hour", a.Transitions(3600), c.hour, 12, 1e-9)
		printed(t, "30 d", a.Transitions(2592000), c.month, 12, 1e-9)
		printed(t, "sd over an hour", a.DownShareSD(3600), c.sdHour, 8, 1e-9)
		printed(t, "sd over a day", a.DownShareSD(86400), c.sdDay, 8, 1e-9)
	}
	for _, c := range [][2]float64{{0.5, 0.01301594872}, {1, 0.02078003489}, {2, 0.02817396443}, {10, 0.03225701515}} {
		printed(t, "down after", Alternating{30, 1}.DownAfter(c[0]), c[1], 10, 1e-9)
	}
}

func TestAlternatingQuietShare(t *testing.T) {
	for _, c := range []struct{ up, down, hold, want float64 }{
		{30, 1, 10, 0.693418861843}, {60, 2, 10, 0.819393215926}, {10, 0.5, 10, 0.350361372642}, {120, 30, 10, 0.879341793818},
		{5, 5, 10, 0.135335283237}, {30, 1, 60, 0.130969628939},
	} {
		printed(t, fmt.Sprintf("%+v", c), Alternating{c.up, c.down}.QuietShare(c.hold), c.want, 12, 1e-9)
	}
}

// Second method: edges played, fixed seeds, 40 runs, |z| <= 3.5.
func TestAlternatingAgainstPlay(t *testing.T) {
	a := Alternating{Up: 8, Down: 3}
	const hold, cycles, runs = 2.5, 2000, 40
	sum, square := 0.0, 0.0
	for r := range runs {
		rng := rand.New(rand.NewPCG(11, uint64(r)))
		quiet, span := 0.0, 0.0
		for range cycles {
			for _, mean := range []float64{a.Up, a.Down} {
				x := rng.ExpFloat64() * mean
				quiet, span = quiet+max(0, x-hold), span+x
			}
		}
		sum, square = sum+quiet/span, square+quiet/span*quiet/span
	}
	mean := sum / runs
	se := math.Sqrt((square/runs - mean*mean) / (runs - 1))
	if z := (mean - a.QuietShare(hold)) / se; math.Abs(z) > 3.5 {
		t.Errorf("played %g, want %g, z %.2f", mean, a.QuietShare(hold), z)
	}
}

// Markov-modulated flapping, seconds, figures at 60 digits; the first down of an episode counts.
func TestEpisodes(t *testing.T) {
	for _, c := range []struct {
		e                                          Episodes
		stable, up, down, episodes, downs, per, dt float64
		shareDigits                                int
	}{
		{Episodes{3600, 600, 2, 1}, 0.857142857143, 0.0951323925797, 0.0477247502775, 0.8571428571, 172.0954495, 200.7780244, 200.4439512, 12},
		{Episodes{86400, 300, 5, 0.5}, 0.996539792388, 0.00314088436834, 0.000319323244115, 0.04152249135, 2.302959237, 55.46293495, 27.68532526, 12},
		{Episodes{7200, 60, 1, 1}, 0.99173553719, 0.00409808073219, 0.00416638207773, 0.4958677686, 15.2489584, 30.75206612, 30.24793388, 12},
		{Episodes{604800, 1800, 10, 2}, 0.99703264095, 0.00247051169787, 0.000496847352572, 0.005934718101, 0.8953189293, 150.8612396, 301.3876041, 12},
	} {
		f := c.e.Figures()
		printed(t, "stable", f.StableShare, c.stable, 12, 1e-9)
		printed(t, "up", f.UpShare, c.up, 12, 1e-9)
		printed(t, "down", f.DownShare, c.down, 12, 1e-9)
		printed(t, "episodes", f.EpisodeRate*3600, c.episodes, 10, 1e-9)
		printed(t, "downs", f.DownRate*3600, c.downs, 10, 1e-9)
		printed(t, "downs an episode", f.DownsPerEpisode, c.per, 10, 1e-9)
		printed(t, "down time an episode", f.DownTimePerEpisode, c.dt, 10, 1e-9)
	}
}
