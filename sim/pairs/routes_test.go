package pairs

import (
	"fmt"
	"slices"
	"testing"
)

// A pair is lost from 10 to 40 and from 50 on: to fault 1 until 30, beside fault 2 from 20, to 2 alone until 40, and
// to 1 again at last, of which what is open is booked in two parts.
func TestRoutes(t *testing.T) {
	var booked []string
	r := NewRoutes(2, func(pair int, fault int32, since, to int64) {
		booked = append(booked, fmt.Sprint(pair, " ", fault, ": ", since, "-", to))
	})
	r.Set(1, false, nil, 5)
	r.Set(1, true, []int32{1}, 10)
	r.Set(1, true, []int32{1, 2, 1}, 20)
	r.Set(1, true, []int32{2}, 30)
	r.Set(1, false, nil, 40)
	r.Set(1, true, []int32{1}, 50)
	r.Flush(60)
	r.Flush(70)
	want := []string{"1 1: 10-30", "1 2: 20-40", "1 1: 50-60", "1 1: 60-70"}
	if !slices.Equal(booked, want) || r.Total(1) != 50 || r.Total(0) != 0 {
		t.Errorf("booked %v, lost for %d and %d; want %v, 50 and 0", booked, r.Total(1), r.Total(0), want)
	}
}
