package reliability

import (
	"encoding/json"
	"fmt"
	"os"
	"testing"
)

// vector is one published or computed figure; its source is in the file.
type vector struct {
	Name     string
	Inputs   map[string]any
	Expected any
	RelTol   float64 `json:"rel_tol"`
	Source   string
}

func (v vector) in(t *testing.T, key string) float64 {
	t.Helper()
	switch x := v.Inputs[key].(type) {
	case float64:
		return x
	case string:
		return number(t, x)
	}
	t.Fatalf("%s has no input %s", v.Name, key)
	return 0
}

func (v vector) whole(t *testing.T, key string) int { return int(v.in(t, key)) }

// answers maps the name of a vector to what the package says, in the shape of its Expected.
func (v vector) answer(t *testing.T) any {
	in, whole := func(k string) float64 { return v.in(t, k) }, func(k string) int { return v.whole(t, k) }
	switch v.Name {
	case "fleet_mean_gap_h":
		return FleetGap(Population{Count: whole("n"), MTBF: in("mtbf_years") * in("year_h")})
	case "afr_from_mtbf":
		return AFRProbability(in("mtbf_h"))
	case "fit_from_mtbf":
		return FITFromMTBF(in("mtbf_h"))
	case "kofn_mttf_norepair_times_lambda":
		return MTTFNoRepair(whole("n"), whole("k"))
	case "kofn_reliability":
		return Reliability(whole("n"), whole("k"), in("r"))
	case "kofn_repair":
		f := Group{whole("n"), whole("k"), in("mtbf_h"), in("mttr_h"), whole("repairmen")}.Figures()
		return map[string]any{"U": f.Unavailability, "mttf": f.MTTF, "freq": f.Frequency, "mut": f.MeanUp, "mdt": f.MeanDown}
	case "finite_source_queue":
		f := RepairQueue{whole("N"), in("mtbf_h"), in("repair_h"), whole("c")}.Figures()
		return map[string]any{"L": f.Down, "Lq": f.Waiting, "util": f.Utilisation, "X": f.Throughput, "Wq": f.Wait,
			"W": f.DownTime, "Pwait": f.WaitProbability, "P0": f.AllUp}
	case "weibull_renewal_function":
		return WeibullRenewal(in("shape"), in("t_over_mean"))
	case "mtbf_ci_time_censored":
		low, high := MTBFBoundsTime(in("T"), whole("r"), in("conf"))
		return []any{low, high}
	case "mtbf_ci_failure_censored":
		low, high := MTBFBoundsFailure(in("T"), whole("r"), in("conf"))
		return []any{low, high}
	case "run_mean_probes":
		return RunMean(in("p"), whole("k"))
	case "run_prob_within":
		return RunWithin(in("p"), whole("k"), whole("n"))
	case "alarm_threshold":
		return float64(AlarmThreshold(whole("n"), in("p0"), in("alpha"), whole("m")))
	case "alarm_power":
		return AlarmPower(whole("n"), whole("c"), in("p"))
	case "rfc5348_rate_Bps":
		return ThroughputRFC5348(in("s"), in("R"), in("p"), in("b"), in("t_rto"))
	case "rfc8405_poisson_defaults":
		l, err := section6.UnderPoisson(in("lam"))
		if err != nil {
			t.Fatal(err)
		}
		return map[string]any{"quiet": l.Quiet, "short": l.ShortWait, "long": l.LongWait, "busy_mean": l.BusyMean,
			"events_per_busy": l.EventsPerBusy, "cycle": l.Cycle, "runs_per_busy": l.RunsPerBusy, "run_rate": l.RunRate,
			"n_short": l.ShortRuns, "n_long": l.LongRuns, "mean_wait": l.WaitMean}
	}
	t.Fatalf("no function for vector %s", v.Name)
	return nil
}

// section6 is the default set of RFC 8405 section 6, seconds.
var section6 = Backoff{Initial: 0.05, Short: 0.2, Long: 5, Learn: 0.5, Holddown: 10}

func TestVectors(t *testing.T) {
	text, err := os.ReadFile("testdata/vectors.json")
	if err != nil {
		t.Fatal(err)
	}
	var vectors []vector
	if err := json.Unmarshal(text, &vectors); err != nil {
		t.Fatal(err)
	}
	if len(vectors) != 91 {
		t.Fatalf("%d vectors, want 91", len(vectors))
	}
	for _, v := range vectors {
		what := fmt.Sprintf("%s %v (%s)", v.Name, v.Inputs, v.Source)
		got := v.answer(t)
		switch want := v.Expected.(type) {
		case float64:
			within(t, what, got.(float64), want, v.RelTol)
		case []any:
			for i, w := range want {
				within(t, what, got.([]any)[i].(float64), w.(float64), v.RelTol)
			}
		case map[string]any:
			fields := got.(map[string]any)
			if len(fields) != len(want) {
				t.Errorf("%s: %d figures, want %d", what, len(fields), len(want))
			}
			for key, w := range want {
				within(t, what+" "+key, fields[key].(float64), w.(float64), v.RelTol)
			}
		default:
			t.Fatalf("%s: expected of an unknown shape", what)
		}
	}
}
