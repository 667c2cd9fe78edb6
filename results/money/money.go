// Package money is what a replication cost, by the prices of its scenario.
//
// It works from records alone, and knows no more of a currency than its label. It
// is tested by bills worked by hand.
package money

import (
	"strings"

	"halflight/sim/record"
)

// Item is one part of a bill.
type Item struct {
	Name    string
	PerYear float64 // money a year of 365 d
}

// year in ns and in hours.
const (
	yearNs = 365 * 86400e9
	yearH  = 365 * 24
)

// degraded begins the name of the item of a class.
const degraded = "degraded-"

// Total is the name of the sum, which comes last.
const Total = "total"

// Of returns the bill of a replication, brought to a year.
//
//   - degraded-<class>: hours in which a leaf was over the class's budget
//   - instruments: their yearly cost
//   - technicians: hands-on time, and visits
//   - spares: an optic for each repair that mended something
//   - ports: each end of each link, and each leaf; only if they have a price
//   - access: each end of each link to servers, likewise, if these are followed
//   - total
func Of(h *record.Header, r *record.Replication) []Item {
	p, length := &h.Prices, float64(r.To-r.From)
	perYear := yearNs / length
	var out []Item
	for i, c := range h.Classes {
		out = append(out, Item{degraded + c.Name, r.Applications[i].DegradedLeafHours * c.LeafHour * perYear})
	}
	instruments := 0.0
	for _, i := range h.Instruments {
		instruments += i.YearlyCost
	}
	out = append(out,
		Item{"instruments", instruments},
		Item{"technicians", float64(r.HandsOn*yearH*p.TechnicianHour) + float64(float64(r.Visits)*p.Visit*perYear)},
		Item{"spares", float64(r.Repairs) * p.Optic * perYear})
	if priced(h) {
		out = append(out, Item{"ports", float64(2*h.Links)*p.Port + float64(h.Leaves)*p.Leaf})
	}
	if accessed(h) {
		out = append(out, Item{"access", float64(2*h.Servers.Access) * p.Port})
	}
	sum := 0.0
	for _, i := range out {
		sum += i.PerYear
	}
	return append(out, Item{Total, sum})
}

// Names lists the items of a bill.
func Names(h *record.Header) (list []string) {
	for _, c := range h.Classes {
		list = append(list, degraded+c.Name)
	}
	list = append(list, "instruments", "technicians", "spares")
	if priced(h) {
		list = append(list, "ports")
	}
	if accessed(h) {
		list = append(list, "access")
	}
	return append(list, Total)
}

// accessed says whether ports of access links have a price and are known.
func accessed(h *record.Header) bool { return h.Servers != nil && h.Prices.Port > 0 }

// priced says whether ports or leaves have a price.
func priced(h *record.Header) bool { return h.Prices.Port > 0 || h.Prices.Leaf > 0 }

// Fixed says whether an item is the same whatever happens.
func Fixed(name string) bool { return name == "instruments" || name == "ports" || name == "access" }

// Degraded says whether an item is of degraded leaf-hours, and of which class.
func Degraded(name string) (class string, ok bool) { return strings.CutPrefix(name, degraded) }
