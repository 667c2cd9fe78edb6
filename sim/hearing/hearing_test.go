package hearing

import "testing"

// A router that runs again and again because of one fault is one router.
func TestRouters(t *testing.T) {
	var r Routers
	if r.Count() != 0 {
		t.Error("nobody ran, and somebody is counted")
	}
	for i := range 3 {
		for _, x := range []int32{0, 63, 64, 129} {
			if isNew := r.Add(x, 130); isNew != (i == 0) {
				t.Errorf("router %d, time %d: new %v", x, i, isNew)
			}
		}
	}
	if got := r.Count(); got != 4 {
		t.Errorf("4 routers ran three times each: counted %d", got)
	}
}

// The first event since a router's last run counts; of more faults than are followed the
// one heard of longest ago is forgotten.
func TestBook(t *testing.T) {
	var b Book
	b.Note(3, 1, 10, LongAgo, 2)
	b.Note(3, 1, 20, LongAgo, 2) // another before it ran
	if got := b.At(3, 1); got != 10 {
		t.Errorf("heard at %d, want at the first event, 10", got)
	}
	b.Note(3, 1, 30, 25, 2) // it ran at 25
	if got := b.At(3, 1); got != 30 {
		t.Errorf("heard at %d, want at the first event after the run, 30", got)
	}
	if b.At(3, 0) != LongAgo || b.At(4, 1) != LongAgo || b.At(-1, 1) != LongAgo {
		t.Error("routers have heard of what they have not")
	}
	for fault := range int32(manyFaults) {
		b.Note(100+fault, 0, int64(100+fault), LongAgo, 2)
	}
	if b.At(3, 1) != LongAgo || b.At(100, 0) != 100 || b.At(100+manyFaults-1, 0) != 100+manyFaults-1 {
		t.Error("not the fault heard of longest ago was forgotten")
	}
}
