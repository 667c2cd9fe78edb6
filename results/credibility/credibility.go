// Package credibility is a statement on how far a result can be trusted, line by
// line, by rule.
//
// It knows what a result rests on as plain facts. It is tested by facts whose
// levels follow from the printed rules.
package credibility

import (
	"fmt"
	"strings"

	"halflight/results/phrase"
	"halflight/results/unit"
)

// Assumption is one setting in force.
type Assumption struct {
	Key, Value string
	Given      bool // by the scenario; else a default
	Grade      string
	Source     string
	Range      string // to vary it in
	Unsourced  bool   // rests on nothing but an assumption, and decides something
}

// Evidence is what the levels are given by.
type Evidence struct {
	Assumptions  []Assumption
	Program      string // version
	Digest       string // of all settings
	Partial      string // why replications are missing
	Replications int
	Alone        bool // the unsure inputs were varied one at a time
	Together     bool // and all together
}

// Factor is one line of the credibility statement: a level from 0 to 4, what it
// rests on, and the rule that gives it.
type Factor struct {
	Name, Says, Rule string
	Level            int
}

// Statement is eight lines after the credibility assessment of
// NASA-STD-7009A: data pedigree, verification, validation, input pedigree,
// uncertainty, robustness, use history, management. Levels are given by the rules
// below and by nothing else; 0 is no evidence, 4 the best that is known.
func Statement(r *Evidence) []Factor {
	return []Factor{r.dataPedigree(), r.verification(), r.validation(), r.inputPedigree(), r.uncertainty(), r.robustness(), r.useHistory(), r.management()}
}

func (r *Evidence) dataPedigree() Factor {
	graded, sourced, primary := 0, 0, 0
	for _, a := range r.Assumptions {
		if a.Given || a.Grade == "" {
			continue
		}
		graded++
		switch a.Grade {
		case "A":
			primary++
			sourced++
		case "B":
			sourced++
		}
	}
	f := Factor{Name: "Data pedigree", Rule: "0 without a graded default; 1 below half with a source of grade A or B; 2 from half on; 3 from nine tenths on; 4 all, and all primary"}
	if graded == 0 {
		f.Says = "No default in force carries a grade."
		return f
	}
	share := float64(sourced) / float64(graded)
	f.Level = 1 + step(share >= 0.5) + step(share >= 0.9) + step(primary == graded)
	f.Says = fmt.Sprintf("Of %s that carry a grade %s have a source of grade A or B.", unit.Count(graded, "default"), phrase.Words(share, unit.Share))
	return f
}

func step(is bool) int {
	if is {
		return 1
	}
	return 0
}

func (r *Evidence) verification() Factor {
	f := Factor{Name: "Verification", Level: 3, Rule: "3 for a program built from a recorded state of its source, whose tests hold it against a second program of the same rules, closed forms and published vectors; 2 if that state is not recorded; 4 would need somebody else's check",
		Says: "The program version is on record; its tests hold the rules against a plain second program, closed forms and published vectors."}
	if p := r.Program; p == "" || p == "unknown" || p == "development" || strings.Contains(p, "+changes") {
		f.Level, f.Says = 2, fmt.Sprintf("The program says it is %q: which source it was built from is not on record. Its tests hold the rules against a plain second program, closed forms and published vectors.", p)
	}
	return f
}

func (r *Evidence) validation() Factor {
	return Factor{Name: "Validation", Level: 1, Rule: "1 while only parts are held against published figures; 2 needs a back-test against an incident log of the fabric itself, 3 several, 4 measurements over the whole range of use",
		Says: "Parts are held against published figures; the whole was not compared with a fabric in operation."}
}

func (r *Evidence) inputPedigree() Factor {
	given, sourced, rates := 0, 0, 0
	unsourced := 0
	for _, a := range r.Assumptions {
		if a.Unsourced {
			unsourced++
		}
		if !strings.HasPrefix(a.Key, "failures.") {
			continue
		}
		rates++
		if a.Given {
			given++
			sourced += step(a.Grade == "A" || a.Grade == "B")
		}
	}
	f := Factor{Name: "Input pedigree", Rule: "0 without a scenario; 1 while failures are defaults or given without a source; 2 once half of the failure inputs are given with a source of grade A or B; 3 if no unsourced input is left; 4 if all are from your own records"}
	if rates == 0 {
		f.Says = "No failure inputs are on record."
		return f
	}
	f.Level = 1
	if given > 0 && sourced*2 >= rates {
		f.Level = 2 + step(unsourced == 0)
	}
	f.Says = fmt.Sprintf("%d of %d failure inputs are given by the scenario, %d of them with a source; %s in force rest on an assumption alone.",
		given, rates, sourced, unit.Count(unsourced, "input"))
	return f
}

func (r *Evidence) uncertainty() Factor {
	f := Factor{Name: "Uncertainty", Rule: "0 without an interval; 1 for a partial result or fewer than 20 replications; 2 for intervals of chance; 3 if the unsure inputs were varied together too (a sweep over worlds); 4 if their ranges were measured"}
	n := r.Replications
	switch {
	case n < 2:
		f.Says = "One replication has no interval."
	case n < 20 || r.Partial != "":
		f.Level, f.Says = 1, fmt.Sprintf("Intervals of chance from %s only.", unit.Count(n, "replication"))
	case r.Together:
		f.Level, f.Says = 3, fmt.Sprintf("Intervals of chance from %s, and the unsure inputs were varied over their documented ranges.", unit.Count(n, "replication"))
	default:
		f.Level, f.Says = 2, fmt.Sprintf("Intervals of chance from %s; inputs: not varied.", unit.Count(n, "replication"))
	}
	return f
}

func (r *Evidence) robustness() Factor {
	f := Factor{Name: "Robustness", Says: "How far the answer hangs on each input is not known: no sweep is in the folder.",
		Rule: "0 without a sweep; 2 if the unsure inputs were varied one at a time; 3 if they were varied together; 4 if the answer held throughout"}
	switch {
	case r.Together:
		f.Level, f.Says = 3, "The unsure inputs were varied together over their documented ranges; the options say what that does."
	case r.Alone:
		f.Level, f.Says = 2, "The unsure inputs were varied one at a time; the picture of it is above."
	}
	return f
}

func (r *Evidence) useHistory() Factor {
	return Factor{Name: "Use history", Says: "No record is kept of decisions made with the program and how they turned out.",
		Rule: "0 while no such record is kept; more needs decisions on record and what became of them"}
}

func (r *Evidence) management() Factor {
	f := Factor{Name: "Management", Level: 3, Says: "Program, platform, seed and the digest of all settings are on record, equal inputs give equal bytes, and the command that makes the result again is below.",
		Rule: "3 if program, seed, digest and the command that makes the result again are on record; 2 if the program's state is not recorded; 1 for a partial result; 4 would need a process audited by somebody else"}
	switch {
	case r.Partial != "":
		f.Level, f.Says = 1, "The result is partial: "+r.Partial+"."
	case r.verification().Level < 3 || r.Digest == "":
		f.Level, f.Says = 2, "Seed and the digest of all settings are on record and equal inputs give equal bytes, but the program's state is not."
	}
	return f
}
