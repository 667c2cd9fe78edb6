package results

import (
	"testing"

	"halflight/sim/record"
)

// plannedSet adds planned work to a set: one campaign of 30 boxes over 5 nights,
// out for 15 h and 30 min in all, and 40 changes.
func plannedSet(s *Set) *Set {
	for _, kind := range []string{"upgrade", "change"} {
		s.Header.Modes = append(s.Header.Modes, record.Mode{Name: kind, Kind: kind})
	}
	for i := range s.Replications {
		r := &s.Replications[i]
		r.Onsets, r.Present, r.Unseen = append(r.Onsets, 30, 2), append(r.Present, 0.1, 0.2), append(r.Unseen, 0, 0)
		for range 2 {
			r.LostSeconds = append(r.LostSeconds, make([]float64, len(s.Header.Phases)))
		}
		r.Planned = &record.Planned{Boxes: 30, Campaigns: 1, Nights: 5, Exposed: 155 * 3600e9 / 10, CapacityWorst: 0.75 - float64(i%2)/4, Changes: 40}
	}
	return s
}

// Counts and hours are per month; the set is of 60 days. Nights are of a campaign.
func TestPlannedWork(t *testing.T) {
	s := Summarise(plannedSet(testSet(20)), Options{})
	for name, want := range map[string]float64{
		"upgrades.boxes": 15, "upgrades.left": 0, "upgrades.nights": 5, "upgrades.exposure": 7.75, "upgrades.capacity.worst": 0.5, "changes": 20,
		"faults.upgrade": 15, "faults.change": 1,
	} {
		if m := measure(t, s, name); !near(m.Estimate.Value, want) {
			t.Errorf("%s is %v, want %v", name, m.Estimate.Value, want)
		}
	}
	for _, d := range s.Doubts {
		if d.Code == ShortWarmUp {
			t.Errorf("upgrades are taken for chance: %s", d.Text)
		}
	}
	if _, ok := Summarise(testSet(20), Options{}).Find("upgrades.boxes"); ok {
		t.Error("upgrades where there are none")
	}
}
