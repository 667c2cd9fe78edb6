// Package batch is what this program knows of batch systems: how each tells a
// task its number, and templates that run a study on them. There is no code of
// theirs in it.
//
// It is tested by the variables of each system, by reading the manifest as the
// system's own types do, and on a real cluster of two nodes (.ci).
package batch

import (
	_ "embed"
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// scheme is how a batch system tells a task its number.
type scheme struct {
	name  string // of the variable
	first int    // number of the first task
}

// schemes, with where they are documented:
//
//   - SLURM_ARRAY_TASK_ID: slurm.schedmd.com/job_array.html, counted as submitted (here from 0)
//   - JOB_COMPLETION_INDEX: kubernetes.io, Indexed Job
//   - AWS_BATCH_JOB_ARRAY_INDEX: docs.aws.amazon.com, job_env_vars
//   - BATCH_TASK_INDEX, CLOUD_RUN_TASK_INDEX: cloud.google.com (from memory)
//   - CI_NODE_INDEX: docs.gitlab.com, parallel; from 1
//   - CIRCLE_NODE_INDEX: circleci.com, from 0
//   - BUILDKITE_PARALLEL_JOB, BITBUCKET_PARALLEL_STEP: from 0 (from memory)
//   - SEMAPHORE_JOB_INDEX: from 1
//   - PBS_ARRAY_INDEX, PBS_ARRAYID: as submitted (here from 0)
//   - LSB_JOBINDEX: ibm.com, from 1; 0 outside an array
//   - SGE_TASK_ID: from 1; "undefined" outside an array
//   - PARALLEL_SEQ: man parallel, from 1
var schemes = []scheme{
	{name: "SLURM_ARRAY_TASK_ID"}, {name: "JOB_COMPLETION_INDEX"}, {name: "AWS_BATCH_JOB_ARRAY_INDEX"}, {name: "BATCH_TASK_INDEX"},
	{name: "CLOUD_RUN_TASK_INDEX"}, {name: "CI_NODE_INDEX", first: 1}, {name: "CIRCLE_NODE_INDEX"}, {name: "BUILDKITE_PARALLEL_JOB"},
	{name: "BITBUCKET_PARALLEL_STEP"}, {name: "SEMAPHORE_JOB_INDEX", first: 1}, {name: "PBS_ARRAY_INDEX"}, {name: "PBS_ARRAYID"},
	{name: "LSB_JOBINDEX", first: 1}, {name: "SGE_TASK_ID", first: 1}, {name: "PARALLEL_SEQ", first: 1},
}

// Index is the number of the task, from 0, as the environment says. It is an
// error when no batch system says it, or more than one does.
func Index(lookup func(name string) (string, bool)) (int, error) {
	found, index := "", 0
	for _, s := range schemes {
		text, ok := lookup(s.name)
		if !ok || text == "" || s.first == 1 && (text == "undefined" || text == "0") {
			continue
		}
		if found != "" {
			return 0, fmt.Errorf("both %s and %s are set; say the number of the part", found, s.name)
		}
		n, err := strconv.Atoi(text)
		if err != nil || n < s.first {
			return 0, fmt.Errorf("%s is %q, which is no number of a task", s.name, text)
		}
		found, index = s.name, n-s.first
	}
	if found == "" {
		var names []string
		for _, s := range schemes {
			names = append(names, s.name)
		}
		return 0, errors.New("no batch system says which task this is; looked for " + strings.Join(names, ", "))
	}
	return index, nil
}

//go:embed slurm.sh
var slurm string

//go:embed kubernetes.yaml
var kubernetes string

//go:embed parallel.sh
var parallel string

// Template is a file to start from.
type Template struct{ Name, Text string }

// Templates lists all templates.
func Templates() []Template {
	return []Template{{"slurm", slurm}, {"kubernetes", kubernetes}, {"parallel", parallel}}
}
