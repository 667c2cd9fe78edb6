// Package quantity is the values of flags that are more than a number or a word:
// durations in days and years, shares, populations, k-of-n groups.
//
// It knows no verb. It is tested through the verbs.
package quantity

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"halflight/model/reliability"
	"halflight/model/sizing"
	"halflight/scenarios"
	"halflight/scenarios/unit"
	"halflight/scenarios/wording"
)

// Span is a flag that holds a duration, in days and years too.
type Span struct {
	NS    int64
	Given bool
}

// Set reads a duration above 0.
func (s *Span) Set(text string) error {
	d, err := scenarios.ParseDuration(text)
	if err != nil {
		return err
	}
	if d <= 0 {
		return errors.New("must be above 0")
	}
	s.NS, s.Given = int64(d), true
	return nil
}

// Hours is the duration in hours.
func (s *Span) Hours() float64 { return float64(s.NS) / 3600e9 }

// String returns the duration as it could be typed.
func (s *Span) String() string { return scenarios.Duration(s.NS).String() }

// Type names the value in help.
func (s *Span) Type() string { return "TIME" }

// Share is a flag that holds a share: 0.5 or 50%.
type Share float64

// Set reads a share from 0 to 1, or a percentage.
func (s *Share) Set(text string) error {
	v, fault := unit.ParseShare(text)
	if fault != nil {
		return fault
	}
	*s = Share(v)
	return nil
}

// String returns the share as it could be typed.
func (s *Share) String() string { return strconv.FormatFloat(float64(*s), 'g', -1, 64) }

// Type names the value in help.
func (s *Share) Type() string { return "SHARE" }

// unitsMost is the size of the largest population or group that is counted.
const unitsMost = 100_000_000

// groupMost is the size of the largest group that is solved.
const groupMost = 100_000

// Fleet is a flag that holds populations, one each time it is given.
type Fleet []sizing.Named

// Set reads NAME=COUNT@MTBF[,repair=TIME].
func (f *Fleet) Set(text string) error {
	fields := strings.Split(text, ",")
	name, rest, ok := strings.Cut(fields[0], "=")
	count, life, alive := strings.Cut(rest, "@")
	if !ok || !alive || name == "" {
		return errors.New("is no population: write NAME=COUNT@MTBF, such as router=1800@20y")
	}
	p := sizing.Named{Name: name}
	var err error
	if p.Count, err = whole(count, 1, unitsMost); err != nil {
		return fmt.Errorf("the count %w", err)
	}
	if p.MTBF, err = hours(life); err != nil || p.MTBF == 0 {
		return fmt.Errorf("the MTBF %w", orZero(err))
	}
	for _, field := range fields[1:] {
		key, value, _ := strings.Cut(field, "=")
		if key != "repair" {
			return fmt.Errorf("has the unknown part %q; only repair=TIME may follow", field)
		}
		if p.MTTR, err = hours(value); err != nil {
			return fmt.Errorf("the repair %w", err)
		}
	}
	for _, other := range *f {
		if other.Name == name {
			return fmt.Errorf("is the second population named %q", name)
		}
	}
	*f = append(*f, p)
	return nil
}

// String is empty: there is no default.
func (f *Fleet) String() string { return "" }

// Type names the value in help.
func (f *Fleet) Type() string { return "POPULATION" }

// Groups is a flag that holds k-of-n groups, one each time it is given.
type Groups []reliability.Group

// Set reads n=UNITS,need=UNITS,mtbf=TIME,mttr=TIME[,crew=N].
func (g *Groups) Set(text string) error {
	var one reliability.Group
	var err error
	seen := map[string]bool{}
	for field := range strings.SplitSeq(text, ",") {
		key, value, _ := strings.Cut(field, "=")
		if seen[key] {
			return fmt.Errorf("says %s twice", key)
		}
		seen[key] = true
		switch key {
		case "n":
			one.Units, err = whole(value, 1, groupMost)
		case "need":
			one.Need, err = whole(value, 1, groupMost)
		case "mtbf":
			one.MTBF, err = hours(value)
		case "mttr":
			one.MTTR, err = hours(value)
		case "crew":
			one.Crew, err = whole(value, 1, groupMost)
		default:
			return fmt.Errorf("has the unknown part %q; known are n, need, mtbf, mttr, crew", field)
		}
		if err != nil {
			return fmt.Errorf("%s %w", key, err)
		}
	}
	return g.add(one, seen)
}

// add checks a group and appends it.
func (g *Groups) add(one reliability.Group, seen map[string]bool) error {
	for _, key := range []string{"n", "need", "mtbf", "mttr"} {
		if !seen[key] {
			return fmt.Errorf("lacks %s; such as n=12,need=9,mtbf=700h,mttr=35h,crew=1", key)
		}
	}
	if one.Need > one.Units {
		return fmt.Errorf("needs %d of %d", one.Need, one.Units)
	}
	if one.MTBF == 0 || one.MTTR == 0 {
		return errors.New("mtbf and mttr must be above 0")
	}
	*g = append(*g, one)
	return nil
}

// String is empty: there is no default.
func (g *Groups) String() string { return "" }

// Type names the value in help.
func (g *Groups) Type() string { return "GROUP" }

// whole reads a whole number from least to most.
func whole(text string, least, most int) (int, error) {
	n, err := strconv.Atoi(text)
	switch {
	case err != nil && !errors.Is(err, strconv.ErrRange):
		return 0, fmt.Errorf("%s is not a whole number", clip(text))
	case err != nil || n < least || n > most:
		return 0, fmt.Errorf("%s is not between %d and %d", clip(text), least, most)
	}
	return n, nil
}

// hours reads a duration of any length, in hours.
func hours(text string) (float64, error) {
	ns, fault := unit.ParseTime(text)
	if fault != nil {
		return 0, fmt.Errorf("%s %w", clip(text), fault)
	}
	return ns / 3600e9, nil
}

// orZero is the error of a time that is 0 when there is no other.
func orZero(err error) error {
	if err == nil {
		return errors.New("must be above 0")
	}
	return err
}

// clip shortens what a user typed to what fits a message.
func clip(s string) string {
	if s == "" {
		return `""`
	}
	return wording.Clip(s)
}
