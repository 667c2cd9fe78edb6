package scenarios

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Every shipped scenario is without fault, has its own name and says what it is about.
func TestShipped(t *testing.T) {
	for _, name := range Shipped() {
		data, ok := Source(name)
		if !ok {
			t.Fatalf("%s is not in the library", name)
		}
		s, p := Parse(name, data)
		if p.Any() {
			t.Errorf("%s:\n%s", name, p)
		}
		if s.Name != name || s.About == "" || s.Horizon == nil {
			t.Errorf("%s is named %q, about %q, horizon %v", name, s.Name, s.About, s.Horizon)
		}
	}
	if _, ok := Source("none"); ok {
		t.Error("a scenario that is not shipped was found")
	}
	entries, err := library.ReadDir("library")
	if err != nil || len(entries) != len(shipped) {
		t.Errorf("%d files in the library, %d shipped (%v)", len(entries), len(shipped), err)
	}
}

// Sizes of the shipped fabrics, counted by hand: pods x (leaves + spines) + planes x tops routers.
func TestShippedSizes(t *testing.T) {
	for _, c := range []struct {
		name           string
		routers, links int
	}{{"tidewater", 688, 7680}, {"orchard", 20, 64}, {"glacier", 2880, 55296}, {"storm", 32, 80}, {"lull", 32, 80}, {"ferry", 48, 128},
		{"gangway", 38, 96}, {"commons", 56, 160}, {"lane", 32, 80}, {"avenue", 40, 120}, {"parcel", 28, 72},
		{"skiff", 20, 64}, {"ketch", 20, 64}, {"catamaran", 20, 64}, {"dinghy", 20, 64}} {
		data, _ := Source(c.name)
		s, _ := Parse(c.name, data)
		if n := s.Fabric.Numbers(); n.Routers() != c.routers || n.Links() != c.links {
			t.Errorf("%s: %d routers and %d links, want %d and %d", c.name, n.Routers(), n.Links(), c.routers, c.links)
		}
	}
	if empty := (&Fabric{}).Numbers(); empty.Routers() != 688 {
		t.Errorf("the default fabric has %d routers, not those of %s", empty.Routers(), Default())
	}
}

// lull is storm without its noise and nothing else, so that the hard faults of both are the same draws.
func TestLullIsStormWithoutNoise(t *testing.T) {
	noisy, _ := Source("storm")
	quiet, _ := Source("lull")
	storm, _ := Parse("storm", noisy)
	lull, _ := Parse("lull", quiet)
	kept := storm.Failures[:len(lull.Failures)]
	if diff := cmp.Diff(lull.Failures, kept); diff != "" {
		t.Errorf("hard faults differ (-lull +storm):\n%s", diff)
	}
	noise := map[string]Kind{}
	for _, f := range storm.Failures[len(kept):] {
		noise[f.Name] = f.Kind
	}
	if diff := cmp.Diff(map[string]Kind{"loose-plug": Flapping, "hot-optic": Lossy}, noise); diff != "" {
		t.Errorf("noise (-want +got):\n%s", diff)
	}
	from := bytes.Index(noisy, []byte("horizon:"))
	to := bytes.Index(noisy, []byte("  # The noise"))
	if !bytes.HasSuffix(quiet, noisy[from:to]) {
		t.Error("the texts differ in more than name, about and noise")
	}
}

// Pairs that are compared differ in what is compared and nothing else: the keys named here, and what the text says of them.
func TestPairs(t *testing.T) {
	for _, c := range []struct{ first, other, differs string }{
		{"ferry", "gangway", "fabric traffic"}, {"commons", "hedgerow", "fabric"}, {"lane", "avenue", "fabric"}, {"parcel", "letter", "transport"},
		{"skiff", "ketch", "homing"}, {"ketch", "catamaran", "homing"}, {"skiff", "dinghy", "homing"},
	} {
		a, b := keysOf(t, c.first), keysOf(t, c.other)
		for key, text := range a {
			if allowed := key == "name" || key == "about" || strings.Contains(c.differs, key); !allowed && b[key] != text {
				t.Errorf("%s and %s differ in %s:\n%s\n%s", c.first, c.other, key, text, b[key])
			}
		}
		if len(a) != len(b) {
			t.Errorf("%s has %d keys, %s %d", c.first, len(a), c.other, len(b))
		}
	}
}

// keysOf is the text of a shipped scenario by its first keys, comments left out.
func keysOf(t *testing.T, name string) map[string]string {
	t.Helper()
	data, ok := Source(name)
	if !ok {
		t.Fatalf("%s is not shipped", name)
	}
	keys, last := map[string]string{}, ""
	for line := range strings.Lines(string(data)) {
		switch {
		case strings.HasPrefix(strings.TrimSpace(line), "#"):
		case !strings.HasPrefix(line, " "):
			last, _, _ = strings.Cut(line, ":")
			fallthrough
		default:
			keys[last] += line
		}
	}
	return keys
}
