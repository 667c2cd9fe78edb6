package main

import (
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The floors, from the ground up. A package imports only packages of rows above
// its own: data flows right, imports point left. Packages of one row are
// strangers to one another.
var floors = []struct {
	floor    int
	packages string
	why      string
}{
	{0, "scenarios/wording sim/kernel sim/record results/stat results/unit model/fabric model/timer model/chance model/reliability",
		"they know words, numbers, a graph, laws: nothing of this project"},
	{0, "scenarios/unit scenarios/part", "quantities and names of parts, with words for what is wrong with them"},
	{0, "scenarios/outline", "the text of a scenario as values with places"},
	{0, "scenarios/law scenarios/objective", "laws of chance and objectives as typed"},
	{0, "scenarios/operator scenarios/homing scenarios/transport scenarios/control", "what is said of instruments, people and money; of how servers are attached; of the control plane"},
	{0, "scenarios", "what is asked; it may not know what becomes of it"},
	{1, "model/failure model/traffic model/operation model/setting", "the truth, the demand, the operator, the settings: each on its own"},
	{1, "model/homing model/transport", "how servers are attached to leaves, what carries packets between these"},
	{1, "model/given", "what was typed, or the default"},
	{1, "model/staffing model/control model/work", "instruments, people and money, the control plane, classes of work, as typed, resolved"},
	{2, "model", "what is so: everything chance does not decide"},
	{2, "model/sizing", "what can be said of it without playing"},
	{3, "sim/wander", "what becomes of flows among routers that send to one another"},
	{3, "sim/pairs", "which pairs of leaves something happened to"},
	{3, "sim/hearing", "when routers heard of faults, for the record alone"},
	{3, "sim/paths", "costs and next hops of a topology: shortest paths, moved along as it changes"},
	{3, "sim/paths/plain", "the same by gonum, for tests alone"},
	{3, "sim/linkstate sim/detection sim/repair sim/series", "belief, the bridge, the acting, the diary: the loop alone joins them"},
	{3, "sim/homing", "what is believed of servers and their leaves"},
	{4, "sim/forwarding", "what packets meet, from believed tables and true conditions"},
	{4, "sim/load", "how full directions are, from believed tables"},
	{4, "sim/glance", "what gray faults do to applications, to first order"},
	{4, "sim/converged", "what routers will hold once they have noticed everything"},
	{4, "sim/bands", "what packets of each size meet, where several faults stop large ones"},
	{5, "sim/impact", "what is lost, and whose fault it was"},
	{6, "sim", "the play: one loop, one switch"},
	{6, "sim/twin", "a second program in tests; no code of the program"},
	{6, "sim/messages", "another, in which routers send messages; in tests too"},
	{7, "sim/replication", "many plays; the only goroutines"},
	{8, "results/mixture", "distributions over time"},
	{8, "results/money", "what a replication cost"},
	{8, "results/lines", "the line of a replication in a file of records"},
	{8, "results", "what it means"},
	{8, "results/table", "records as rows for other programs"},
	{8, "results/contrast results/tuning results/weighing results/judging", "questions asked of sets, of a cost or of a summary"},
	{8, "results/phrase", "figures as people write them"},
	{8, "results/answers results/credibility results/place", "what other verbs left behind; how far a result can be trusted; where a part lies"},
	{8, "results/picture", "what each picture holds, and what to conclude from it"},
	{8, "results/swing", "how far results move with inputs"},
	{8, "results/tuned", "what a search came to"},
	{8, "results/page", "drawing; computes nothing"},
	{8, "results/page/web results/page/plot", "the page and the files: drawing too"},
	{9, "cmd/halflight/words cmd/halflight/status cmd/halflight/quantity cmd/halflight/batch", "how numbers are written, how the program ends, how quantities are typed"},
	{9, "cmd/halflight/story cmd/halflight/store cmd/halflight/answers", "what is told, what is left behind"},
	{9, "cmd/halflight/shards", "the parts of a study, in a folder that many write into"},
	{9, "cmd/halflight/player", "a study played to its end, through kills"},
	{9, "cmd/halflight/drawing", "results as people look at them"},
	{9, "cmd/halflight/studies", "many settings at a time"},
	{9, "cmd/halflight/tuner", "a search of timers, through kills"},
	{9, "cmd/halflight", "what is said: one verb, one file"},
}

// The walls: who may not know whom, not even at second hand. "ours" is any
// package of this module; a name ending in /... is a package and all below it.
var walls = []struct{ from, to, why string }{
	{"sim/linkstate", "model/failure", "the wall of knowledge: routers believe, they do not know what is broken"},
	{"sim/repair", "model/failure", "the wall of knowledge: operators act on sightings, not on the truth"},
	{"sim/detection", "sim/linkstate", "the bridge carries the truth one way and hears nothing of belief"},
	{"cmd/...", "sim/paths/plain", "a check in tests; no code of the program"},
	{"sim/kernel", "ours", "time, queue and draws know no networks"},
	{"results/stat", "ours", "estimates know only numbers"},
	{"model/chance", "ours", "laws are plain data for both sides of the wall"},
	{"model/reliability", "ours", "closed forms are a check of the rest, so they share nothing with it"},
	{"model/...", "sim/...", "the description may not know the play"},
	{"model/...", "results/...", "nor what will be made of it"},
	{"scenarios/...", "model/...", "the language may not know what its words come to"},
	{"results/page/...", "model/...", "a page draws what it is given"},
	{"results/picture", "model/...", "the same"},
	{"results/tuning", "encoding/...", "a search never learns where its cost comes from"},
	{"results/tuning", "go.yaml.in/...", "the same"},
}

// The one exception among the rooms of sim: results work from records alone.
const recordPackage = "sim/record"

func TestFloors(t *testing.T) {
	h := readHouse(t)
	row := map[string]int{}
	for i, f := range floors {
		for name := range strings.FieldsSeq(f.packages) {
			row[name] = i
		}
	}
	for _, p := range h.packages {
		mine, ok := row[p.name]
		if !ok {
			t.Errorf("%s stands on no floor: give it a row, with a reason", p.name)
			continue
		}
		for _, to := range p.ours {
			if row[to] >= mine {
				t.Errorf("%s (floor %d: %s) imports %s (floor %d): imports point to rows above", p.name, floors[mine].floor, floors[mine].why, to, floors[row[to]].floor)
			}
		}
	}
}

func TestWalls(t *testing.T) {
	h := readHouse(t)
	for _, p := range h.packages {
		for _, w := range walls {
			if !under(p.name, w.from) {
				continue
			}
			for _, to := range h.reach(p.name) {
				if to != p.name && (under(to, w.to) || w.to == "ours" && h.has(to)) {
					t.Errorf("%s reaches %s: %s", p.name, to, w.why)
				}
			}
		}
		if under(p.name, "results/...") {
			for _, to := range h.reach(p.name) {
				if under(to, "sim/...") && to != recordPackage {
					t.Errorf("%s reaches %s: meaning is made from records alone", p.name, to)
				}
			}
		}
	}
}

// Who may import what does not come with this module.
var bannedImports = []struct{ what, except, why string }{
	{"os", "cmd/...", "the file system and the environment are at the door; read an io/fs.FS, write through results.Folder"},
	{"os/signal", "cmd/...", "signals are at the door"},
	{"log", "", "messages are returned as errors or warnings; the door prints them"},
	{"log/slog", "", "the same"},
	{"flag", "", "the door uses pflag"},
	{"math/rand", "", "draws are counter based: sim/kernel"},
	{"math/rand/v2", "", "the same"},
	{"sync", "cmd/... sim/replication", "goroutines exist in one package only"},
	{"sync/atomic", "sim/replication", "the same"},
	{"golang.org/x/sync/errgroup", "sim/replication", "the same"},
	{"unsafe", "", "no need was ever shown"},
	{"github.com/spf13/cobra", "cmd/...", "the command line is at the door"},
	{"github.com/spf13/pflag", "cmd/...", "the same"},
	{"golang.org/x/term", "cmd/...", "terminals are at the door"},
	{"github.com/olekukonko/tablewriter", "cmd/... results/page", "tables are drawn where pages are"},
	{"go.yaml.in/yaml/v3", "scenarios/...", "one place reads YAML"},
	{"gonum.org/v1/gonum/stat/distuv", "results/...", "draws have quantile functions of their own, the same on every processor"},
	{"gonum.org/v1/gonum/graph/path", "sim/paths/plain", "a check in tests; the engine has its own"},
}

func TestBannedImports(t *testing.T) {
	for _, p := range readHouse(t).packages {
		for _, b := range bannedImports {
			if slices.Contains(p.imports, b.what) && !slices.ContainsFunc(strings.Fields(b.except), func(e string) bool { return under(p.name, e) }) {
				t.Errorf("%s imports %s: %s", p.name, b.what, b.why)
			}
		}
	}
}

// Words that are banned in code, by package and function.
var bannedCalls = []struct{ what, except, why string }{
	{"time.Now", "cmd/...", "simulated time is int64 ns and comes from the queue"},
	{"time.Since", "cmd/...", "the same"},
	{"time.Sleep", "", "nothing waits"},
	{"time.After", "", "nothing waits"},
	{"time.Tick", "", "nothing waits"},
	{"time.NewTimer", "", "nothing waits"},
}

func TestBannedCalls(t *testing.T) {
	for _, p := range readHouse(t).packages {
		for _, b := range bannedCalls {
			if at, found := p.calls[b.what]; found && !(b.except != "" && under(p.name, b.except)) {
				t.Errorf("%s: %s: %s", at, b.what, b.why)
			}
		}
		if p.name != "sim/replication" {
			for _, at := range p.goStatements {
				t.Errorf("%s: a go statement: goroutines exist in sim/replication only", at)
			}
		}
		for _, at := range p.inits {
			t.Errorf("%s: an init function: what must be made is made where it is used", at)
		}
	}
}

// The order of a map is another one in every run.
func TestNoMapIsRangedOver(t *testing.T) {
	for _, p := range readHouse(t).packages {
		if !under(p.name, "model/...") && !under(p.name, "sim/...") {
			continue
		}
		for _, at := range p.mapRanges(t) {
			t.Errorf("%s: ranges over a map: keep a slice in a fixed order", at)
		}
	}
}

// Packages that may be larger than others, up to a size of their own. A row goes
// when its package is split.
var larger = []struct {
	name string
	most int // lines of code
	why  string
}{
	{"cmd/halflight", 2600, "the door: one verb, one file, and what the verbs share; what has a life of its own has a room (store, story, player)"},
	{"results", 2110, "sets, the files they are kept in, and what they mean share one type; the files are the part that would come off"},
	{"sim", 3980, "the engine's methods share one struct, the play under way; a split would hand it over piece by piece"},
	{"sim/forwarding", 1820, "deliveries, circles and stars are worked out on one field, brought up to date by difference"},
	{"sim/impact", 3890, "two ways of keeping one ledger, pair by pair and by destination, that hold each other; to be split when one goes"},
	{"sim/linkstate", 3520, "flooding, back-off and runs share the state of all routers; to be split into what is known and what is worked out"},
}

func TestNamesAndSizes(t *testing.T) {
	const fileMost, packageMost = 500, 1500
	most := map[string]int{}
	for _, l := range larger {
		if h := readHouse(t); !h.has(l.name) || h.byName[l.name].codeLines <= packageMost {
			t.Errorf("%s needs no row of its own (%s): take it off the list", l.name, l.why)
		}
		most[l.name] = l.most
	}
	vague := regexp.MustCompile(`^(util|utils|common|helper|helpers|types|misc|base|shared)$`)
	for _, p := range readHouse(t).packages {
		if vague.MatchString(path.Base(p.name)) {
			t.Errorf("%s: a package is named after a noun of the trade", p.name)
		}
		if allowed := max(packageMost, most[p.name]); p.codeLines > allowed {
			t.Errorf("%s has %d lines of code, more than %d: split it by noun", p.name, p.codeLines, allowed)
		}
		for _, f := range p.files {
			if f.lines > fileMost {
				t.Errorf("%s has %d lines, more than %d: split it by noun", f.name, f.lines, fileMost)
			}
		}
	}
}

// Everything at the top of the repository, and nothing else but what .gitignore
// covers.
func TestTopLevel(t *testing.T) {
	allowed := strings.Fields("cmd sim model scenarios results go.mod go.sum README.md DEVELOPERS.md LICENSE .ci .gitignore .git")
	ignored := regexp.MustCompile(`^halflight$|-[0-9]|\.(test|prof|out)$`)
	for _, name := range readHouse(t).top {
		if !slices.Contains(allowed, name) && !ignored.MatchString(name) {
			t.Errorf("%s at the top of the repository: every thing has its room", name)
		}
	}
}
