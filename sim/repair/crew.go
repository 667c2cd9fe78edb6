package repair

// crew is the technicians and who waits for them, first come first served.
type crew struct {
	size   int // 0: unlimited
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

// ready says whether a technician is free.
func (c *crew) ready() bool { return c.size == 0 || c.busy < c.size }

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
