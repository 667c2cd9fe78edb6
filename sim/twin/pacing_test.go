package twin

// tokenBucket paces the floods of the whole area (S13).
type tokenBucket struct {
	tokens  int64
	nextAt  int64 // when the next token comes, while the bucket is not full
	planned bool
	queue   []waitingFlood
}

type waitingFlood struct {
	from int
	lsp  *lsp
}

// refill adds the tokens that came until now.
func (b *tokenBucket) refill(p bucket, now int64) {
	for b.tokens < p.Burst && b.nextAt <= now {
		b.tokens++
		b.nextAt += int64(p.Interval)
	}
}

// take takes a token; the clock of the next one starts when the bucket stops
// being full.
func (b *tokenBucket) take(p bucket, now int64) {
	if b.tokens == p.Burst {
		b.nextAt = now + int64(p.Interval)
	}
	b.tokens--
}

// wantFlood starts a flood by S11, or has it wait for a token.
func (s *sim) wantFlood(r int, p *lsp) {
	pacing := s.scn.Flooding.Pacing
	if !pacing.On {
		s.flood(r, p)
		return
	}
	s.bucket.refill(pacing, s.now)
	if s.bucket.tokens > 0 && len(s.bucket.queue) == 0 {
		s.bucket.take(pacing, s.now)
		s.flood(r, p)
		return
	}
	s.bucket.queue = append(s.bucket.queue, waitingFlood{r, p})
	s.planToken()
}

func (s *sim) planToken() {
	if b := &s.bucket; !b.planned && len(b.queue) > 0 {
		b.planned = true
		s.plan(max(b.nextAt, s.now), event{kind: evToken, router: b.queue[0].from})
	}
}

func (s *sim) tokenComes(*event) {
	pacing := s.scn.Flooding.Pacing
	b := &s.bucket
	b.planned = false
	b.refill(pacing, s.now)
	for b.tokens > 0 && len(b.queue) > 0 {
		first := b.queue[0]
		b.queue = b.queue[1:]
		b.take(pacing, s.now)
		s.flood(first.from, first.lsp)
	}
	s.planToken()
}

// forget drops the waiting floods of a router that stopped.
func (b *tokenBucket) forget(r int) {
	var kept []waitingFlood
	for _, w := range b.queue {
		if w.from != r {
			kept = append(kept, w)
		}
	}
	b.queue = kept
}
