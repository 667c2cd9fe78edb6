package contrast

import (
	"math"
	"strings"
	"testing"

	"halflight/results"
)

// losing is a set of which each replication loses so much, and a little that goes
// by its number.
func losing(n uint32, seconds float64) *results.Set {
	runs := func(n uint32) int64 { return int64(1000 + n) }
	s := sample(1, upTo(n), runs, func(n uint32, k int) int64 { return int64(n+1) * 1e6 })
	for i := range s.Replications {
		s.Replications[i].LostSeconds = [][]float64{{seconds + noise(uint32(i), 7), 0}}
	}
	return s
}

// What is left of a difference is a quotient of differences that are known: from
// 100 s to 200 s here; to 150 s where one input stands elsewhere, which leaves a
// half, and to 50 s where another does, which turns it.
func TestTurns(t *testing.T) {
	c, err := Of([]Side{{"one", losing(20, 100)}, {"two", losing(20, 200)}}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	other := func(input, value string, seconds float64) Other {
		return Other{input, value, []Side{{"one", losing(4, 100)}, {"two", losing(4, seconds)}}}
	}
	list := []Other{other("a.b", "1s", 200), other("a.b", "9s", 150), other("c.d", "{lognormal: {median: 5min, sigma: 0.9}}", 50)}
	turning, err := c.Turns(list, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	turning.Inputs = 2
	var rows []Turn
	for _, r := range turning.Rows {
		if r.Measure == "lost_seconds.avoidable" {
			rows = append(rows, r)
		}
	}
	want := []struct {
		input string
		left  float64
	}{{"c.d", -0.5}, {"a.b", 0.5}, {"a.b", 1}}
	if len(rows) != len(want) || turning.Replications != 4 {
		t.Fatalf("%+v", turning)
	}
	for i, w := range want {
		if rows[i].Input != w.input || math.Abs(rows[i].Left-w.left) > 1e-9 {
			t.Errorf("row %d: %+v, want %+v", i, rows[i], w)
		}
	}
	if s := turning.Sentence(c, 1); !strings.Contains(s, "c.d at 5min turns avoidable loss (-50 to 100 % of it is left)") || !strings.Contains(s, "2 inputs without a source") {
		t.Error(s)
	}
	// Without the one that turns it, least is left by the other.
	turning, _ = c.Turns(list[:2], 0.95)
	if s := turning.Sentence(c, 1); !strings.Contains(s, "none turns what is decided; 50 to 100 % of avoidable loss is left, least with a.b at 9s") {
		t.Error(s)
	}
	// What every input leaves alike is said once.
	turning, _ = c.Turns([]Other{other("a.b", "1s", 200), other("a.b", "9s", 200.001)}, 0.95)
	if s := turning.Sentence(c, 1); !strings.Contains(s, "none turns what is decided; 100 % of avoidable loss is left with every one") {
		t.Error(s)
	}
	// Where nothing is decided there is nothing to turn.
	even, err := Of([]Side{{"one", losing(20, 100)}, {"two", losing(20, 100)}}, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	turning, _ = even.Turns(list, 0.95)
	if s := turning.Sentence(even, 1); len(turning.Rows) != 0 || !strings.Contains(s, "nothing to turn") {
		t.Errorf("%s %+v", s, turning.Rows)
	}
}
