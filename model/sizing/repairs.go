package sizing

import (
	"halflight/model"
	"halflight/model/failure"
	"halflight/model/operation"
)

// dwell is the mean time, in ns, from onset to repair of a fault that is seen at once:
// lead and hands-on time come again with every visit that mends nothing. Nobody waits
// for a technician.
func dwell(w *model.World, m *failure.Mode) float64 {
	return m.Dwell() + float64((visits(w, m)-1)*(m.Lead.Mean()+m.HandsOn.Mean()))
}

// visits is the mean number of visits until a fault is mended, 1 for what ends by
// itself. A dead router is replaced whole. Parts that are given up, as they keep coming
// back, are taken as any other.
func visits(w *model.World, m *failure.Mode) float64 {
	if m.Kind != failure.Hard && !m.Kind.Gray() {
		return 1
	}
	again := operation.Visits(w.Operation.FirstBlind)
	if named(w, m) {
		again = operation.Visits(w.Operation.FirstGuided)
	}
	return again - float64(replaced(w, m)*(again-1))
}

// replaced is the share of a mode's faults that take out a router.
func replaced(w *model.World, m *failure.Mode) float64 {
	switch {
	case m.Kind != failure.Hard:
		return 0
	case m.Routers():
		return 1
	}
	all, whole := 0.0, 0.0
	for i := range w.Groups {
		if g := &w.Groups[i]; m.Strikes(g) {
			if all++; len(g.Routers) > 0 {
				whole++
			}
		}
	}
	return whole / max(all, 1)
}

// named says whether sightings of a mode's faults name the part for sure, as routers do
// that see it dead: of gray ones those of the best instrument that may see them, of
// which users who complain are the last.
func named(w *model.World, m *failure.Mode) bool {
	seen, sure, complained := !m.Kind.Gray(), !m.Kind.Gray(), true
	for i := range w.Operation.Instruments {
		ins := &w.Operation.Instruments[i]
		switch counts := ins.Kind == operation.Polling || ins.Kind == operation.Optics; {
		case ins.Kind == operation.Complaints:
			complained = ins.WrongLink == 0
		case !counts || m.Kind.Counted():
			seen, sure = true, sure || ins.WrongLink == 0
		}
	}
	return sure || !seen && complained
}
