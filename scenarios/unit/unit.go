// Package unit reads and writes quantities as scenarios type them: durations, rates, shares, speeds and sizes. Numbers are read
// exactly and rounded once.
//
// It knows no keys and no files. It is tested by tables worked by hand and by round trips.
package unit

import (
	"strconv"
)

// Duration is a time in nanoseconds, up to 292 y.
type Duration int64

// Rate is a number per second.
type Rate float64

// Speed is in bits per second.
type Speed float64

// String returns a duration as a file would say it, in the largest units that lose nothing: 1h30min, 250us, 0s.
func (d Duration) String() string {
	if d == 0 {
		return "0s"
	}
	s, rest := "", uint64(d)
	if d < 0 {
		s, rest = "-", -rest
	}
	for _, u := range timeUnits {
		if u.name == "w" {
			continue
		}
		if n := rest / uint64(u.ns); n > 0 {
			s += strconv.FormatUint(n, 10) + u.name
			rest -= n * uint64(u.ns)
		}
	}
	return s
}
