package place

import "testing"

func TestPlaces(t *testing.T) {
	for name, want := range map[string]Place{
		"leaf-2-07": {Leaves, 2}, "spine-10-3": {Spines, 10}, "top-03-5": {Tops, 3}, "leaf-2-07~spine-2-03": {PodLinks, 2},
		"spine-2-03>leaf-2-07": {PodLinks, 2}, "spine-2-03~top-03-5": {PlaneLinks, 3}, "top-03-5>spine-2-03": {PlaneLinks, 3}, "leaf-1-0~spine-1-1#1": {PodLinks, 1},
	} {
		if got, ok := Of(name); !ok || got != want {
			t.Errorf("%s is at %v %v, want %v", name, got, ok, want)
		}
	}
	for _, name := range []string{"", "gate-1-2", "leaf-x-1", "leaf-1", "leaf-0-1~spine-1-1", "group:power", "leaf--1-2"} {
		if got, ok := Of(name); ok {
			t.Errorf("%q has a place: %v", name, got)
		}
	}
}
