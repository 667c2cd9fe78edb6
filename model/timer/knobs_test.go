package timer

import "testing"

// Every knob turns a setting of its own, from floor to ceiling, and whatever it is
// turned to the set keeps the rules of the standards.
func TestKnobs(t *testing.T) {
	for _, family := range []Family{RFC8405, DoublingA, DoublingB, TwoStep} {
		set := Default(5*ms, true)
		set.SPF = DefaultSPF(family)
		knobs := Knobs(&set)
		for i := range knobs {
			k := &knobs[i]
			if v := k.Value(&set); v < k.Floor || v > k.Most {
				t.Errorf("%v: the default of %s, %d, lies outside %d to %d", family, k.Path, v, k.Floor, k.Most)
			}
			one := set
			k.Turn(&one, k.Floor+1)
			for j := range knobs {
				if was, is := knobs[j].Value(&set), knobs[j].Value(&one); (was != is) != (i == j) {
					t.Errorf("%v: %s above its floor puts %s from %d to %d", family, k.Path, knobs[j].Path, was, is)
				}
			}
			for _, v := range []int64{k.Floor, k.Most} {
				turned := set
				k.Turn(&turned, v)
				turned.Consistent()
				if err := turned.SPF.Check(); err != nil {
					t.Errorf("%s at %d: %v", k.Path, v, err)
				}
				if err := turned.LSPGeneration.Check(); err != nil || turned.Settle < turned.Signal {
					t.Errorf("%s at %d: %v", k.Path, v, err)
				}
			}
		}
		if same := set; func() bool { same.Consistent(); return same != set }() {
			t.Errorf("%v: the defaults are not left alone", family)
		}
	}
	short := Default(5*ms, true)
	short.SPF = SPF{Family: DoublingA, First: 50 * ms, Incremental: 200 * ms, Maximum: 5000 * ms, Wait: 300 * ms}
	if same := short; func() bool { same.Consistent(); return same != short }() { // RFC 8541 leaves the quiet time free
		t.Errorf("a quiet time of 300 ms became %d ns", same.SPF.Wait)
	}
	set := Default(5*ms, true)
	set.BFD = false
	for _, k := range Knobs(&set) {
		if k.Path == "detection.bfd.interval" || k.Path == "detection.bfd.multiplier" {
			t.Errorf("BFD is off and %s is a knob", k.Path)
		}
	}
}

// Damping is on below the knob's own end, and off above it, or where its cut-off is
// never exceeded: reuse x 2^(hold/half-life), RFC 2439 section 4.2.
func TestDampingKnobs(t *testing.T) {
	base := Default(5*ms, true)
	find := func(set *Set, path string) Knob {
		for _, k := range Knobs(set) {
			if k.Path == path {
				return k
			}
		}
		t.Fatal(path)
		return Knob{}
	}
	cutOff, half := find(&base, "detection.damping.cut_off"), find(&base, "detection.damping.half_life")
	if base.Damping.On || cutOff.Value(&base) != cutOff.Most || cutOff.Off >= cutOff.Most {
		t.Errorf("by default it is off: %+v", cutOff)
	}
	for _, c := range []struct {
		cutOff, half int64
		on           bool
	}{
		{6000, 900 * s, true}, // the ceiling is 750 x 2^4 = 12,000
		{11_999, 900 * s, true},
		{12_000, 60 * s, false},
		{6000, 1200 * s, false}, // 750 x 2^3 = 6,000
		{6000, 1199 * s, true},
		{700, 900 * s, false}, // below what lets a link back
	} {
		set := base
		cutOff.Turn(&set, c.cutOff)
		half.Turn(&set, c.half)
		set.Consistent()
		if set.Damping.On != c.on {
			t.Errorf("%+v: %+v", c, set.Damping)
		}
		if !c.on && set != base {
			t.Errorf("%+v: not all that is off is alike", c)
		}
	}
	wide := base
	wide.Damping.On, wide.Damping.CutOff = true, 11_000
	if k := find(&wide, "detection.damping.cut_off"); k.Off <= k.Value(&wide) || k.Value(&wide) != 11_000 {
		t.Errorf("what is in force would be off: %+v", k)
	}
}
