package money

import (
	"testing"

	"halflight/sim/record"
)

// A bill of half a year by hand: 30 leaf-hours at 2 come to 120 a year; a mean of
// 0.01 technicians at 100 an hour to 8,760, and 5 visits at 50 to 500 a year; 4
// optics at 25 to 200; 10 links with two ends at 3 and 6 leaves at 7 to 102.
func TestBill(t *testing.T) {
	h := &record.Header{Leaves: 6, Links: 10, Classes: []record.Class{{Name: "calls", LeafHour: 2}},
		Instruments: []record.Instrument{{YearlyCost: 11}, {YearlyCost: 4}},
		Prices:      record.Prices{TechnicianHour: 100, Visit: 50, Optic: 25, Port: 3, Leaf: 7}}
	r := &record.Replication{From: 7, To: 7 + int64(yearNs/2), HandsOn: 0.01, Visits: 5, Repairs: 4, Applications: []record.Application{{DegradedLeafHours: 30}}}
	want := []Item{{"degraded-calls", 120}, {"instruments", 15}, {"technicians", 8760 + 500}, {"spares", 200}, {"ports", 102}, {"total", 9697}}
	got := Of(h, r)
	for i := range want {
		if got[i] != want[i] || Names(h)[i] != want[i].Name {
			t.Errorf("%v, want %v", got[i], want[i])
		}
	}
	h.Servers = &record.ServersOf{Access: 20} // 40 ends at 3 come to 120
	got = Of(h, r)
	if n := len(got); got[n-2] != (Item{"access", 120}) || got[n-1] != (Item{"total", 9817}) || Names(h)[n-2] != "access" || !Fixed("access") {
		t.Errorf("%v, %v", got, Names(h))
	}
	if class, ok := Degraded("degraded-calls"); class != "calls" || !ok || Fixed("spares") || !Fixed("ports") {
		t.Error("kinds of item")
	}
}
