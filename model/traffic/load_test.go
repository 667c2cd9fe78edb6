package traffic

import (
	"testing"

	"halflight/model/fabric"
)

func clos(t *testing.T, c fabric.Clos, up, top float64) *fabric.Fabric {
	t.Helper()
	f, err := c.Build(up, top)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Ten pods of 40 leaves under 16 spines and 8 tops, all links 100 Gb/s, by hand:
// 64 servers of 25 Gb/s a leaf at a load of 0.35 send 560 Gb/s, 35 on each uplink;
// of what a leaf sends 360 of 399 parts leave the pod, 40 x 560 x 360/399 over 128
// links are 157.9 on each: 1.6 times what they carry. Without a number of servers
// the narrowest stage is as full as the load says.
func TestLoadsByHand(t *testing.T) {
	f := clos(t, fabric.Clos{Pods: 10, Leaves: 40, Spines: 16, Tops: 8, Parallel: 1}, 100e9, 100e9)
	d := Default()
	d.Servers = 64
	at := d.Rest(f, 0.35)
	near(t, "uplink", at.LeafSpine, 35e9, 1e-12)
	near(t, "to a top", at.SpineTop, 40*560e9*360/399/128, 1e-12)
	near(t, "use", d.Use(f, 0.35, 1), at.SpineTop/100e9, 1e-12)
	near(t, "excess that is lost", Lost(at.SpineTop/100e9), 1-100e9/at.SpineTop, 1e-12)
	d.Servers = 0
	near(t, "narrowest stage", d.Use(f, 0.35, 1), 0.35, 1e-12)
	near(t, "with three quarters of it left", d.Use(f, 0.6, 0.75), 0.8, 1e-12)
	if Lost(0.99) != 0 || Lost(1) != 0 {
		t.Error("what fits is lost")
	}
	// Three stages, two parallel links: one leaf's traffic over eight uplinks.
	g := clos(t, fabric.Clos{Pods: 1, Leaves: 16, Spines: 4, Parallel: 2}, 50e9, 0)
	near(t, "three stages", d.Rest(g, 0.5).LeafSpine, 25e9, 1e-12)
	if d.Rest(g, 0.5).SpineTop != 0 {
		t.Error("load on links that are not there")
	}
}
