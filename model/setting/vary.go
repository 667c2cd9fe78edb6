package setting

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"halflight/scenarios/unit"
)

// Unsure returns the settings that are to be varied before the figures are
// trusted: defaults, and rates of failures, that have a documented range to vary
// them in and do not rest on a primary source or on practice alone (grades other
// than A and CP), in the order of the scenario.
func Unsure(settings []Setting) []Setting {
	var list []Setting
	for _, s := range settings {
		if s.Wide < 0 || s.Given && !strings.HasPrefix(s.Path, "failures.") || !doubtful(s.Grade) {
			continue
		}
		if _, ok := s.Span(); ok {
			list = append(list, s)
		}
	}
	return list
}

// doubtful says whether a grade, or one of two with a slash between, is B, C or D.
func doubtful(grade string) bool {
	for one := range strings.SplitSeq(grade, "/") {
		if one == "B" || one == "C" || one == "D" {
			return true
		}
	}
	return false
}

// Ends are the two ends of a documented range and the value in force, in one
// unit, and how to write values of that unit.
type Ends struct {
	Low, Now, High float64 // Low < High; the value in force may lie outside
	whole          bool
	write          func(float64) string
}

// At returns the value at a share u of the range, 0 the low end and 1 the high
// one: in proportion where the ends are above 0 and at least a factor of ten
// apart, evenly otherwise. A range that begins at 0 has the value in force in the
// middle. The text is as --set takes it.
func (e *Ends) At(u float64) string {
	u = min(max(u, 0), 1)
	v := e.Low + float64(u*(e.High-e.Low))
	switch {
	case e.Low > 0 && e.High >= 10*e.Low:
		v = e.Low * math.Pow(e.High/e.Low, u)
	case e.Low == 0 && e.Now > 0 && e.High >= 10*e.Now && u < 0.5:
		v = e.Now * 2 * u
	case e.Low == 0 && e.Now > 0 && e.High >= 10*e.Now:
		v = e.Now * math.Pow(e.High/e.Now, 2*u-1)
	}
	if u == 0 {
		v = e.Low
	}
	if u == 1 {
		v = e.High
	}
	if e.whole {
		v = math.Round(v)
	}
	return e.write(v)
}

// routerHours and hungShare are what ranges "by all causes" and "of router
// faults" are relative to; see package failure.
const (
	routerHours = 110_000
	hungShare   = 0.17
	leastShare  = 0.01 // stands for a share of 0, which has no mean life
)

var (
	twoEnds  = regexp.MustCompile(`^(\S+?)(?: (\S+))? to (\S+)(?: (.+))?$`)
	factors  = regexp.MustCompile(`^x (\S+) to x (\S+)$`)
	number   = regexp.MustCompile(`^[0-9][0-9.eE+-]*`)
	suffixes = map[string]string{"%": "%", "a second": "/s", "episodes a link-day": "/d"}
)

// Span reads the documented range; false when there is none, or the value in
// force is of another kind.
func (s *Setting) Span() (Ends, bool) {
	text, _, _ := strings.Cut(s.Range, ";")
	if m := factors.FindStringSubmatch(text); m != nil {
		return s.times(m[1], m[2])
	}
	if rest, ok := strings.CutSuffix(text, " by all causes"); ok {
		return s.relative(rest, routerHours)
	}
	if strings.HasSuffix(text, "of router faults") {
		return s.shareOf(strings.TrimSuffix(text, " of router faults"))
	}
	if text == "1 or 2" && s.Value == oneFamily {
		return Ends{Low: 1, Now: 1, High: 2, whole: true, write: func(v float64) string {
			if v > 1 {
				return twoFamilies
			}
			return oneFamily
		}}, true
	}
	m := twoEnds.FindStringSubmatch(text)
	if m == nil {
		return Ends{}, false
	}
	low, lowUnit, high, highUnit := m[1], m[2], m[3], m[4]
	if lowUnit == "" {
		lowUnit = highUnit
	}
	return s.between(joined(low, lowUnit), joined(high, highUnit))
}

// joined writes an end as a scenario would.
func joined(digits, unit string) string {
	if as, ok := suffixes[unit]; ok {
		unit = as
	}
	return digits + unit
}

