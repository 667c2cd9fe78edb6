package messages

import (
	"slices"

	"halflight/model/fabric"
)

// lsp is one version of what one router says of itself. It is never changed once
// it is made.
type lsp struct {
	origin int32
	number int
	lists  []listed // in link order
	bit    bool     // overload
}

// listed is one adjacency of an LSP.
type listed struct {
	link   int32
	metric uint32
}

// says reports whether two versions differ in nothing but the number.
func (a *lsp) says(b *lsp) bool {
	return a != nil && b != nil && a.bit == b.bit && slices.Equal(a.lists, b.lists)
}

// metricOf is the metric of a link in an LSP, if it is listed.
func (a *lsp) metricOf(link int32) (uint32, bool) {
	if a != nil {
		for _, l := range a.lists {
			if l.link == link {
				return l.metric, true
			}
		}
	}
	return 0, false
}

// database is what a router knows, by origin; nil where it knows nothing.
type database []*lsp

// twoWay is all that a computation sees of a database: links that both ends
// list, with both metrics, and the routers with the overload bit.
type twoWay struct {
	links [][3]uint32
	bits  []bool
}

func (db database) twoWay(f *fabric.Fabric) twoWay {
	t := twoWay{bits: make([]bool, len(db))}
	for r, l := range db {
		if l == nil {
			continue
		}
		t.bits[r] = l.bit
		for _, a := range l.lists {
			k := &f.Links[a.link]
			if int(k.Lower) != r {
				continue
			}
			if back, ok := db[k.Upper].metricOf(a.link); ok {
				t.links = append(t.links, [3]uint32{uint32(a.link), a.metric, back})
			}
		}
	}
	return t
}

func (a twoWay) equal(b twoWay) bool {
	return slices.Equal(a.links, b.links) && slices.Equal(a.bits, b.bits)
}

// digest is a line of a summary: a version by its origin and number.
type digest struct {
	origin int32
	number int
}

// summary is everything in a database, in the order of origins.
func (db database) summary() []digest {
	var out []digest
	for r, l := range db {
		if l != nil {
			out = append(out, digest{int32(r), l.number})
		}
	}
	return out
}

// message is what one router sends to another over a circuit; one field is used.
type message struct {
	lsps    []*lsp   // more than one only in an exchange that is sent in one go
	all     bool     // the LSPs are a whole exchange
	summary []digest // what the sender has
	ack     []digest
	kind    messageKind
}

type messageKind uint8

const (
	carriesLSPs messageKind = iota
	carriesSummary
	carriesAck
)
