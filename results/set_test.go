package results

import (
	"reflect"
	"strings"
	"testing"
)

func TestMissing(t *testing.T) {
	s := testSet(8)
	s.Replications = append(s.Replications[1:3:3], s.Replications[5], s.Replications[6])
	want := []Range{{0, 1}, {3, 5}, {7, 8}}
	if got := s.Missing(); !reflect.DeepEqual(got, want) {
		t.Errorf("missing %v, want %v", got, want)
	}
	err := s.Complete()
	if want := "4 replications are missing: 0, 3 to 4, 7; run them and merge again"; err == nil || err.Error() != want {
		t.Errorf("error %v, want %q", err, want)
	}
	if err := testSet(3).Complete(); err != nil {
		t.Errorf("complete set: %v", err)
	}
}

func TestCheck(t *testing.T) {
	if err := busySet(3, 10).Check(); err != nil {
		t.Fatalf("sound set: %v", err)
	}
	for _, c := range []struct {
		say   string
		spoil func(s *Set)
	}{
		{"asks for no replication", func(s *Set) { s.Study.Asked = 0 }},
		{"pass the largest number", func(s *Set) { s.Study.First = 1<<32 - 2 }},
		{"leave nothing to measure", func(s *Set) { s.Study.Horizon = 0 }},
		{"not within the study's replications 0 to 2", func(s *Set) { s.Part.To = 4 }},
		{"replication 1 follows replication 2", func(s *Set) { r := s.Replications; r[1], r[2] = r[2], r[1] }},
		{"not of this part", func(s *Set) { s.Part.From = 1 }},
		{"replication 1: measured from", func(s *Set) { s.Replications[1].To++ }},
		{"lists are not by the 3 modes", func(s *Set) { s.Replications[2].Unseen = nil }},
		{"times of 2 back-off states", func(s *Set) { s.Replications[0].StateTime = []float64{0, 0} }},
		{"1 application classes", func(s *Set) { s.Replications[0].Applications = s.Replications[0].Applications[:1] }},
		{"back-off states last", func(s *Set) { s.Replications[0].StateTime[2] += s.Replications[0].RouterTime / 100 }},
		{"to 2 phases", func(s *Set) { s.Replications[0].LostSeconds[1] = []float64{0, 0} }},
		{"fault 4 is of mode 3", func(s *Set) { s.Replications[1].Faults[4].Mode = 3 }},
	} {
		s := busySet(3, 10)
		c.spoil(s)
		if err := s.Check(); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("error %v, want one that says %q", err, c.say)
		}
	}
}

// part is replications from up to to of a set, as a shard would hold them.
func part(s *Set, from, to uint32) *Set {
	p := *s
	p.Part = Range{from, to}
	p.Replications = append(p.Replications[:0:0], s.Replications[from:to]...)
	return &p
}

func TestMerge(t *testing.T) {
	whole := busySet(10, 5)
	// Any order, an overlap whose copies agree.
	got, err := Merge(part(whole, 7, 10), part(whole, 0, 4), part(whole, 3, 7))
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, whole) {
		t.Error("the parts do not make the whole")
	}
	got, err = Merge(part(whole, 0, 4), part(whole, 6, 10))
	if err != nil {
		t.Fatal(err)
	}
	if want := []Range{{4, 6}}; !reflect.DeepEqual(got.Missing(), want) {
		t.Errorf("missing %v, want %v", got.Missing(), want)
	}
}

func TestMergeExtended(t *testing.T) {
	whole := busySet(10, 5)
	first := part(whole, 0, 4)
	first.Study.Asked = 4
	rest := part(whole, 4, 10)
	for _, sets := range [][]*Set{{first, rest}, {rest, first}} {
		got, err := Merge(sets...)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, whole) {
			t.Error("a study extended from 4 to 10 is not the study of 10")
		}
	}
}

func TestMergeRefuses(t *testing.T) {
	for _, c := range []struct {
		say   string
		spoil func(s *Set)
	}{
		{"set 1 and set 2 do not belong together: scenario \"harbour\" and \"quay\"", func(s *Set) { s.Study.Scenario = "quay" }},
		{"digest of the scenario", func(s *Set) { s.Study.Digest = "1" }},
		{"seed 7 and 8", func(s *Set) { s.Study.Seed++ }},
		{"version \"test 1\" and by \"test 2\"", func(s *Set) { s.Study.Program = "test 2" }},
		{"one is a quick look", func(s *Set) { s.Study.Quick = true }},
		{"warm-up and horizon", func(s *Set) {
			s.Study.Horizon++
			for i := range s.Replications {
				s.Replications[i].To++
			}
		}},
		{"begin with replication 0 and 1", func(s *Set) { s.Study.First++ }},
		{"their headers", func(s *Set) { s.Header.Links++ }},
		{"replication 2 of set 1 differs from that of set 2", func(s *Set) { s.Replications[0].SPFRuns++ }},
		{"set 2: replication 3: measured from", func(s *Set) { s.Replications[1].From++ }},
	} {
		whole := busySet(6, 5)
		a, b := part(whole, 0, 3), part(busySet(6, 5), 2, 6)
		c.spoil(b)
		_, err := Merge(a, b)
		conflict, ok := err.(*Conflict)
		if !ok || !strings.Contains(conflict.Text, c.say) {
			t.Errorf("error %v, want a conflict that says %q", err, c.say)
		}
	}
	if _, err := Merge(); err == nil {
		t.Error("nothing was merged without complaint")
	}
}
