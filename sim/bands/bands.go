// Package bands keeps what is delivered apart by the size of packets, for as long as
// more than one direction stops large ones. A packet has one size: on its way the
// narrowest direction alone counts, and shares that pass each of them do not
// multiply. Between two sizes that some direction stops, all packets fare alike:
// so there is one forwarding.Field for each such band, in which a direction stops
// the whole band or none of it, and what is delivered is the mean over bands.
//
// It sees directions and how much of the traffic fits them; it does not know sizes,
// nor why a direction stops large packets. It is tested against the plain engine of
// package twin, and by scripts worked by hand.
package bands

import (
	"slices"

	"halflight/sim/forwarding"
)

// Field is the share delivered from every leaf to every destination.
type Field struct {
	// Plain is the one field there is while no band is kept apart, and then that
	// of the smallest packets.
	Plain *forwarding.Field
	// Sources are the leaves whose traffic to the destination settled last may
	// be delivered or lost in another way than before.
	Sources []int32

	fields []*forwarding.Field // by band, the smallest packets first
	ends   [][]float64         // by plane: up to which share of its units, the smallest first, a band goes; nil: one band
	sized  []sized
	moved  bool // one of them came, went or changed
	other  []int32
	losses []forwarding.Loss
}

// sized is a direction that some sizes do not fit.
type sized struct {
	dir   int32
	way   forwarding.Direction
	fresh bool // its fields have not been told
}

// New returns deliveries that are as in a field, the only one so far.
func New(plain *forwarding.Field) *Field {
	return &Field{Plain: plain, fields: []*forwarding.Field{plain}}
}

// EntryChanged says that router x's entry for destination d in the table changed.
func (b *Field) EntryChanged(x, d int32) {
	for _, f := range b.fields {
		f.EntryChanged(x, d)
	}
}

// SetRouter says whether a router is alive. A dead leaf sends nothing.
func (b *Field) SetRouter(x int32, alive bool) {
	for _, f := range b.fields {
		f.SetRouter(x, alive)
	}
}

// Review puts destination d up for settling although nothing was changed.
func (b *Field) Review(d int32) {
	for _, f := range b.fields {
		f.Review(d)
	}
}

// SetDirection says what a direction does from now on.
func (b *Field) SetDirection(dir int32, way forwarding.Direction) {
	i := slices.IndexFunc(b.sized, func(s sized) bool { return s.dir == dir })
	if i >= 0 {
		b.sized, b.moved = slices.Delete(b.sized, i, i+1), true
	}
	if slices.ContainsFunc(way.Fit, func(share float64) bool { return share < 1 }) {
		b.sized, b.moved = append(b.sized, sized{dir, way, true}), true
		return
	}
	for _, f := range b.fields {
		f.SetDirection(dir, way)
	}
}

// split makes the bands those of the directions as they are now, and tells their
// fields what these do.
func (b *Field) split() {
	if !b.moved {
		return
	}
	b.moved = false
	ends, n := b.cuts()
	if anew := !slices.EqualFunc(ends, b.ends, slices.Equal); anew {
		for len(b.fields) < n {
			b.fields = append(b.fields, b.Plain.Again())
		}
		clear(b.fields[n:])
		b.fields, b.ends = b.fields[:n], ends
		b.Plain.StartOver() // every pair is to be told anew
		for i := range b.sized {
			b.sized[i].fresh = true
		}
	}
	for i := range b.sized {
		if s := &b.sized[i]; s.fresh {
			s.fresh = false
			for band, f := range b.fields {
				f.SetDirection(s.dir, b.within(s.way, band))
			}
		}
	}
}

// cuts returns the ends of bands by plane and how many bands there are: one, of no
// ends, if no packet meets more than one size, or all fare alike.
func (b *Field) cuts() (ends [][]float64, bands int) {
	if len(b.sized) < 2 {
		return nil, 1
	}
	for plane := range b.sized[0].way.Fit {
		list := []float64{1}
		for _, s := range b.sized {
			if share := s.way.Fit[plane]; share > 0 {
				list = append(list, share)
			}
		}
		slices.Sort(list)
		ends = append(ends, slices.Compact(list))
		bands = max(bands, len(ends[plane]))
	}
	if bands == 1 {
		return nil, 1
	}
	return ends, bands
}

