package main

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"golang.org/x/term"

	"halflight/cmd/halflight/words"
)

// progressEvery is the least time between two plain lines of progress.
const progressEvery = 10 * time.Second

// progress tells how far a run is: one line redrawn on a terminal, else a plain
// line now and then, so that logs stay readable. It may be called from several
// goroutines at once.
type progress struct {
	to       io.Writer
	terminal int // width; 0: no terminal
	name     string
	now      func() time.Time

	lock        sync.Mutex
	start, last time.Time
}

func newProgress(to io.Writer, name string) *progress {
	p := &progress{to: to, name: name, now: time.Now}
	if f, ok := to.(*os.File); ok && term.IsTerminal(int(f.Fd())) && os.Getenv("TERM") != "dumb" {
		p.terminal = 80
		if width, _, err := term.GetSize(int(f.Fd())); err == nil && width > 0 {
			p.terminal = width
		}
	}
	p.start = p.now()
	p.last = p.start
	return p
}

// isTerminal reports whether what is written is seen at once.
func isTerminal(to io.Writer) bool {
	f, ok := to.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// colours reports whether to colour: on a terminal that can, unless NO_COLOR says
// anything (the convention of no-color.org, from memory).
func colours(terminal bool, env func(string) string) bool {
	return terminal && env("NO_COLOR") == "" && env("TERM") != "dumb" && env("TERM") != ""
}

// done says that so many of all replications are finished.
func (p *progress) done(n, all int) {
	p.lock.Lock()
	defer p.lock.Unlock()
	now := p.now()
	spent := now.Sub(p.start)
	text := fmt.Sprintf("%s: %d of %s, %s", p.name, n, words.Many(all, "replication"), spent.Round(time.Second))
	if n > 0 && n < all {
		left := time.Duration(float64(spent) / float64(n) * float64(all-n))
		text += fmt.Sprintf(", about %s to go", left.Round(time.Second))
	}
	switch {
	case p.terminal > 0:
		fmt.Fprintf(p.to, "\r\x1b[K%s", words.Fit(text, max(p.terminal-1, 4)))
	case now.Sub(p.last) >= progressEvery:
		fmt.Fprintln(p.to, text)
		p.last = now
	}
}

// files says that so many of all files are read.
func (p *progress) files(n, all int) {
	if p.terminal > 0 {
		fmt.Fprintf(p.to, "\r\x1b[K%s", words.Fit(fmt.Sprintf("%s: %d of %s", p.name, n, words.Many(all, "shard")), max(p.terminal-1, 4)))
	}
}

// stage says what is under way, with the time spent.
func (p *progress) stage(text string) {
	p.lock.Lock()
	defer p.lock.Unlock()
	now := p.now()
	text = fmt.Sprintf("%s: %s, %s", p.name, text, now.Sub(p.start).Round(time.Second))
	switch {
	case p.terminal > 0:
		fmt.Fprintf(p.to, "\r\x1b[K%s", words.Fit(text, max(p.terminal-1, 4)))
	case now.Sub(p.last) >= progressEvery:
		fmt.Fprintln(p.to, text)
		p.last = now
	}
}

// say prints a line that stays.
func (p *progress) say(text string) {
	p.lock.Lock()
	defer p.lock.Unlock()
	p.end()
	fmt.Fprintln(p.to, text)
}

// end clears the line.
func (p *progress) end() {
	if p.terminal > 0 {
		fmt.Fprint(p.to, "\r\x1b[K")
	}
}
