package table

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"halflight/results"
	"halflight/sim/record"
)

const day = int64(86400e9)

// handSet is one replication of ten days with two faults, worked by hand.
func handSet() *results.Set {
	h := record.Header{
		Modes:  []record.Mode{{Name: "optic-dead", Kind: "hard"}, {Name: "optic-dirty", Kind: "lossy", Gray: true}},
		Phases: []string{"unnoticed", "spf_wait", "stranded"}, States: []string{"QUIET", "LONG_WAIT"},
		Classes: []record.Class{{Name: "calls", Budget: 1e-3, Windows: []record.Window{{Name: "1h", Rate: 14.4}, {Name: "90d", Rate: 1}}, Delays: []int64{600e6}}}, Routers: 4, Leaves: 2, Links: 4, External: 0.25, Congestion: true,
		Instruments: []record.Instrument{{Name: "counters"}}, Servers: &record.ServersOf{Groups: 8, Attachments: 2, Access: 16},
	}
	r := record.Replication{
		Number: 3, From: day, To: 11 * day,
		Faults: []record.Fault{
			{Index: 7, Mode: 0, On: "leaf-0-1~spine-0-0", Onset: day + 1500e6, End: day + 3601500e6, Background: record.Noise,
				FullConvergence: 125e6, RepairConvergence: 0, SPFWait: 50e6, RouteLoss: 1, Pairs: 2, Touched: 4, External: true,
				Sighted: record.None, Mitigated: record.None, LostSeconds: 0.75, Phases: []float64{0, 0.5, 0.25}},
			{Index: 9, Mode: 1, On: `leaf, "0"`, Onset: 2 * day, End: record.None, FullConvergence: record.None,
				RepairConvergence: record.None, SPFWait: record.None, RouteLoss: record.None, Sighted: 660e9, SightedBy: "counters",
				Mitigated: 900e9},
		},
		LostExternal: 0.125, LostSeconds: [][]float64{{0, 0.5, 0.25}, {2, 0, 0}}, Onsets: []int64{1, 1}, Present: []float64{0.004, 0.9}, Unseen: []float64{0, 0.008},
		RouterTime: float64(40 * day), StateTime: []float64{float64(39 * day), float64(day)}, WaitMean: 60e6, LeafWaitMean: 61e6, RestWait: 50e6,
		SPFRuns: 12, Originations: 4, BusyWorst10s: 0.01, Sightings: 2, Drains: 1, FalseDrains: 1, Refused: 3, HandsOn: 0.25, CapacityWorst: 0.5, LoadWorst: 1.25, LoadOver: 0.125,
		Applications: []record.Application{{SlowShare: 1e-4, WorstLeaf: 2e-4, P99Leaf: 1.5e-4, DegradedLeafHours: 6,
			Burn: []record.Burn{{Most: 20, MostLeaf: 80, Above: 3600e9, LeafAbove: 7200e9}, {Most: record.None, MostLeaf: record.None}}, Late: []float64{1e-6}}},
		Watched: []record.Watched{{Sightings: 2, FalseAlarms: 5}}, Tickets: 4, Repeats: 1, Visits: 7, Repairs: 6, Replaced: 8, Averted: 9, Stalls: 11, StallsLost: 10,
		Servers: &record.Servers{Lost: 0.125, Resets: 21, Cutoffs: []record.Cutoff{{From: day + 1e9, To: day + 4e9, Groups: 2}}},
	}
	study := results.Study{Scenario: "hand", Digest: "1f", Seed: 5, Asked: 4, Program: "test", WarmUp: day, Horizon: 10 * day}
	return &results.Set{Study: study, Part: study.Whole(), Header: h, Replications: []record.Replication{r}}
}

// plannedSet is handSet with planned work.
func plannedSet() *results.Set {
	s := handSet()
	for _, kind := range []string{"upgrade", "change"} {
		s.Header.Modes = append(s.Header.Modes, record.Mode{Name: kind, Kind: kind})
	}
	r := &s.Replications[0]
	r.LostSeconds = append(r.LostSeconds, []float64{0, 1, 0}, []float64{3, 0, 0})
	r.Onsets, r.Present, r.Unseen = append(r.Onsets, 2, 1), append(r.Present, 0.1, 0.2), append(r.Unseen, 0, 0)
	r.Planned = &record.Planned{Boxes: 3, Campaigns: 2, Nights: 5, Left: 1, Skipped: 4, Exposed: 3600e9, CapacityWorst: 0.75, Changes: 20}
	return s
}

