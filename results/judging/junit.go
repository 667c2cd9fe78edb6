package judging

import (
	"encoding/xml"
	"fmt"
	"io"
	"strings"

	"halflight/results"
)

// The shape of a JUnit report: one suite, one case an objective. What is missed
// is a failure, what is undecided an error: no answer could be had.
type (
	suite struct {
		XMLName  xml.Name `xml:"testsuite"`
		Name     string   `xml:"name,attr"`
		Tests    int      `xml:"tests,attr"`
		Failures int      `xml:"failures,attr"`
		Errors   int      `xml:"errors,attr"`
		Skipped  int      `xml:"skipped,attr"`
		Time     string   `xml:"time,attr"`
		Cases    []check  `xml:"testcase"`
	}
	check struct {
		Name    string  `xml:"name,attr"`
		Class   string  `xml:"classname,attr"`
		Time    string  `xml:"time,attr"`
		Failure *reason `xml:"failure"`
		Error   *reason `xml:"error"`
		Out     string  `xml:"system-out,omitempty"`
	}
	reason struct {
		Message string `xml:"message,attr"`
		Type    string `xml:"type,attr"`
		Text    string `xml:",chardata"`
	}
)

// Undecideds says what becomes of what is undecided.
type Undecideds string

// The ways.
const (
	OpenEnds Undecideds = ""     // an answer of its own
	Pass     Undecideds = "pass" // as if met
	Fail     Undecideds = "fail" // as if missed
)

// JUnit writes verdicts as a JUnit report. Times are 0: what a study takes is no
// property of it.
func JUnit(to io.Writer, s *results.Summary, how Undecideds) error {
	out := suite{Name: "halflight." + s.Study.Scenario, Tests: len(s.Verdicts), Time: "0"}
	for i := range s.Verdicts {
		v := &s.Verdicts[i]
		c := check{Name: v.Objective, Class: "halflight." + s.Study.Scenario, Time: "0"}
		text := v.Text
		if len(v.Doubts) > 0 {
			text += "; doubts: " + strings.Join(v.Doubts, ", ")
		}
		switch {
		case v.Answer == results.Missed, v.Answer == results.Undecided && how == Fail:
			c.Failure = &reason{v.Text, string(v.Answer), text}
			out.Failures++
		case v.Answer == results.Undecided && how != Pass:
			c.Error = &reason{v.Text, string(v.Answer), text}
			out.Errors++
		default:
			c.Out = string(v.Answer) + ": " + text
		}
		out.Cases = append(out.Cases, c)
	}
	if _, err := io.WriteString(to, xml.Header); err != nil {
		return err
	}
	e := xml.NewEncoder(to)
	e.Indent("", " ")
	if err := e.Encode(out); err != nil {
		return fmt.Errorf("report of objectives: %w", err)
	}
	_, err := io.WriteString(to, "\n")
	return err
}
