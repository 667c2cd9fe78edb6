package part

import "testing"

// Names in every form, padded or not, ends of a link in either order, are one part.
func TestParse(t *testing.T) {
	n := &Numbers{Pods: 2, Leaves: 12, Spines: 3, Tops: 2, Parallel: 1}
	for text, want := range map[string]string{
		"leaf-1-11": "leaf-1-11", "leaf-01-011": "leaf-1-11", "spine-0-2": "spine-0-2", "top-2-1": "top-2-1",
		"leaf-0-3~spine-0-1": "leaf-0-3~spine-0-1#0", "spine-0-1~leaf-0-03": "leaf-0-3~spine-0-1#0", "top-1-0~spine-1-1#0": "spine-1-1~top-1-0#0",
		"leaf-0-3>spine-0-1": "leaf-0-3>spine-0-1#0", "spine-0-1>leaf-0-3": "spine-0-1>leaf-0-3#0", "group:east": "group:east",
	} {
		if p, f := Parse(text, n); f != nil || p.String() != want || p.Text != text {
			t.Errorf("%s is %s, want %s (%v)", text, p, want, f)
		}
	}
	for _, text := range []string{"", "leaf", "leaf-0", "leaf-0-12", "leaf-2-0", "spine-0-3", "top-3-0", "top-0-2", "Leaf-0-0", "leaf-0-0-0",
		"leaf--1-0", "leaf-0-0~spine-1-0", "spine-0-0~top-1-0", "leaf-0-0~top-0-0", "leaf-0-0~leaf-0-0", "leaf-0-0~spine-0-0#1",
		"leaf-0-0~spine-0-0#", "leaf-0-0~spine-0-0>top-0-0", "leaf-999999-0", " leaf-0-0"} {
		if p, f := Parse(text, n); f == nil {
			t.Errorf("%q was read as %s", text, p)
		}
	}
}

// Parallel links are between leaves and spines only; without numbers of a fabric only forms are held.
func TestParallel(t *testing.T) {
	n := &Numbers{Pods: 2, Leaves: 4, Spines: 2, Tops: 2, Parallel: 3}
	for text, ok := range map[string]bool{"leaf-0-0~spine-0-0": false, "leaf-0-0~spine-0-0#0": true, "leaf-0-0>spine-0-0#2": true,
		"leaf-0-0~spine-0-0#3": false, "spine-0-0~top-0-0": true, "spine-0-0~top-0-0#1": false} {
		if _, f := Parse(text, n); (f == nil) != ok {
			t.Errorf("%s: %v", text, f)
		}
	}
	if p, f := Parse("leaf-70-80~spine-70-90#7", nil); f != nil || p.Parallel != 7 || p.A != (Router{Leaf, 70, 80}) {
		t.Errorf("%+v (%v)", p, f)
	}
}

// Counts of a folded Clos by hand: P(L+S)+ST routers, PLSM+PST links.
func TestCounts(t *testing.T) {
	n := Numbers{Pods: 10, Leaves: 40, Spines: 16, Tops: 8, Parallel: 2}
	if n.Routers() != 688 || n.Links() != 14080 {
		t.Errorf("%d routers, %d links", n.Routers(), n.Links())
	}
}
