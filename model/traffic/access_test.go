package traffic

import (
	"testing"

	"halflight/model/fabric"
)

// By hand, four pods of three leaves, eight servers of 25 Gb/s a leaf, a quarter of
// all demand from outside or to it. With a pod for the outside, nine of twelve leaves
// have servers; of the demand of twelve they send three quarters among themselves
// and an eighth to outside: 7/8 x 12/9 = 7/6 of what the mean leaf sends, so that a
// load of 0.9 asks access links for 1.05 of what they carry. Where it comes in at the
// spines of each pod and f.Leaves counts one destination for all of it, thirteen
// share the demand and twelve send 7/8 of it.
func TestAccessLinksByHand(t *testing.T) {
	c := fabric.Clos{Pods: 4, Leaves: 3, Spines: 2, Tops: 2, Parallel: 1}
	use := func(at Place, servers int, share float64) float64 {
		division := fabric.Division{Clos: c, Fabrics: 1}
		if at == AtSpines {
			division.Outside = fabric.Spine
		}
		f := made(t, division)
		d := Default()
		d.Servers, d.External = servers, External{Share: share, At: at, Boxes: 12}
		d.Mix = NewMix(f, d.External)
		return d.AccessUse(f, 0.9)
	}
	near(t, "pod", use(AtPod, 8, 0.25), 1.05, 1e-12)
	near(t, "spines", use(AtSpines, 8, 0.25), 0.9*13*7/8/12, 1e-12)
	near(t, "all leaves are boxes", use(AtLeaves, 8, 0.25), 0.9*7/8, 1e-12)
	near(t, "nothing from outside", use(AtPod, 8, 0), 0.9, 1e-12)
	near(t, "as many servers as fit", use(AtPod, 0, 0.25), 0.9, 1e-12)
}

// What servers send and what comes from outside are together what all send.
func TestServedAddsUp(t *testing.T) {
	mixes(t, func(name string, f *fabric.Fabric, d *Demand) {
		if d.Mix == nil {
			return
		}
		sum := 0.0
		for s := range int32(f.Leaves) {
			sum += d.Mix.Served(s)
		}
		near(t, name, sum/float64(f.Leaves), 1-d.External.Share/2, 1e-12)
	})
}