// within is what a direction does to a band: what its size does not fit it stops.
func (b *Field) within(way forwarding.Direction, band int) forwarding.Direction {
	if b.ends == nil {
		return way
	}
	pass := make([]float64, len(way.Pass))
	for plane, fit := range way.Fit {
		if ends := b.ends[plane]; fit >= ends[min(band, len(ends)-1)] {
			pass[plane] = way.Pass[plane] / fit
		}
	}
	way.Pass = pass
	return way
}

// weight is the share of a plane's units that a band has.
func (b *Field) weight(plane, band int) float64 {
	switch ends := b.ends[plane]; {
	case band >= len(ends):
		return 0
	case band > 0:
		return ends[band] - ends[band-1]
	default:
		return ends[0]
	}
}

// Pending returns the destinations that must be settled, some of them more than
// once perhaps, and forgets them; each must be given to Settle.
func (b *Field) Pending(into []int32) []int32 {
	b.split()
	into = b.Plain.Pending(into)
	if len(b.fields) == 1 {
		return into
	}
	for _, f := range b.fields[1:] {
		b.other = f.Pending(b.other)
		into = append(into, b.other...)
	}
	slices.Sort(into)
	return slices.Compact(into)
}

// Settle brings destination d up to date and prepares Losses for it. Sources then
// holds the source leaves whose delivery may have changed.
func (b *Field) Settle(d int32) {
	b.Sources = b.Sources[:0]
	for _, f := range b.fields {
		f.Settle(d)
		f.Open(d)
		b.Sources = append(b.Sources, f.Sources...)
	}
	if len(b.fields) > 1 {
		slices.Sort(b.Sources)
		b.Sources = slices.Compact(b.Sources)
	}
}

// Delivered returns the share that is delivered from source to destination in a
// plane.
func (b *Field) Delivered(plane int, source, destination int32) float64 {
	if len(b.fields) == 1 {
		return b.Plain.Delivered(plane, source, destination)
	}
	lacks := 0.0
	for band, f := range b.fields {
		lacks += float64(b.weight(plane, band) * (1 - f.Delivered(plane, source, destination)))
	}
	return 1 - lacks
}

// Whole says whether some flow from source to destination is lost entirely: the
// smallest packets pass where any do.
func (b *Field) Whole(source, destination int32) bool { return b.Plain.Whole(source, destination) }

// Losses says how traffic from leaf source to d, the destination settled last, is
// lost, in plane 0. It is valid until the next call.
func (b *Field) Losses(d, source int32) []forwarding.Loss {
	if len(b.fields) == 1 {
		return b.Plain.Losses(d, source)
	}
	b.losses = b.losses[:0]
	for band, f := range b.fields {
		weight := b.weight(0, band)
		if weight == 0 {
			continue
		}
		for _, l := range f.Losses(d, source) {
			l.Amount = float64(l.Amount * weight)
			b.add(l)
		}
	}
	return b.losses
}

// add adds a loss to the list, together with what is lost the same way.
func (b *Field) add(l forwarding.Loss) {
	for i := range b.losses {
		if o := &b.losses[i]; o.Kind == l.Kind && o.Cause == l.Cause && o.First == l.First {
			o.Amount += l.Amount
			return
		}
	}
	b.losses = append(b.losses, l)
}

// Follow adds to what a way does what another direction does that comes after it:
// of two sizes the narrower counts. No list of the two is changed.
func Follow(way *forwarding.Direction, next *forwarding.Direction) {
	pass := slices.Clone(way.Pass)
	for plane := range pass {
		pass[plane] = float64(pass[plane] * next.Pass[plane])
	}
	way.Pass = pass
	if way.Fit == nil {
		way.Fit = next.Fit
		return
	}
	if next.Fit == nil {
		return
	}
	fit := slices.Clone(way.Fit)
	for plane, share := range next.Fit {
		if wider := max(fit[plane], share); wider > 0 {
			pass[plane] /= wider
		}
		fit[plane] = min(fit[plane], share)
	}
	way.Fit = fit
}
