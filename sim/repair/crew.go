package repair

import "halflight/model/operation"

// crew is the technicians and who waits for them, first come first served.
type crew struct {
	size   int // 0: unlimited
	shifts []operation.Shift
	busy   int
	line   []waiting
	head   int
	queued int // tickets in line that still wait

	sum   float64 // technician time worked up to since, ns
	since int64
}

// waiting is a ticket in line; it has left if its gen is another.
type waiting struct {
	ticket int32
	gen    uint32
}

// ready says whether a technician is there and free. One who is at work when the
// shift ends finishes what is begun.
func (c *crew) ready(now int64) bool {
	if len(c.shifts) == 0 {
		return c.size == 0 || c.busy < c.size
	}
	at := now % day
	for _, s := range c.shifts {
		if s.From <= at && at < s.To {
			return c.busy < s.Crew
		}
	}
	return false
}

const day = 86400 * int64(1e9)

// nextShift is when the next shift after an instant begins.
func (c *crew) nextShift(now int64) int64 {
	begin := max(now, 0) / day * day
	for _, s := range c.shifts {
		if begin+s.From > now {
			return begin + s.From
		}
	}
	return begin + day + c.shifts[0].From
}

// change counts a technician who begins or ends work.
func (c *crew) change(by int, now int64) {
	c.sum, c.since = c.total(now), now
	c.busy += by
}

func (c *crew) total(now int64) float64 {
	return c.sum + float64(float64(c.busy)*float64(now-c.since))
}

func (c *crew) enqueue(ticket int32, gen uint32) {
	if c.head > 64 && c.head > len(c.line)/2 {
		c.line = append(c.line[:0], c.line[c.head:]...)
		c.head = 0
	}
	c.line = append(c.line, waiting{ticket, gen})
	c.queued++
}

// dequeue takes the first in line, who may have left meanwhile.
func (c *crew) dequeue() (ticket int32, gen uint32, ok bool) {
	if c.head == len(c.line) {
		c.line, c.head = c.line[:0], 0
		return 0, 0, false
	}
	w := c.line[c.head]
	c.head++
	return w.ticket, w.gen, true
}