func TestCSVByHand(t *testing.T) {
	for i, want := range []string{
		`replication,fault,mode,kind,gray,on,onset_s,end_s,background,full_convergence_s,repair_convergence_s,spf_wait_s,route_loss_s,sighted_s,mitigated_s,sighted_by,pairs,routers,external,lost_s,lost_unnoticed_s,lost_spf_wait_s,lost_stranded_s
3,7,optic-dead,hard,false,leaf-0-1~spine-0-0,1.5,3601.5,noise,0.125,0,0.05,1e-09,,,,2,4,true,0.75,0,0.5,0.25
3,9,optic-dirty,lossy,true,"leaf, ""0""",86400,,quiet,,,,,660,900,counters,0,0,false,0,0,0,0
`,
		`replication,measured_s,lost_avoidable_s,lost_stranded_s,lost_external_s,app_calls_slow_share,app_calls_worst_leaf,app_calls_p99_leaf,app_calls_degraded_leaf_h,app_calls_burn_1h_most,app_calls_burn_1h_most_leaf,app_calls_burn_1h_above_h,app_calls_burn_1h_leaf_above_h,app_calls_burn_90d_most,app_calls_burn_90d_most_leaf,app_calls_burn_90d_above_h,app_calls_burn_90d_leaf_above_h,app_calls_late_600ms,router_time_h,backoff_quiet,backoff_long_wait,wait_mean_s,leaf_wait_mean_s,rest_wait_s,spf_runs,originations,sightings,drains,false_drains,refused,stalls,stalls_lost,tickets,repeats,visits,repairs,replaced,averted,sightings_counters,false_alarms_counters,busy_worst10s,hands_on,capacity_worst,load_worst,load_over,servers_cut_off_s,access_lost,overlay_resets,onsets_optic-dead,present_optic-dead,unseen_optic-dead,lost_optic-dead_s,onsets_optic-dirty,present_optic-dirty,unseen_optic-dirty,lost_optic-dirty_s
3,864000,2.5,0.25,0.125,0.0001,0.0002,0.00015,6,20,80,1,2,,,0,0,1e-06,960,0.975,0.025,0.06,0.061,0.05,12,4,2,1,1,3,11,10,4,1,7,6,8,9,2,5,0.01,0.25,0.5,1.25,0.125,6,0.125,21,1,0.004,0,0.75,1,0.9,0.008,2
`,
	} {
		var got bytes.Buffer
		if err := Of(handSet())[i].CSV(&got); err != nil {
			t.Fatal(err)
		}
		if got.String() != want {
			t.Errorf("got\n%swant\n%s", got.String(), want)
		}
	}
}

// Every column has an entry and every entry a column, and no two the same name.
func TestColumnsAreTheDictionary(t *testing.T) {
	used := map[Entry]bool{}
	for _, tab := range Of(plannedSet()) {
		names := map[string]bool{}
		for _, c := range tab.Columns {
			e, ok := Explain(tab.Name, c.Name)
			if !ok || e.Meaning == "" {
				t.Errorf("%s: %s is not in the dictionary", tab.Name, c.Name)
			}
			if suffix := map[string]string{"s": "_s", "h": "_h"}[e.Unit]; !strings.HasSuffix(c.Name, suffix) {
				t.Errorf("%s: %s is in %q and does not end in %q", tab.Name, c.Name, e.Unit, suffix)
			}
			if names[c.Name] {
				t.Errorf("%s: two columns are named %s", tab.Name, c.Name)
			}
			names[c.Name], used[e] = true, true
		}
		if row := tab.Row(0, nil); len(row) != len(tab.Columns) {
			t.Errorf("%s: %d cells under %d columns", tab.Name, len(row), len(tab.Columns))
		}
	}
	for _, e := range Dictionary() {
		if !used[e] {
			t.Errorf("%s: no column %s", e.Table, e.Pattern)
		}
	}
	if _, ok := Explain("faults", "colour"); ok {
		t.Error("a column that is not there has an entry")
	}
}

