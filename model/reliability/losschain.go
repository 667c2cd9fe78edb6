package reliability

import "math"

// LossChain is two-state loss (Gilbert 1960, Elliott 1963, from memory): a state good or bad that steps once per
// packet, and a loss probability in each. All four numbers are probabilities.
type LossChain struct {
	GoodToBad, BadToGood float64
	LossGood, LossBad    float64
}

func (c LossChain) check() {
	for _, p := range [...]float64{c.GoodToBad, c.BadToGood, c.LossGood, c.LossBad} {
		require(p >= 0 && p <= 1, "a loss chain takes probabilities from 0 to 1")
	}
	require(c.GoodToBad+c.BadToGood > 0, "a loss chain must be able to change its state")
}

// BadShare is the share of packets sent in the bad state.
func (c LossChain) BadShare() float64 {
	c.check()
	return c.GoodToBad / (c.GoodToBad + c.BadToGood)
}

func (c LossChain) goodShare() float64 { return c.BadToGood / (c.GoodToBad + c.BadToGood) }

// MeanLoss is the share of packets lost.
func (c LossChain) MeanLoss() float64 {
	return float64(c.goodShare()*c.LossGood) + float64(c.BadShare()*c.LossBad)
}

// LossAfterLoss is the probability that the packet after a lost one is lost.
func (c LossChain) LossAfterLoss() float64 {
	afterGood := float64((1-c.GoodToBad)*c.LossGood) + float64(c.GoodToBad*c.LossBad)
	afterBad := float64(c.BadToGood*c.LossGood) + float64((1-c.BadToGood)*c.LossBad)
	both := float64(c.goodShare()*c.LossGood*afterGood) + float64(c.BadShare()*c.LossBad*afterBad)
	return both / c.MeanLoss()
}

// MeanLossRun is the mean number of packets lost in a row. It is 1/BadToGood only when the bad state loses everything
// and the good one nothing.
func (c LossChain) MeanLossRun() float64 { return 1 / (1 - c.LossAfterLoss()) }

// LossCorrelation is the correlation of the losses of neighbouring packets.
func (c LossChain) LossCorrelation() float64 {
	p := c.MeanLoss()
	return (c.LossAfterLoss() - p) / (1 - p)
}

// RunMean is the mean number of probes up to k losses in a row, the chain started in its long-run shares; +Inf when it
// never happens.
//
// An attempt is what lies between two passed probes. From either state an attempt succeeds, or ends with the next one
// starting good or bad; the chain of attempts is solved from positive terms only.
func (c LossChain) RunMean(k int) float64 {
	fromGood, fromBad := c.runMeans(k)
	if math.IsInf(fromGood, 1) {
		return fromGood
	}
	return float64(c.goodShare()*fromGood) + float64(c.BadShare()*fromBad)
}

// RunMeanAfterGood is the mean number of probes up to k losses in a row after one that was sent in the good state; +Inf
// when it never happens.
func (c LossChain) RunMeanAfterGood(k int) float64 {
	fromGood, _ := c.runMeans(k)
	return fromGood - 1
}

// runMeans are the means with the first probe sent in either state.
func (c LossChain) runMeans(k int) (fromGood, fromBad float64) {
	c.check()
	require(k >= 1, "a run of losses has a length of at least 1")
	g, b := c.attempt(k, true), c.attempt(k, false)
	det := float64(g.success*b.success) + float64(g.success*b.toGood) + float64(g.toBad*b.success)
	if det == 0 {
		return math.Inf(1), math.Inf(1)
	}
	fromGood = (float64(g.probes*(b.success+b.toGood)) + float64(g.toBad*b.probes)) / det
	fromBad = (float64(b.probes*(g.success+g.toBad)) + float64(b.toGood*g.probes)) / det
	return fromGood, fromBad
}

// attempt is one stretch of probes: its mean length, the probability that it reaches k losses, and of ending with the
// next probe in either state.
type attempt struct{ probes, success, toGood, toBad float64 }

func (c LossChain) attempt(k int, good bool) attempt {
	var a attempt
	inGood, inBad := indicator(good), indicator(!good) // reached this probe, by state
	for range k {
		a.probes += inGood + inBad
		passGood, passBad := float64(inGood*(1-c.LossGood)), float64(inBad*(1-c.LossBad))
		lostGood, lostBad := float64(inGood*c.LossGood), float64(inBad*c.LossBad)
		toGood, toBad := c.step(passGood, passBad)
		a.toGood += toGood
		a.toBad += toBad
		a.success = lostGood + lostBad
		inGood, inBad = c.step(lostGood, lostBad)
	}
	return a
}

// step moves the chain by one packet.
func (c LossChain) step(good, bad float64) (float64, float64) {
	return float64(good*(1-c.GoodToBad)) + float64(bad*c.BadToGood), float64(good*c.GoodToBad) + float64(bad*(1-c.BadToGood))
}
