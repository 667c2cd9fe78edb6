// Package checks holds what the program prints against the types and readers of
// those it is printed for. It is a module of its own, so that these do not burden
// the program's.
package checks

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/joshdk/go-junit"
	batchv1 "k8s.io/api/batch/v1"
	corev1 "k8s.io/api/core/v1"
	"sigs.k8s.io/yaml"
)

// halflight runs the program named by HALFLIGHT and wants a status.
func halflight(t *testing.T, status int, args ...string) []byte {
	t.Helper()
	program := os.Getenv("HALFLIGHT")
	if program == "" {
		t.Fatal("HALFLIGHT must name the program: see .ci/run")
	}
	c := exec.Command(program, args...)
	c.Dir = t.TempDir()
	if len(args) > 0 && args[0] == "run" {
		c.Dir = "."
	}
	var out, errOut bytes.Buffer
	c.Stdout, c.Stderr = &out, &errOut
	if err := c.Run(); err != nil && c.ProcessState.ExitCode() != status || c.ProcessState.ExitCode() != status {
		t.Fatalf("%v: status %d, want %d: %s", args, c.ProcessState.ExitCode(), status, errOut.String())
	}
	return out.Bytes()
}

// The manifest is a Job of the Kubernetes API, with no field that the API does not
// know, and says what the program needs (kubernetes.io, Indexed Job; pod failure
// policy).
func TestManifestIsAJob(t *testing.T) {
	text := halflight(t, 0, "batch", "kubernetes")
	var job batchv1.Job
	if err := yaml.UnmarshalStrict(text, &job); err != nil {
		t.Fatal(err)
	}
	s := job.Spec
	if job.APIVersion != "batch/v1" || job.Kind != "Job" || s.CompletionMode == nil || *s.CompletionMode != batchv1.IndexedCompletion {
		t.Errorf("no indexed job: %s", text)
	}
	if s.Completions == nil || *s.Completions != 8 || s.BackoffLimitPerIndex == nil || s.Template.Spec.RestartPolicy != corev1.RestartPolicyNever {
		t.Errorf("completions, back-off limit an index or restart policy: %+v", s)
	}
	c := s.Template.Spec.Containers
	if len(c) != 1 || !strings.Contains(strings.Join(c[0].Args, " "), "--shard $(JOB_COMPLETION_INDEX)/8 ") {
		t.Fatalf("the container does not play its shard: %+v", c)
	}
	rules := s.PodFailurePolicy.Rules
	if len(rules) != 2 || rules[0].Action != batchv1.PodFailurePolicyActionFailIndex || *rules[0].OnExitCodes.ContainerName != c[0].Name ||
		rules[1].OnPodConditions[0].Type != corev1.DisruptionTarget || rules[1].OnPodConditions[0].Status != corev1.ConditionTrue {
		t.Errorf("rules of failure: %+v", rules)
	}
	mounts := map[string]bool{}
	for _, v := range s.Template.Spec.Volumes {
		mounts[v.Name] = true
	}
	for _, m := range c[0].VolumeMounts {
		if !mounts[m.Name] {
			t.Errorf("no volume for the mount %s", m.Name)
		}
	}
	// Strict it is: a field that does not exist is refused.
	if err := yaml.UnmarshalStrict(append(text, []byte("\nspek: {}\n")...), &job); err == nil {
		t.Error("an unknown field passed")
	}
}

const scenario = `
name: quay
horizon: 2h
warm_up: 30min
replications: 3
fabric: {clos: {pods: 1, leaves: 4, spines: 2}}
failures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: 5h}}, repair: {lead: 10min}}]
objectives:
  - {measure: backoff.quiet, at_least: 10%}
  - {measure: faults.cut, at_most: 0}
  - {measure: full_convergence.p99, at_most: 1s}
`

// Another program's reader of JUnit reports finds the same cases and totals.
func TestJUnitReport(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "quay.yaml")
	if err := os.WriteFile(file, []byte(scenario), 0o666); err != nil {
		t.Fatal(err)
	}
	report := filepath.Join(dir, "junit.xml")
	halflight(t, 3, "run", file, "--out", filepath.Join(dir, "result"), "--junit", report)
	suites, err := junit.IngestFile(report)
	if err != nil {
		t.Fatal(err)
	}
	if len(suites) != 1 || suites[0].Name != "halflight.quay" || len(suites[0].Tests) != 3 {
		t.Fatalf("%+v", suites)
	}
	total := suites[0].Totals
	if total.Tests != 3 || total.Passed != 1 || total.Failed != 1 || total.Error != 1 {
		t.Errorf("totals %+v", total)
	}
	for i, want := range []junit.Status{junit.StatusPassed, junit.StatusFailed, junit.StatusError} {
		if got := suites[0].Tests[i].Status; got != want {
			t.Errorf("case %d: %s, want %s", i, got, want)
		}
	}
}
