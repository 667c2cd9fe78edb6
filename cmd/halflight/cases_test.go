package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"
)

// The scripted cases worked by hand, through the whole program. Those of kinds
// that are not simulated yet are refused with status 1.
func TestCasesThroughTheDoor(t *testing.T) {
	files, err := filepath.Glob("../../sim/testdata/cases/case-???.json")
	if err != nil || len(files) < 24 {
		t.Fatalf("%d cases, %v", len(files), err)
	}
	refused := 0
	for _, file := range files {
		var out, errOut bytes.Buffer
		code := run([]string{"trace", file, "--json"}, strings.NewReader(""), &out, &errOut)
		if code == 1 && strings.Contains(errOut.String(), "not simulated") {
			refused++
			continue
		}
		if code != 0 {
			t.Errorf("%s: status %d: %s", file, code, errOut.String())
			continue
		}
		text, err := os.ReadFile(strings.Replace(file, ".json", ".expected.json", 1))
		if err != nil {
			t.Fatal(err)
		}
		var want, got any
		if err := json.Unmarshal(text, &want); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(out.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		if d := differ("", want, got); d != "" {
			t.Errorf("%s: %s", file, d)
		}
	}
	if refused > 2 {
		t.Errorf("%d cases are refused", refused)
	}
}

// differ finds the first difference of two JSON values, empty without. Keys that
// give a value once more as a fraction are left out, as is the fraction that
// follows a share. Numbers agree to 1e-12.
func differ(at string, want, got any) string {
	switch want := want.(type) {
	case map[string]any:
		g, ok := got.(map[string]any)
		if !ok {
			return fmt.Sprintf("%s: %v is no object", at, got)
		}
		var keys []string
		for k := range want {
			if !strings.HasSuffix(k, "_exact") {
				keys = append(keys, k)
			}
		}
		sort.Strings(keys)
		for _, k := range keys {
			if d := differ(at+"."+k, want[k], g[k]); d != "" {
				return d
			}
		}
		if len(keys) != len(g) {
			return fmt.Sprintf("%s: %d keys, want %v", at, len(g), keys)
		}
	case []any:
		if len(want) == 3 && strings.HasPrefix(at, ".lost_share.") {
			want = want[:2]
		}
		g, ok := got.([]any)
		if !ok || len(g) != len(want) {
			return fmt.Sprintf("%s: got %v, want %v", at, got, want)
		}
		for i := range want {
			if d := differ(fmt.Sprintf("%s.%d", at, i), want[i], g[i]); d != "" {
				return d
			}
		}
	case float64:
		g, ok := got.(float64)
		if !ok || math.Abs(g-want) > 1e-12*math.Max(1, math.Abs(want)) {
			return fmt.Sprintf("%s: got %v, want %v", at, got, want)
		}
	default:
		if got != want {
			return fmt.Sprintf("%s: got %v, want %v", at, got, want)
		}
	}
	return ""
}

// The cases of servers with one or two leaves, through the whole program: every
// instant and share.
func TestHomingCasesThroughTheDoor(t *testing.T) {
	files, err := filepath.Glob("../../sim/testdata/cases/homing-??.json")
	if err != nil || len(files) < 6 {
		t.Fatalf("%d cases, %v", len(files), err)
	}
	type outcome struct {
		LostShare   [][2]float64 `json:"lost_share"`
		LostSeconds float64      `json:"lost_seconds"`
	}
	for _, file := range files {
		var out, errOut bytes.Buffer
		if code := run([]string{"trace", file, "--json"}, strings.NewReader(""), &out, &errOut); code != 0 {
			t.Errorf("%s: status %d: %s", file, code, errOut.String())
			continue
		}
		text, err := os.ReadFile(strings.Replace(file, ".json", ".expected.json", 1))
		if err != nil {
			t.Fatal(err)
		}
		var want, got outcome
		if err := json.Unmarshal(text, &want); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(out.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		same := len(want.LostShare) == len(got.LostShare) && math.Abs(want.LostSeconds-got.LostSeconds) < 1e-9
		for i := range min(len(want.LostShare), len(got.LostShare)) {
			w, g := want.LostShare[i], got.LostShare[i]
			same = same && w[0] == g[0] && math.Abs(w[1]-g[1]) < 1e-12
		}
		if !same {
			t.Errorf("%s: want %v, got %v", file, want, got)
		}
	}
}
