// Package player plays a study to its end: it takes up what an earlier attempt
// left, keeps every replication as soon as it is finished, and knows when there
// is enough.
//
// It knows no flags and prints nothing. It is tested by programs that are killed
// at random moments, by journals that are cut and altered, and by how often the
// intervals of studies that stopped by their own precision hold the truth.
package player

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"halflight/model"
	"halflight/results"
	"halflight/results/judging"
	"halflight/scenarios"
	"halflight/sim"
	"halflight/sim/record"
	"halflight/sim/replication"
)

// Play is what is to be played.
type Play struct {
	World   *model.World
	Study   results.Study // Asked is the most that may be played
	Part    results.Range // of its numbers; only a part that begins the study may be ended before its number
	Workers int
	// Wants are the measures that the study is to know well, with the share of the
	// value to which half their interval is to come. It is looked at 20, 40, 80 ...
	// replications only.
	Wants []judging.Want
	// Time is how long replications are begun for; 0: as long as it takes.
	Time time.Duration
	// Path is where what is finished is kept until the whole is; see Journal.
	Path string
	Tell func(done, all int)
	Note func(text string) // tells of what was found at Path
}

// Played is how far a study came.
type Played struct {
	Set      *results.Set // its study asks for no more than what ended it
	Ended    results.Ended
	Taken    int // replications that an earlier attempt had left
	Journal  *Journal
	finished bool
}

// Finished reports whether nothing is missing.
func (p *Played) Finished() bool { return p.finished }

// Run plays until there is enough or the context ends. With an error of the
// journal it also returns what was played.
func (p *Play) Run(ctx context.Context) (*Played, error) {
	header := sim.HeaderOf(p.World)
	journal, list, err := Open(p.Path, p.Study, header)
	if err != nil {
		return nil, err
	}
	defer journal.Close()
	if journal.Foreign() && p.Note != nil {
		p.Note("an earlier attempt was made by another build of the program; what it had finished is not used")
	}
	list = slices.DeleteFunc(list, func(r record.Replication) bool { return !p.Part.Holds(r.Number) })
	out := &Played{Journal: journal, Taken: len(list)}
	begun := time.Now()
	enough := func() bool { return p.Time > 0 && time.Since(begun) >= p.Time }
	for _, look := range p.looks() {
		set := &results.Set{Study: p.Study, Part: p.Part, Header: header}
		done := countUpTo(list, look)
		r, err := replication.Run(ctx, p.World, replication.Options{Workers: p.Workers, Seed: p.Study.Seed,
			First: int(p.Part.From), Count: int(look - p.Part.From),
			Skip: func(n uint32) bool { return holds(list[:done], n) },
			Keep: journal.Keep, Enough: enough,
			OnDone: p.Tell})
		if r == nil {
			return nil, err
		}
		list = append(list, r.Replications...)
		slices.SortFunc(list, byNumber)
		set.Replications = list[:countUpTo(list, look)]
		out.Set = set
		if err != nil {
			return out, err
		}
		if over := p.over(ctx, out, look, enough()); over {
			break
		}
	}
	return out, journal.Close()
}

func byNumber(a, b record.Replication) int { return cmp.Compare(a.Number, b.Number) }

// holds reports whether a list in order has a number.
func holds(list []record.Replication, n uint32) bool {
	_, found := slices.BinarySearchFunc(list, n, func(r record.Replication, n uint32) int { return cmp.Compare(r.Number, n) })
	return found
}

// countUpTo counts the replications of a list in order below a number.
func countUpTo(list []record.Replication, to uint32) int {
	i, _ := slices.BinarySearchFunc(list, to, func(r record.Replication, n uint32) int { return cmp.Compare(r.Number, n) })
	return i
}

// over says whether the study ends with this look, and what ended it.
func (p *Play) over(ctx context.Context, out *Played, look uint32, late bool) bool {
	set := out.Set
	holes := set.Missing()
	end := p.Part.To
	if len(holes) > 0 {
		end = holes[0].From
	}
	whole := min(end, look) - p.Part.From // without a hole
	precise, text := judging.Precise(set, p.Wants)
	switch {
	case ctx.Err() != nil && end < look:
		out.Ended = results.Ended{By: results.BySignal}
		return true
	case late && end < look:
		out.Ended = results.Ended{By: results.ByTime, Text: fmt.Sprintf("the time given, %v, after %d replications", scenarios.Duration(p.Time), whole)}
	case len(p.Wants) > 0 && precise:
		out.Ended = results.Ended{By: results.ByPrecision, Text: fmt.Sprintf("precision after %d replications: %s", whole, text)}
	case look == p.Part.To:
		out.Ended = results.Ended{By: results.ByNumber, Text: "the number of replications"}
		if len(p.Wants) > 0 {
			out.Ended.Text += ", before the precision asked for: " + text
		}
	default:
		return false
	}
	out.finished = true
	if p.Part == p.Study.Whole() {
		set.Study.Asked = whole
		set.Part = set.Study.Whole()
		set.Replications = set.Replications[:whole]
	}
	return true
}

// looks are the ends of the rounds that are played one after the other.
func (p *Play) looks() []uint32 {
	var out []uint32
	if len(p.Wants) > 0 {
		for _, n := range judging.Looks(p.Part.Len()) {
			out = append(out, p.Part.From+uint32(n))
		}
	}
	if len(out) == 0 || out[len(out)-1] != p.Part.To {
		out = append(out, p.Part.To)
	}
	return out
}
