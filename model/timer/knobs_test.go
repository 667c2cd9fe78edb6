package timer

import "testing"

// Every knob turns a timer of its own, from floor to ceiling, and whatever it is
// turned to the set keeps the rules of the standards.
func TestKnobs(t *testing.T) {
	for _, family := range []Family{RFC8405, DoublingA, DoublingB, TwoStep} {
		set := Default(5*ms, true)
		set.SPF = DefaultSPF(family)
		knobs := Knobs(&set)
		seen := map[*int64]string{}
		for i := range knobs {
			k := &knobs[i]
			if other := seen[k.of(&set)]; other != "" {
				t.Errorf("%s turns what %s turns", k.Path, other)
			}
			seen[k.of(&set)] = k.Path
			if v := k.Value(&set); v < k.Floor || v > k.Most {
				t.Errorf("%v: the default of %s, %d, lies outside %d to %d", family, k.Path, v, k.Floor, k.Most)
			}
			for _, ns := range []int64{k.Floor, k.Most} {
				turned := set
				k.Turn(&turned, ns)
				turned.Consistent()
				if err := turned.SPF.Check(); err != nil {
					t.Errorf("%s at %d: %v", k.Path, ns, err)
				}
				if err := turned.LSPGeneration.Check(); err != nil || turned.Settle < turned.Signal {
					t.Errorf("%s at %d: %v", k.Path, ns, err)
				}
			}
		}
		if same := set; func() bool { same.Consistent(); return same != set }() {
			t.Errorf("%v: the defaults are not left alone", family)
		}
	}
	set := Default(5*ms, true)
	set.BFD = false
	for _, k := range Knobs(&set) {
		if k.Path == "detection.bfd.interval" {
			t.Error("BFD is off and its interval is a knob")
		}
	}
}
