package homing

import (
	"testing"

	"halflight/model/fabric"
)

// Two pods of four leaves, eleven groups of two attachments each: mates two by
// two, links numbered by leaf, group and attachment, names padded to two digits.
func TestPlan(t *testing.T) {
	f, err := fabric.Clos{Pods: 2, Leaves: 4, Spines: 2, Tops: 1, Parallel: 1}.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	p := Default()
	p.Groups, p.Attachments = 11, 2
	if n := p.Access(f); n != 8*11*2 {
		t.Errorf("%d access links", n)
	}
	for id := range int32(p.Access(f)) {
		leaf, group, attachment := p.Of(id)
		if p.Link(leaf, group, attachment) != id || group >= 11 || leaf > 7 || attachment > 1 {
			t.Fatalf("link %d is %d %d %d", id, leaf, group, attachment)
		}
	}
	id := p.Link(5, 3, 1)
	if p.At(id) != 4 || p.Mate(4) != 5 || p.Name(f, id) != "leaf-1-0~servers-1-1-03" || p.Name(f, p.Link(5, 10, 0)) != "leaf-1-1~servers-1-1-10" {
		t.Errorf("%d, %s, %s", p.At(id), p.Name(f, id), p.Name(f, p.Link(5, 10, 0)))
	}
	p.Attachments = 1
	if p.Mate(4) != 4 || p.At(p.Link(5, 3, 0)) != 5 || (&Plan{}).On() {
		t.Error("one attachment")
	}
}
