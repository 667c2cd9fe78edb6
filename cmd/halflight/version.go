package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"strings"
)

// version is the version of the program: that of its module, or the commit it
// was built from.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	return versionOf(info)
}

func versionOf(info *debug.BuildInfo) string {
	commit, changed := "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			commit = fmt.Sprintf("%.12s", s.Value)
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = "+changes"
		}
	}
	v := info.Main.Version
	if v == "" || v == "(devel)" {
		v = "development"
	}
	if commit == "" || strings.Contains(v, commit) {
		return v
	}
	return v + " " + commit + changed
}

// platform is what results are the same bytes on.
func platform() string { return runtime.GOOS + "/" + runtime.GOARCH }

// about is the answer to --version.
func about() string {
	return fmt.Sprintf("halflight %s, %s, %s\n", version(), runtime.Version(), platform())
}
