package control

import (
	"halflight/scenarios/part"
	"halflight/scenarios/unit"
)

// timers reads the timers of the control plane.
func (o *object) timers(t *Timers) {
	if f := o.open("spf"); f != nil {
		t.SPF = f.family8541()
	}
	if g := o.open("lsp_generation"); g != nil {
		l := &LSPGeneration{}
		g.doubling(&l.FirstDelay, &l.IncrementalDelay, &l.MaximumDelay, &l.WaitTime)
		if l.MaximumDelay != nil && l.WaitTime != nil && *l.MaximumDelay >= *l.WaitTime {
			g.Wrong("maximum_delay", "maximum_delay "+l.MaximumDelay.String()+" is not below wait_time "+l.WaitTime.String(),
				"or the longest wait would count as quiet")
		}
		g.Done()
		t.LSPGeneration = l
	}
	o.Duration("spf_run", &t.SPFRun, 0)
	o.Done()
}

// family8541 reads one of the three SPF back-off families.
func (o *object) family8541() *SPF {
	defer o.Done()
	switch o.Choice("rfc8405", "doubling", "two_step") {
	case 0:
		if m := o.open("rfc8405"); m != nil {
			return &SPF{RFC8405: m.rfc8405()}
		}
	case 1:
		if m := o.open("doubling"); m != nil {
			d := &Doubling{}
			if i := m.Word("form", "a", "b"); i >= 0 {
				b := i == 1
				d.FormB = &b
			}
			m.doubling(&d.FirstDelay, &d.IncrementalDelay, &d.MaximumDelay, &d.WaitTime)
			m.Done()
			return &SPF{Doubling: d}
		}
	case 2:
		if m := o.open("two_step"); m != nil {
			d := &TwoStep{}
			m.Duration("rapid_delay", &d.RapidDelay, 0)
			m.Whole("rapid_runs", &d.RapidRuns, 1, 1000)
			m.Duration("slow_delay", &d.SlowDelay, 0)
			m.Duration("wait_time", &d.WaitTime, 1)
			m.Done()
			return &SPF{TwoStep: d}
		}
	}
	return nil
}

// rfc8405 reads the parameters of RFC 8405. Its section 3 wants the hold-down above the time to learn.
func (o *object) rfc8405() *RFC8405 {
	r := &RFC8405{}
	o.Duration("initial_delay", &r.InitialDelay, 0)
	o.Duration("short_delay", &r.ShortDelay, 0)
	o.Duration("long_delay", &r.LongDelay, 0)
	o.Duration("time_to_learn", &r.TimeToLearn, 0)
	o.Duration("holddown", &r.Holddown, 1)
	o.Done()
	if r.Holddown != nil && r.TimeToLearn != nil && *r.Holddown <= *r.TimeToLearn {
		o.Wrong("holddown", "holddown "+r.Holddown.String()+" is not above time_to_learn "+r.TimeToLearn.String(), "RFC 8405, section 3")
	}
	return r
}

// doubling reads the parameters of a doubling back-off.
func (o *object) doubling(first, incremental, maximum, wait **Duration) {
	o.Duration("first_delay", first, 0)
	o.Duration("incremental_delay", incremental, 0)
	o.Duration("maximum_delay", maximum, 0)
	o.Duration("wait_time", wait, 1)
}

// detection reads how routers notice.
func (o *object) detection(d *Detection) {
	o.Duration("signal", &d.Signal, 0)
	o.Duration("settle", &d.Settle, 0)
	d.BFD = o.hellos("bfd", true)
	d.Hello = o.hellos("hello", false)
	o.damping(d)
	o.Done()
	if d.Signal != nil && d.Settle != nil && *d.Settle < *d.Signal {
		o.Wrong("settle", "settle "+d.Settle.String()+" is below signal "+d.Signal.String(),
			"an adjacency cannot come back sooner than a loss of light is seen")
	}
}

