package detection

import (
	"testing"

	"halflight/model/timer"
)

// RFC 5303, section 3.2: the table of its three-way states, own state by the
// state received. Up and "Accept" are the same: the adjacency is up.
func TestThreeWayHandshake(t *testing.T) {
	for _, c := range []struct{ own, heard, next Adjacency }{
		{Down, Down, Initializing}, {Down, Initializing, Up}, {Down, Up, Down},
		{Initializing, Down, Initializing}, {Initializing, Initializing, Up}, {Initializing, Up, Up},
		{Up, Down, Initializing}, {Up, Initializing, Up}, {Up, Up, Up},
	} {
		if got := Handshake(c.own, c.heard); got != c.next {
			t.Errorf("own %d, heard %d: %d, want %d", c.own, c.heard, got, c.next)
		}
	}
}

// Two ends that begin down come up in three hellos, and one that fell alone takes
// the other with it and comes back: RFC 5303, section 3.2, as a conversation.
func TestThreeWayConversation(t *testing.T) {
	a, b := Down, Down
	hear := func(own *Adjacency, from Adjacency) { *own = Handshake(*own, from) }
	hear(&b, a)
	hear(&a, b)
	hear(&b, a)
	if a != Up || b != Up {
		t.Fatalf("after three hellos %d and %d", a, b)
	}
	a = Down // heard nothing in time
	if hear(&a, b); a != Down {
		t.Fatal("an end that fell must not come up by a hello that has not noticed")
	}
	if hear(&b, a); b != Initializing {
		t.Fatal("the other end must fall with it")
	}
	hear(&a, b)
	if hear(&b, a); a != Up || b != Up {
		t.Fatalf("back: %d and %d", a, b)
	}
}

// RFC 5880, sections 6.8.7 and 6.8.4, worked: A wants to send every 50 ms, takes
// one every 300, multiplier 3; B 10, 20, 5. A sends every 50 and is missed by B
// after 150; B sends every 300 and is missed by A after 1,500.
func TestNegotiatedIntervals(t *testing.T) {
	const ms = int64(1e6)
	s := timer.Set{BFDInterval: 100 * ms, BFDMultiplier: 3}
	s.BFDAt[0] = timer.Sends{Transmit: 50 * ms, Receive: 300 * ms, Multiplier: 3}
	s.BFDAt[1] = timer.Sends{Transmit: 10 * ms, Receive: 20 * ms, Multiplier: 5}
	for _, c := range []struct {
		from, to       uint8
		interval, miss int64
	}{{0, 1, 50, 150}, {1, 0, 300, 1500}, {2, 2, 100, 300}, {2, 0, 300, 900}, {0, 2, 50, 150}} {
		interval, multiplier := s.BFDPace(c.from, c.to)
		if interval != c.interval*ms || interval*int64(multiplier) != c.miss*ms {
			t.Errorf("%d to %d: every %d, missed after %d times, want %d and %d ms", c.from, c.to, interval, multiplier, c.interval, c.miss)
		}
	}
	s.BFDReceive = 200 * ms
	if interval, _ := s.BFDPace(2, 2); interval != 200*ms {
		t.Errorf("a receiver that takes one in 200 ms gets one every %d", interval)
	}
}
