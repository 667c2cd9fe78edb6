package sim

import (
	"fmt"
	"os"
	"strconv"
	"testing"
)

func TestDbg(t *testing.T) {
	text, err := os.ReadFile(os.Getenv("SCN"))
	if err != nil {
		t.Skip()
	}
	from, _ := strconv.ParseInt(os.Getenv("FROM"), 10, 64)
	to, _ := strconv.ParseInt(os.Getenv("TO"), 10, 64)
	w := build(t, "x", string(text))
	e := newEngine(w, nil, true)
	e.addScript(w.Script)
	e.settle()
	defer func() { fmt.Println(e.trace.at, e.trace.shares) }()
	for {
		ev, ok := e.queue.Peek()
		if !ok || ev.At > to*1000000 {
			break
		}
		e.queue.Pop()
		if ev.At != e.now {
			e.settle()
			if e.now >= from*1000000 {
				fmt.Println("   share", e.ledger.Share(), e.ledger.Describe())
			}
			e.now, e.outside = ev.At, false
		}
		e.round = uint16(ev.Key >> 38)
		if ev.At >= from*1000000 {
			fmt.Println("ev", ev.At/1000, "kind", ev.Kind, "sub", ev.Sub, "a", ev.A, "b", ev.B, "round", e.round)
			if ev.Kind == control {
				fmt.Println("     ", e.control.Describe(ev.Sub, ev.A))
			}
		}
		e.happen(ev)
		e.drain()
	}
}