// What a record holds is in a table, or has a reason not to be: a change of any
// number of it changes a row.
func TestNothingOfARecordIsLeftOut(t *testing.T) {
	left := map[string]string{
		"From": "the zero of all times in the table", "Phases": "by the phases", "Faults": "a table of their own",
		"Waits": "a distribution, not a figure", "LeafWaits": "the same", "Series": "a series, not a figure", "Days": "the same",
		"Older": "in the sums by mode", "Planned": "field by field", "Servers": "tried by itself",
	}
	rows := func(s *results.Set) string {
		var b bytes.Buffer
		for _, tab := range Of(s) {
			if err := tab.CSV(&b); err != nil {
				t.Fatal(err)
			}
		}
		return b.String()
	}
	before := rows(plannedSet())
	try := func(value func(s *results.Set) reflect.Value) {
		kind := value(plannedSet()).Type()
		for i := range kind.NumField() {
			s := plannedSet()
			f := value(s).Field(i)
			switch f.Kind() {
			case reflect.Int64, reflect.Int32:
				if kind.Field(i).Name == "Mode" {
					f.SetInt(1 - f.Int())
				} else {
					f.SetInt(f.Int() + 1000)
				}
			case reflect.Uint32, reflect.Uint8:
				f.SetUint((f.Uint() + 1) % 3)
			case reflect.Float64:
				f.SetFloat(f.Float() + 1)
			case reflect.Bool:
				f.SetBool(!f.Bool())
			case reflect.String:
				f.SetString(f.String() + "x")
			case reflect.Slice:
				if f.Len() == 0 || left[kind.Field(i).Name] != "" {
					continue
				}
				switch e := f.Index(0); e.Kind() {
				case reflect.Float64:
					e.SetFloat(e.Float()/2 + 0.25)
				case reflect.Int64:
					e.SetInt(e.Int() + 1)
				case reflect.Slice:
					e.Index(0).SetFloat(5)
				default:
					if f := e.Field(0); f.Kind() == reflect.Float64 {
						f.SetFloat(0.5)
					} else {
						f.SetInt(77)
					}
				}
			default:
				if left[kind.Field(i).Name] == "" {
					t.Errorf("%s.%s: a kind this test does not know", kind.Name(), kind.Field(i).Name)
				}
				continue
			}
			if left[kind.Field(i).Name] == "" && rows(s) == before {
				t.Errorf("%s.%s is in no column", kind.Name(), kind.Field(i).Name)
			}
		}
	}
	try(func(s *results.Set) reflect.Value { return reflect.ValueOf(&s.Replications[0]).Elem() })
	try(func(s *results.Set) reflect.Value { return reflect.ValueOf(&s.Replications[0].Faults[0]).Elem() })
	try(func(s *results.Set) reflect.Value { return reflect.ValueOf(&s.Replications[0].Applications[0]).Elem() })
	try(func(s *results.Set) reflect.Value { return reflect.ValueOf(&s.Replications[0].Watched[0]).Elem() })
	try(func(s *results.Set) reflect.Value { return reflect.ValueOf(s.Replications[0].Planned).Elem() })
	try(func(s *results.Set) reflect.Value { return reflect.ValueOf(s.Replications[0].Servers).Elem() })
}

func TestNoNumberIsRefused(t *testing.T) {
	s := handSet()
	s.Replications[0].HandsOn = math.NaN()
	err := Replications(s).CSV(&bytes.Buffer{})
	if err == nil || err.Error() != "row 1: hands_on is NaN" {
		t.Errorf("error %v", err)
	}
}

// many is a set with faults enough for several batches of rows.
func many(faults int) *results.Set {
	s := handSet()
	r := &s.Replications[0]
	for i := range faults {
		f := r.Faults[i%2]
		f.Index, f.Onset, f.LostSeconds = int32(10+i), r.From+int64(i)*977e6+1, 1/float64(i+1)
		r.Faults = append(r.Faults, f)
	}
	return s
}

