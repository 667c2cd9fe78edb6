package batch

import (
	"strings"
	"testing"
)

// environment is what a batch system sets.
func environment(text string) func(string) (string, bool) {
	return func(name string) (string, bool) {
		for _, pair := range strings.Fields(text) {
			if key, value, _ := strings.Cut(pair, "="); key == name {
				return value, true
			}
		}
		return "", false
	}
}

// Task 2 of every system, counted from 0, as its documents say (see schemes).
func TestIndex(t *testing.T) {
	for text, want := range map[string]int{
		"SLURM_ARRAY_TASK_ID=2 SLURM_ARRAY_TASK_COUNT=2": 2, "JOB_COMPLETION_INDEX=2": 2,
		"AWS_BATCH_JOB_ARRAY_INDEX=2 AWS_BATCH_JOB_ARRAY_SIZE=8": 2, "BATCH_TASK_INDEX=2": 2, "CLOUD_RUN_TASK_INDEX=2": 2,
		"CI_NODE_INDEX=3 CI_NODE_TOTAL=8": 2, "CIRCLE_NODE_INDEX=2": 2, "BUILDKITE_PARALLEL_JOB=2": 2, "BITBUCKET_PARALLEL_STEP=2": 2,
		"SEMAPHORE_JOB_INDEX=3": 2, "PBS_ARRAY_INDEX=2": 2, "PBS_ARRAYID=2": 2, "LSB_JOBINDEX=3": 2, "SGE_TASK_ID=3": 2, "PARALLEL_SEQ=3": 2,
		"JOB_COMPLETION_INDEX=0": 0, "JOB_COMPLETION_INDEX=2 SGE_TASK_ID=undefined LSB_JOBINDEX=0": 2,
	} {
		if got, err := Index(environment(text)); err != nil || got != want {
			t.Errorf("%s: %d, %v; want %d", text, got, err, want)
		}
	}
	for text, want := range map[string]string{
		"":                                       "no batch system says",
		"SLURM_ARRAY_TASK_COUNT=8":               "no batch system says",
		"JOB_COMPLETION_INDEX=1 CI_NODE_INDEX=2": "both JOB_COMPLETION_INDEX and CI_NODE_INDEX",
		"CI_NODE_INDEX=0":                        "no batch system says",
		"JOB_COMPLETION_INDEX=-1":                "is no number of a task",
		"JOB_COMPLETION_INDEX=x":                 "is no number of a task",
	} {
		if _, err := Index(environment(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// The number of shards of the manifest stands in two places and is the same.
func TestTemplates(t *testing.T) {
	for _, c := range []struct{ text, has string }{
		{kubernetes, "completions: 8\n"}, {kubernetes, "$(JOB_COMPLETION_INDEX)/8,"}, {kubernetes, "values: [1, 2, 6]"},
		{slurm, "#SBATCH --requeue\n"}, {parallel, "::: $(seq 0 $((SHARDS - 1)))"},
	} {
		if !strings.Contains(c.text, c.has) {
			t.Errorf("a template lacks %q", c.has)
		}
	}
	for _, template := range Templates() {
		for line := range strings.Lines(template.Text) {
			if len(line) > 121 {
				t.Errorf("%s: a line of %d", template.Name, len(line))
			}
		}
	}
}
