package repair

import (
	"container/heap"
	"fmt"
	"strings"
	"testing"

	"halflight/model/fabric"
	"halflight/model/operation"
)

const (
	second = int64(1e9)
	minute = 60 * second
	hour   = 60 * minute
)

// play is a small event loop around an operator: tasks by instant, then in the
// order in which they were asked for. Whatever a test has due itself carries a
// kind of its own.
type play struct {
	o     *Operator
	now   int64
	queue due
	n     int
	taken []Action
	mine  func(k Kind, a int32)
	seen  func(a Action)
}

type item struct {
	Task
	n int
}

type due []item

func (d due) Len() int { return len(d) }
func (d due) Less(i, j int) bool {
	return d[i].At < d[j].At || d[i].At == d[j].At && d[i].n < d[j].n
}
func (d due) Swap(i, j int) { d[i], d[j] = d[j], d[i] }
func (d *due) Push(x any)   { *d = append(*d, x.(item)) }
func (d *due) Pop() any {
	old := *d
	x := old[len(old)-1]
	*d = old[:len(old)-1]
	return x
}

const own Kind = 100 // kinds of tests begin here

func newPlay(f *fabric.Fabric, plan operation.Plan) *play { return &play{o: New(f, &plan)} }

func (p *play) push(t Task) {
	heap.Push(&p.queue, item{t, p.n})
	p.n++
}

// collect takes what a call left behind.
func (p *play) collect() {
	for _, t := range p.o.Tasks {
		if t.At < p.now {
			panic(fmt.Sprintf("repair: task %v before %d", t, p.now))
		}
		p.push(t)
	}
	p.o.Tasks = p.o.Tasks[:0]
	for len(p.o.Actions) > 0 {
		actions := p.o.Actions
		p.o.Actions = nil
		for _, a := range actions {
			if p.seen != nil {
				p.seen(a)
			} else {
				p.taken = append(p.taken, a)
			}
		}
	}
}

// until plays up to an instant, included.
func (p *play) until(end int64) {
	for len(p.queue) > 0 && p.queue[0].At <= end {
		p.step()
	}
	p.now = end
}

func (p *play) step() {
	t := heap.Pop(&p.queue).(item)
	p.now = t.At
	if t.Kind >= own {
		p.mine(t.Kind, t.A)
	} else {
		p.o.Do(t.Task, p.now)
	}
	p.collect()
}

func (p *play) open(t Ticket) int32 {
	id := p.o.Open(t, p.now)
	p.collect()
	return id
}

func (p *play) believe(link int32, up bool) {
	p.o.Believe(2*link, up, p.now)
	p.o.Believe(2*link+1, up, p.now)
	p.collect()
}

// story lists the actions so far, a line each, and forgets them.
func (p *play) story() string {
	var b strings.Builder
	for _, a := range p.taken {
		fmt.Fprintf(&b, "%s %s", short(a.At), a.Deed)
		if a.Part >= 0 {
			fmt.Fprintf(&b, " %d", a.Part)
		}
		fmt.Fprintf(&b, " for %d", a.Fault)
		if a.Wrong {
			b.WriteString(" wrong")
		}
		b.WriteByte('\n')
	}
	p.taken = nil
	return b.String()
}

func short(ns int64) string {
	if ns%minute == 0 {
		return fmt.Sprintf("%dmin", ns/minute)
	}
	return fmt.Sprintf("%ds", ns/second)
}

func (p *play) want(t *testing.T, want string) {
	t.Helper()
	var lines []string
	for _, l := range strings.Split(strings.TrimSpace(want), "\n") {
		lines = append(lines, strings.TrimSpace(l))
	}
	if got := strings.TrimSpace(p.story()); got != strings.Join(lines, "\n") {
		t.Errorf("got\n%s\nwant\n%s", got, strings.Join(lines, "\n"))
	}
}

func clos(t testing.TB, pods, leaves, spines, tops, parallel int) *fabric.Fabric {
	t.Helper()
	f, err := fabric.Clos{Pods: pods, Leaves: leaves, Spines: spines, Tops: tops, Parallel: parallel}.Build(1e11, 1e11)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// plan is that of these tests: three quarters in use, soak of 10 min.
func plan(crew int) operation.Plan {
	return operation.Plan{Floor: 0.75, SoakTime: 10 * minute, Crew: crew, FirstBlind: 0.5, FirstGuided: 0.8}
}

// visit is an attempt of 30 min lead and 5 min of work.
func visit(works bool) Attempt { return Attempt{30 * minute, 5 * minute, works} }
