package hearing

import "testing"

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
