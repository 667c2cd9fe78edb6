package forwarding

// SetSteps sets after how many routers ways are bundled.
func (q *Field) SetSteps(n int) { q.circles.most = n }
