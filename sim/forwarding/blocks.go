package forwarding

// blocks are shares delivered, by router and plane, kept for 64 routers at a time
// and only while one of them does not deliver all. So their memory goes by what is
// lost, not by the size of the fabric.
type blocks struct {
	planes int
	block  []int32 // by destination and 64 routers: place in all
	all    [][]float64
	free   []int32
}

func (b *blocks) init(n, planes int) { b.planes, b.block = planes, make([]int32, n) }

// of returns the shares of a router, by plane; those of its 64 must be open.
func (b *blocks) of(i int, x int32) []float64 {
	at := int(x&63) * b.planes
	return b.all[b.block[i]][at : at+b.planes]
}

// open makes room for 64 routers' shares, which may be anything at first.
func (b *blocks) open(i int) {
	if n := len(b.free); n > 0 {
		b.block[i], b.free = b.free[n-1], b.free[:n-1]
		return
	}
	b.block[i] = int32(len(b.all))
	b.all = append(b.all, make([]float64, 64*b.planes))
}

// close gives the room back.
func (b *blocks) close(i int) { b.free = append(b.free, b.block[i]) }