// between reads two ends of the kind of the value in force.
func (s *Setting) between(low, high string) (Ends, bool) {
	for _, kind := range kinds {
		now, ok := kind.read(s.value())
		if !ok {
			continue
		}
		a, okLow := kind.read(low)
		b, okHigh := kind.read(high)
		if okLow && okHigh && a != b {
			return Ends{Low: min(a, b), Now: now, High: max(a, b), write: s.write(kind.write), whole: wholeText(s.Value, low, high)}, true
		}
	}
	return Ends{}, false
}

// kinds of values. A time of 0 may be typed without a unit.
var kinds = []struct {
	read  func(string) (float64, bool)
	write func(float64) string
}{
	{readTime, func(v float64) string { return Time(math.Round(v)) }},
	{func(t string) (float64, bool) { v, f := unit.ParseRate(t); return v, f == nil }, func(v float64) string { return short(v*86400) + "/d" }},
	{func(t string) (float64, bool) {
		if share, ok := strings.CutSuffix(t, "%"); ok {
			v, err := strconv.ParseFloat(share, 64)
			return v / 100, err == nil
		}
		v, err := strconv.ParseFloat(t, 64)
		return v, err == nil
	}, short},
}

func readTime(text string) (float64, bool) {
	if digits := number.FindString(text); digits != "" && strings.Trim(digits, "0.") == "" && digits != text {
		return 0, true
	}
	v, f := unit.ParseTime(text)
	return v, f == nil
}

// short writes a number with at most six digits.
func short(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

// wholeText says whether all of some texts are whole numbers.
func wholeText(texts ...string) bool {
	for _, t := range texts {
		if _, err := strconv.Atoi(t); err != nil {
			return false
		}
	}
	return true
}

// Words of fib.families, whose range is a number of them.
const oneFamily, twoFamilies = "ipv4", "both"

// human is the value of a reaction by people, a law whose median is varied.
const human = "human"

func (s *Setting) value() string {
	if s.Value == human {
		return "32min"
	}
	return s.Value
}

func (s *Setting) write(plain func(float64) string) func(float64) string {
	if s.Value != human {
		return plain
	}
	return func(v float64) string { return fmt.Sprintf("{lognormal: {median: %s, sigma: 0.9}}", plain(v)) }
}

// times is a range of multiples of the value in force.
func (s *Setting) times(low, high string) (Ends, bool) {
	a, errA := strconv.ParseFloat(low, 64)
	b, errB := strconv.ParseFloat(high, 64)
	for _, kind := range kinds {
		if now, ok := kind.read(s.Value); ok && errA == nil && errB == nil {
			return Ends{Low: now * a, Now: now, High: now * b, write: func(v float64) string { return kind.write(hourly(v)) }}, true
		}
	}
	return Ends{}, false
}

// hourly rounds long times to hours; other values are far below.
func hourly(ns float64) float64 {
	const hour = 3600e9
	if ns < 100*hour {
		return ns
	}
	return math.Round(ns/hour) * hour
}

// relative is a range of hours of which the value in force is a part by so many.
func (s *Setting) relative(text string, whole float64) (Ends, bool) {
	low, high, ok := strings.Cut(text, " to ")
	a, okA := hoursOf(low)
	b, okB := hoursOf(high)
	if !ok || !okA || !okB {
		return Ends{}, false
	}
	return s.times(short(a/whole), short(b/whole))
}

// hoursOf reads "50,000 h" and "1.4 M h".
func hoursOf(text string) (float64, bool) {
	text, ok := strings.CutSuffix(strings.ReplaceAll(text, ",", ""), " h")
	million := 1.0
	if t, m := strings.CutSuffix(text, " M"); m {
		text, million = t, 1e6
	}
	v, err := strconv.ParseFloat(text, 64)
	return v * million, ok && err == nil
}

// shareOf is a range of the share of router faults that the mode has.
func (s *Setting) shareOf(text string) (Ends, bool) {
	m := twoEnds.FindStringSubmatch(text)
	if m == nil {
		return Ends{}, false
	}
	a, errA := strconv.ParseFloat(m[1], 64)
	b, errB := strconv.ParseFloat(m[3], 64)
	if errA != nil || errB != nil || m[4] != "%" {
		return Ends{}, false
	}
	return s.times(short(hungShare/(b/100)), short(hungShare/max(a/100, leastShare)))
}
