package results

import (
	"math/rand/v2"
	"strings"
	"testing"

	"halflight/results/stat"
	"halflight/sim/record"
)

// grown is a study in which gray faults present follow a law over 60 days, plus
// chance, and onsets come evenly.
func grown(n uint32, gray func(day int) float64) *Set {
	s := testSet(n)
	for i := range s.Replications {
		r, dice := &s.Replications[i], rand.New(rand.NewPCG(4, uint64(i)))
		series := record.Series{Slot: 3600e9, Lost: make([]float32, 1440), Wide: 24, States: make([][]float32, 3)}
		for d := range 60 {
			series.Gray = append(series.Gray, float32(gray(d)+dice.Float64()))
			series.Unseen = append(series.Unseen, 0)
			for k := range series.States {
				series.States[k] = append(series.States[k], float32(1-min(k, 1)))
			}
		}
		r.Series = series
		for range 30 {
			f := testFault(r.From + int64(dice.Float64()*float64(r.To-r.From)))
			r.Faults = append(r.Faults, f)
			r.Onsets[0]++
		}
	}
	return s
}

// doubtsOf are the doubts of a code.
func doubtsOf(s *Summary, code stat.Code) []stat.Warning {
	var out []stat.Warning
	for _, w := range s.Doubts {
		if w.Code == code {
			out = append(out, w)
		}
	}
	return out
}

// Modes of which fewer than 30 faults were seen are named, those of scripts are
// not.
func TestRare(t *testing.T) {
	s := busySet(3, 40) // 60 faults each of the first two modes, none of the third
	if d := doubtsOf(Summarise(s, Options{}), stat.FewEvents); len(d) != 1 || !strings.HasPrefix(d[0].Text, "fewer than 30 faults were seen of optic-old (0); ") {
		t.Errorf("%v", d)
	}
	s.Header.Modes[2].Kind = "script"
	if d := doubtsOf(Summarise(s, Options{}), stat.FewEvents); len(d) != 0 {
		t.Errorf("a script: %v", d)
	}
}

// A study that is still filling up says so; one in balance does not.
func TestHalves(t *testing.T) {
	rising := Summarise(grown(20, func(day int) float64 { return 3 * float64(day) / 60 }), Options{Only: func(string) bool { return false }})
	short := doubtsOf(rising, ShortWarmUp)
	if len(short) != 1 {
		t.Fatalf("%v", rising.Doubts)
	}
	// Means of days 0 to 29 and 30 to 59 of 3 d/60, with 0.5 of chance: 1.225 and 2.725.
	text := short[0].Text
	if !strings.Contains(text, "gray faults present, 1.2") || !strings.Contains(text, " and 2.7") || strings.Contains(text, "onsets") ||
		strings.Contains(text, "QUIET") || !strings.Contains(text, "try twice as long a warm_up") {
		t.Error(text)
	}
	level := Summarise(grown(20, func(int) float64 { return 3 }), Options{Only: func(string) bool { return false }})
	if d := doubtsOf(level, ShortWarmUp); len(d) != 0 {
		t.Errorf("in balance: %v", d)
	}
	late := grown(20, func(int) float64 { return 3 })
	for i := range late.Replications {
		r := &late.Replications[i]
		for k := range r.Faults[:20] {
			r.Faults[k].Onset = r.To - 1
		}
	}
	if d := doubtsOf(Summarise(late, Options{Only: func(string) bool { return false }}), ShortWarmUp); len(d) != 1 || !strings.Contains(d[0].Text, "onsets of faults, 4") {
		t.Errorf("onsets late: %v", d)
	}
	// A script in it makes no doubt of what it does.
	scripted := grown(20, func(day int) float64 { return 3 * float64(day) / 60 })
	scripted.Header.Modes[2].Kind = "script"
	for i := range scripted.Replications {
		scripted.Replications[i].Onsets[2] = 1
	}
	if d := doubtsOf(Summarise(scripted, Options{Only: func(string) bool { return false }}), ShortWarmUp); len(d) != 0 {
		t.Errorf("scripted: %v", d)
	}
}

// A study in balance is doubted as seldom as said: 1,000 studies, 1 %, exact
// binomial bound at 1e-4.
func TestHalvesFalseAlarm(t *testing.T) {
	const studies = 1000
	doubted := 0
	for k := range uint64(studies) {
		s := grown(20, func(int) float64 { return 3 })
		for i := range s.Replications {
			dice := rand.New(rand.NewPCG(k, uint64(i)))
			for d := range s.Replications[i].Series.Gray {
				s.Replications[i].Series.Gray[d] = float32(dice.ExpFloat64())
			}
			for f := range s.Replications[i].Faults {
				s.Replications[i].Faults[f].Onset = s.Replications[i].From + int64(dice.Float64()*60*float64(testDay))
			}
		}
		b := &summary{set: s, header: &s.Header, out: &Summary{}}
		b.halves()
		doubted += len(b.out.Doubts)
	}
	if _, high := stat.ClopperPearson(doubted, studies, 0.9998); high < halvesTail {
		t.Errorf("doubted in %d of %d studies: the check hardly looks", doubted, studies)
	}
	if low, _ := stat.ClopperPearson(doubted, studies, 0.9998); low > halvesTail {
		t.Errorf("doubted in %d of %d studies, want at most %v", doubted, studies, halvesTail)
	}
}
