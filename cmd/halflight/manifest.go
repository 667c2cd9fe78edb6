package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"

	"halflight/cmd/halflight/drawing"
	"halflight/cmd/halflight/store"
	"halflight/model"
	"halflight/model/setting"
	"halflight/results"
	"halflight/results/table"
	"halflight/scenarios"
)

// manifest is the first file of a result folder, with the scenario it is of.
type manifest struct {
	store.Manifest
	resolved []byte
	typed    []byte
	parquet  bool // the tables are written as Parquet too
	varied   *results.Varied
}

// manifestOf describes the result of a scenario before it is played.
func manifestOf(l *loaded) *manifest {
	list := model.Resolve(l.Scenario)
	again := "halflight run " + store.TypedName
	if other, _ := scenarios.Parse(store.TypedName, l.Typed()); other.Name != l.Name { // named after its file
		again += " --set name=" + l.Name
	}
	return &manifest{resolved: setting.YAML(list), typed: l.Typed(), Manifest: store.Manifest{
		Program: version(), Go: runtime.Version(), Platform: platform(), Scenario: l.world.Name, Seed: l.world.Seed,
		Digest: digestOf(list), Asked: l.world.Replications, Reproduce: again + " --out again",
	}}
}

// with notes flags of run that are not in the scenario.
func (m *manifest) with(quick, parquet bool) {
	m.parquet = parquet
	if quick {
		m.Reproduce += " --quick"
	}
	if parquet {
		m.Reproduce += " --parquet"
	}
}

// study is the study of which a result is, of so many replications.
func (m *manifest) study(l *loaded, asked uint32) results.Study {
	w := l.world
	return results.Study{Scenario: w.Name, Digest: m.Digest, Seed: w.Seed, Asked: asked, Program: m.Program, WarmUp: w.WarmUp, Horizon: w.Horizon}
}

// summary is what a set comes to.
func (m *manifest) summary(l *loaded, set *results.Set, ended results.Ended) *results.Summary {
	m.Replications = len(set.Replications)
	return results.Summarise(set, results.Options{Crew: l.world.Operation.Crew, CrewMean: l.world.Operation.Offered(), Unsure: unsure(l), Ended: ended, Varied: m.varied})
}

// ended is the scenario of a study that was ended at a number of replications.
func (l *loaded) ended(replications int) (*loaded, error) {
	if replications == l.world.Replications {
		return l, nil
	}
	return l.again(fmt.Sprintf("replications=%d", replications))
}

// digestOf is the SHA-256 of all settings in force, whether typed or defaults,
// but for those that decide nothing of what happens in a replication: how many
// there are, and what figures are held against.
func digestOf(list []setting.Setting) string {
	plain := slices.DeleteFunc(slices.Clone(list), func(s setting.Setting) bool {
		return s.Path == "replications" || strings.HasPrefix(s.Path, "objectives.")
	})
	for i := range plain {
		plain[i].Given = true // no remark on where a value is from
	}
	sum := sha256.Sum256(setting.YAML(plain))
	return hex.EncodeToString(sum[:])
}

// tables writes the faults and the replications as CSV, and as Parquet if asked.
func (m *manifest) tables(to *store.Folder, set *results.Set) error {
	for _, t := range table.Of(set) {
		if err := results.Put(to, store.TableName(t.Name, "csv"), t.CSV); err != nil {
			return err
		}
		if !m.parquet {
			continue
		}
		write := func(to io.Writer) error {
			return t.Parquet(to, "halflight.program", m.Program, "halflight.scenario", m.Scenario, "halflight.seed", fmt.Sprint(m.Seed),
				"halflight.digest", m.Digest)
		}
		if err := results.Put(to, store.TableName(t.Name, "parquet"), write); err != nil {
			return err
		}
	}
	return nil
}

// records writes the replications and the tables of them.
func (m *manifest) records(to *store.Folder, set *results.Set) error {
	if err := set.Write(to, store.ReplicationsName); err != nil {
		return err
	}
	return m.tables(to, set)
}

// write fills a folder and puts it in its place.
func (m *manifest) write(to *store.Folder, l *loaded, set *results.Set, summary *results.Summary) error {
	if err := m.records(to, set); err != nil {
		return err
	}
	return m.keep(to, l, summary)
}

// keep adds to a folder with the records all the rest, and puts it in its place.
func (m *manifest) keep(to *store.Folder, l *loaded, summary *results.Summary) error {
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(m.Manifest); err != nil {
		return fmt.Errorf("%s: %w", l.world.Name, err)
	}
	if err := to.Put(store.ScenarioName, m.resolved); err != nil {
		return err
	}
	if err := to.Put(store.TypedName, m.typed); err != nil {
		return err
	}
	if err := summary.Save(to, store.SummaryName); err != nil {
		return err
	}
	if err := to.Put(store.ManifestName, text.Bytes()); err != nil {
		return err
	}
	return to.Keep()
}

// unsure are the inputs that rest on nothing but an assumption.
func unsure(l *loaded) []results.Input { return drawing.Unsure(l.Scenario) }
