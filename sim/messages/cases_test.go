package messages

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"halflight/model"
	"halflight/scenarios"
)

// build makes a world of a scenario's text.
func build(t testing.TB, text string) *model.World {
	t.Helper()
	s, problems := scenarios.Parse("script", []byte(text))
	if problems.Any() {
		t.Fatal(problems.String())
	}
	w, more := model.Build(s)
	if len(more) > 0 {
		t.Fatal(more)
	}
	return w
}

// leftOut are cases of kinds that this twin does not play.
var leftOut = map[string]string{"case-015.json": "restart with tables kept", "case-070.json": "damping", "case-071.json": "restart with tables kept",
	"case-072.json": "local delay", "case-073.json": "restart with tables kept", "case-074.json": "damping",
	"case-077.json": "restart with tables kept", "case-078.json": "restart with tables kept",
	"case-079.json": "damping", "case-080.json": "entries never written", "case-081.json": "hung control planes", "case-082.json": "hung control planes",
	"case-083.json": "ordered table updates", "case-084.json": "mixed timers",
	"case-075.json": "what waits for a link is sent again after 5 s here"}

// Rules S1 to S26 and slow control planes, each case worked by hand.
func TestScriptedCases(t *testing.T) {
	files, err := filepath.Glob("../testdata/cases/case-???.json")
	if err != nil || len(files) < 24 {
		t.Fatal("the scripted cases are missing", err)
	}
	for _, file := range files {
		name := filepath.Base(file)
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if leftOut[name] != "" {
			continue
		}
		raw, err := os.ReadFile(strings.Replace(file, ".json", ".expected.json", 1))
		if err != nil {
			t.Fatal(err)
		}
		w := build(t, string(text))
		if d := differ(asExpected(t, w, raw), asOutcome(playScript(w, ideal(w)))); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

// asExpected reads what a case must come to.
func asExpected(t *testing.T, w *model.World, raw []byte) outcome {
	t.Helper()
	var e struct {
		LostShare   [][]any `json:"lost_share"`
		LostSeconds float64 `json:"lost_seconds"`
		Routers     map[string]struct {
			Runs         []int64 `json:"spf_runs_ns"`
			Originations []int64 `json:"originations_ns"`
		} `json:"routers"`
	}
	if err := json.Unmarshal(raw, &e); err != nil {
		t.Fatal(err)
	}
	o := outcome{lost: e.LostSeconds}
	for _, s := range e.LostShare {
		o.shares = append(o.shares, step{int64(s[0].(float64)), s[1].(float64)})
	}
	for _, r := range w.Fabric.Routers {
		o.routers = append(o.routers, instants{r.Name, e.Routers[r.Name].Runs, e.Routers[r.Name].Originations})
	}
	return o
}
