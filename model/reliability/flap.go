package reliability

import "math"

// Alternating is a link that goes up and down for ever: mean stretch up, mean stretch down, in any one unit of time.
// Shares and counts hold for any laws; what needs exponential stretches says so.
type Alternating struct{ Up, Down float64 }

func (a Alternating) cycle() float64 {
	require(a.Up > 0 && a.Down > 0, "an alternating link needs both stretches above 0")
	return a.Up + a.Down
}

// DownShare is the long-run share of time down.
func (a Alternating) DownShare() float64 { return a.Down / a.cycle() }

// Transitions is the mean number of edges, up and down both counted, in span.
func (a Alternating) Transitions(span float64) float64 { return 2 * span / a.cycle() }

// DownAfter is the probability of being down t after a moment up; exponential stretches.
func (a Alternating) DownAfter(t float64) float64 {
	return a.DownShare() * -math.Expm1(-a.relaxation()*t)
}

func (a Alternating) relaxation() float64 { return 1/a.Up + 1/a.Down }

// DownShareSD is the standard deviation of the share down over one window of span; exponential stretches, the window
// begun at a random moment.
func (a Alternating) DownShareSD(span float64) float64 {
	d, st := a.DownShare(), a.relaxation()*span
	return math.Sqrt(2 * d * (1 - d) / st * (1 + math.Expm1(-st)/st))
}

// QuietShare is the share of time in which no edge fell within the last holddown, every edge an event; exponential
// stretches.
func (a Alternating) QuietShare(holddown float64) float64 {
	require(holddown >= 0, "a hold-down must not be negative")
	up, down := float64(a.Up*math.Exp(-holddown/a.Up)), float64(a.Down*math.Exp(-holddown/a.Down))
	return (up + down) / a.cycle()
}

// PeriodicQuietShare is the same under one event every gap.
func PeriodicQuietShare(gap, holddown float64) float64 {
	require(gap > 0 && holddown >= 0, "a quiet share needs a gap above 0 and a hold-down of at least 0")
	return max(0, 1-holddown/gap)
}

// Episodes is Markov-modulated flapping: stable for a mean time, then an episode of mean length that begins with the
// link going down and alternates until it ends with the link up. All stretches exponential, any one unit of time.
type Episodes struct {
	Stable  float64 // mean time between episodes
	Episode float64 // mean length of an episode
	Up      float64 // mean stretch up within one, if the episode did not end
	Down    float64 // mean stretch down within one, likewise
}

// EpisodeFigures are the long-run figures of Episodes; rates per unit of time.
type EpisodeFigures struct {
	StableShare, UpShare, DownShare float64 // stable; up within an episode; down
	EpisodeRate                     float64
	DownRate                        float64 // entries to down, the first of each episode included
	DownsPerEpisode                 float64
	DownTimePerEpisode              float64
}

// Figures solves the chain of three states.
func (e Episodes) Figures() EpisodeFigures {
	require(e.Stable > 0 && e.Episode > 0 && e.Up > 0 && e.Down > 0, "episodes need all four means above 0")
	upPerDown := 1 / e.Down / (1/e.Up + 1/e.Episode)
	stablePerDown := (1 + upPerDown) * e.Stable / e.Episode
	all := 1 + upPerDown + stablePerDown
	f := EpisodeFigures{StableShare: stablePerDown / all, UpShare: upPerDown / all, DownShare: 1 / all}
	f.EpisodeRate = f.StableShare / e.Stable
	f.DownRate = f.EpisodeRate + f.UpShare/e.Up
	f.DownsPerEpisode = f.DownRate / f.EpisodeRate
	f.DownTimePerEpisode = f.DownShare / f.EpisodeRate
	return f
}