func parquetOf(t *testing.T, tab *Table) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := tab.Parquet(&b, "seed", "5", "digest", "1f"); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Read back as rows, the file holds the cells; made again, it has the same bytes.
func TestParquetReadBack(t *testing.T) {
	for _, tab := range Of(many(3000)) {
		data := parquetOf(t, tab)
		if !bytes.Equal(data, parquetOf(t, tab)) {
			t.Errorf("%s: the same table gave other bytes", tab.Name)
		}
		file, err := parquet.OpenFile(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			t.Fatal(err)
		}
		if file.NumRows() != int64(tab.Rows) {
			t.Errorf("%s: %d rows, want %d", tab.Name, file.NumRows(), tab.Rows)
		}
		if v, ok := file.Lookup("digest"); !ok || v != "1f" {
			t.Errorf("%s: digest %q", tab.Name, v)
		}
		for i, f := range file.Schema().Fields() {
			if f.Name() != tab.Columns[i].Name {
				t.Errorf("%s: column %d is %s, want %s", tab.Name, i, f.Name(), tab.Columns[i].Name)
			}
		}
		at := 0
		for _, group := range file.RowGroups() {
			rows := group.Rows()
			buffer := make([]parquet.Row, 100)
			for {
				n, err := rows.ReadRows(buffer)
				for _, row := range buffer[:n] {
					for c, cell := range tab.Row(at, nil) {
						if got, want := row[c], tab.value(c, &cell); !parquet.DeepEqual(got, want) {
							t.Fatalf("%s row %d: %s is %v, want %v", tab.Name, at, tab.Columns[c].Name, got, want)
						}
					}
					at++
				}
				if err != nil {
					break
				}
			}
			rows.Close()
		}
		if at != tab.Rows {
			t.Errorf("%s: read %d rows of %d", tab.Name, at, tab.Rows)
		}
	}
}

// CSV and Parquet as two readers of the npm registry see them (csv-parse and
// hyparquet, MIT): the same columns, and the cells that the table holds.
func TestOtherReaders(t *testing.T) {
	modules, err := filepath.Abs("../../.ci/node_modules")
	if err != nil {
		t.Fatal(err)
	}
	node, err := exec.LookPath("node")
	if _, missing := os.Stat(filepath.Join(modules, "hyparquet")); err != nil || missing != nil {
		t.Skip("needs node and two readers of files: install Debian's nodejs and npm, then run npm ci --prefix .ci")
	}
	for _, tab := range Of(many(2500)) {
		dir := t.TempDir()
		var text bytes.Buffer
		if err := tab.CSV(&text); err != nil {
			t.Fatal(err)
		}
		csvFile, parquetFile := filepath.Join(dir, "t.csv"), filepath.Join(dir, "t.parquet")
		for name, data := range map[string][]byte{csvFile: text.Bytes(), parquetFile: parquetOf(t, tab)} {
			if err := os.WriteFile(name, data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		out, err := exec.Command(node, "testdata/readback.mjs", modules, csvFile, parquetFile).Output()
		if err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		var got struct {
			CSV struct {
				Columns []string
				Rows    [][]string
			}
			Parquet struct {
				Columns []string
				Rows    [][]any
				About   map[string]string
			}
		}
		if err := json.Unmarshal(out, &got); err != nil {
			t.Fatal(err)
		}
		lines, err := csv.NewReader(&text).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(got.CSV.Columns, lines[0]) || !slices.Equal(got.Parquet.Columns, lines[0]) || got.Parquet.About["seed"] != "5" {
			t.Errorf("%s: columns %v and %v, about %v", tab.Name, got.CSV.Columns, got.Parquet.Columns, got.Parquet.About)
		}
		if len(got.CSV.Rows) != tab.Rows || len(got.Parquet.Rows) != tab.Rows {
			t.Fatalf("%s: %d and %d rows, want %d", tab.Name, len(got.CSV.Rows), len(got.Parquet.Rows), tab.Rows)
		}
		for i := range tab.Rows {
			for c, cell := range tab.Row(i, nil) {
				want, err := tab.word(c, &cell)
				if err != nil {
					t.Fatal(err)
				}
				if got.CSV.Rows[i][c] != want {
					t.Fatalf("%s row %d: CSV has %s = %q, want %q", tab.Name, i, tab.Columns[c].Name, got.CSV.Rows[i][c], want)
				}
				if read := plain(got.Parquet.Rows[i][c]); read != want {
					t.Fatalf("%s row %d: Parquet has %s = %q, want %q", tab.Name, i, tab.Columns[c].Name, read, want)
				}
			}
		}
	}
}

// plain writes a value of JSON as the CSV would.
func plain(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return fmt.Sprint(v)
}