// hellos reads BFD or hellos.
func (o *object) hellos(key string, bfd bool) *Hellos {
	m, off, given := o.switchable(key)
	if !given {
		return nil
	}
	h := &Hellos{Off: off}
	if m == nil {
		return h
	}
	m.Duration("interval", &h.Interval, 1000)
	m.Whole("multiplier", &h.Multiplier, 1, 255)
	if n := m.Peek("jitter"); n != nil && n.Value == "false" {
		h.Jitter = new(float64)
		m.Take("jitter")
	} else { // RFC 5880, section 6.8.7, and RFC 1142, section 10.1: gaps are shortened by 0 to 25 %
		m.Share("jitter", &h.Jitter, 0.25)
	}
	if bfd {
		m.Duration("receive", &h.Receive, 1000)
		m.bfdAt(h)
	} else {
		m.Flag("three_way", &h.ThreeWay)
	}
	m.Done()
	return h
}

// bfdAt reads how BFD differs from tier to tier.
func (o *object) bfdAt(h *Hellos) {
	at := o.open("at")
	if at == nil {
		return
	}
	for i := range h.At {
		if m := at.open(part.Tier(i).String()); m != nil {
			h.At[i] = &Ends{}
			m.Duration("interval", &h.At[i].Interval, 1000)
			m.Duration("receive", &h.At[i].Receive, 1000)
			m.Whole("multiplier", &h.At[i].Multiplier, 1, 255)
			m.Done()
		}
	}
	at.Done()
}

// damping reads how links that go down again and again are kept out of use.
func (o *object) damping(d *Detection) {
	m, off, given := o.switchable("damping")
	if !given {
		return
	}
	d.Damping = &Damping{Off: off}
	if m == nil {
		return
	}
	m.Number("increment", &d.Damping.Increment, unit.ParseNumber, 1, 1e6)
	m.Number("cut_off", &d.Damping.CutOff, unit.ParseNumber, 1, 1e9)
	m.Number("reuse", &d.Damping.Reuse, unit.ParseNumber, 1, 1e9)
	m.Duration("half_life", &d.Damping.HalfLife, 1_000_000)
	m.Duration("hold", &d.Damping.Hold, 1_000_000)
	m.Done()
}

// window reads how LSPs go out on one interface and are acknowledged.
func (o *object) window(f *Flooding) {
	m, off, given := o.switchable("window")
	if !given {
		return
	}
	f.Window = &Window{Off: off}
	if m != nil {
		m.Whole("burst", &f.Window.Burst, 1, 1_000_000)
		m.Duration("interval", &f.Window.Interval, 0)
		m.Whole("receive", &f.Window.Receive, 1, 1_000_000)
		m.Whole("per_ack", &f.Window.PerAck, 1, 1_000_000)
		m.Duration("ack_delay", &f.Window.AckDelay, 0)
		m.Done()
	}
	if !off && o.Has("exchange") {
		o.Wrong("exchange", "window says what an exchange takes", "keep one of the two")
	}
}

// flooding reads how LSPs travel.
func (o *object) flooding(f *Flooding) {
	o.Duration("per_hop", &f.PerHop, 0)
	o.Duration("exchange", &f.Exchange, 0)
	o.Flag("second_lsp_counts", &f.SecondLSPCounts)
	o.Flag("lossy", &f.Lossy)
	if m, off, given := o.switchable("reduced"); given {
		f.Reduced = &Reduced{Off: off}
		if m != nil {
			m.Whole("degree", &f.Reduced.Degree, 1, 64)
			m.Duration("redraw", &f.Reduced.Redraw, 0)
			m.Done()
		}
	}
	o.window(f)
	if m, off, given := o.switchable("pacing"); given {
		f.Pacing = &Pacing{Off: off}
		if m != nil {
			m.Require("burst", "interval")
			m.Whole("burst", &f.Pacing.Burst, 1, 1_000_000)
			m.Duration("interval", &f.Pacing.Interval, 1)
			m.Done()
		} else if !off {
			o.Wrong("pacing", "pacing has no default rate", "say {burst: 10, interval: 33ms}, or false")
		}
	}
	o.Done()
}
