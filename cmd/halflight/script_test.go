package main

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var rewrite = flag.Bool("rewrite", false, "rewrite what the scripts expect")

// TestMain lets the test binary be the program, so that scripts run the real
// thing without a build.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"halflight": main})
}

// Whole commands: every verb, wrong lines, odd files, pipes, exit statuses.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata", RequireExplicitExec: true, UpdateScripts: *rewrite,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "widest": widest},
		Condition: func(c string) (bool, error) {
			path, ok := strings.CutPrefix(c, "there:")
			if !ok {
				return false, fmt.Errorf("unknown condition %q", c)
			}
			_, err := os.Stat(path)
			return err == nil, nil
		},
	})
}

// exits runs a command and wants one exit status: exits 2 halflight runn.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits STATUS COMMAND...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var ended *exec.ExitError
	switch err := ts.Exec(args[1], args[2:]...); {
	case errors.As(err, &ended):
		got = ended.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// widest wants no line of a file to have more characters than a number: widest
// 100 stdout.
func widest(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: widest CHARACTERS FILE")
	}
	most, err := strconv.Atoi(args[0])
	ts.Check(err)
	width, lines := 0, 0
	for i, r := range ts.ReadFile(args[1]) + "\n" {
		if width++; r == '\n' {
			if width-1 > most {
				ts.Fatalf("line %d, up to byte %d, has %d characters", lines+1, i, width-1)
			}
			width, lines = 0, lines+1
		}
	}
	if lines < 3 {
		ts.Fatalf("only %d lines: nothing to measure", lines)
	}
}

// inFolder runs a test in an empty folder.
func inFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	t.Chdir(dir)
	if _, err := os.ReadDir(dir); err != nil {
		t.Fatal(err)
	}
	return dir
}
