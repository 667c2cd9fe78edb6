package sizing

import (
	"math"
	"testing"
)

// 30 leaves and 8 spines at three at once, each out for 1 + 10 + 10 min, of which 11
// fit between 1 and 5: 13 rounds take two nights. A spine that forgets its tables loses
// an eighth of all for 15 ms, a leaf 2/30 for 10 min; in three stages a spine that keeps
// them loses nothing.
func TestCampaignByHand(t *testing.T) {
	const hall = "fabric: {clos: {pods: 1, leaves: 30, spines: 8, tops: 0}}\n"
	p := OfWorld(worldOf(t, hall+"operations: {upgrades: {at_once: 3, window: {from: 1h, to: 5h}}}\n"), 720).Planned
	if p.Boxes != 38 || p.PerNight != 11 || p.Nights != 2 || len(p.Restarts) != 2 {
		t.Fatalf("%+v", p)
	}
	near(t, "exposure", p.Exposure, 13*21/60.0, 1e-12)
	near(t, "leaf", p.Restarts[0].Cold, 2.0/30*600, 1e-12)
	near(t, "spine", p.Restarts[1].Cold, 0.015/8, 1e-12)
	if p.Restarts[1].Kept != 0 || !math.IsInf(float64(p.Restarts[1].Pays), 1) {
		t.Errorf("a spine with tables kept: %+v", p.Restarts[1])
	}
	if OfWorld(worldOf(t, hall), 720).Planned != nil {
		t.Error("a campaign where there is none")
	}
}
