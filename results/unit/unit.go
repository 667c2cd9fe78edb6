// Package unit names the units of measures and writes values in them as people
// read numbers: three significant digits and a fitting unit.
//
// It knows no measure and imports nothing of ours. It is tested by values on both
// sides of every change of unit.
package unit

// Units of measures, as summaries and files spell them.
const (
	One        = "1"               // a pure number
	Share      = "share"           // a part of a whole, 0 to 1
	Seconds    = "s"               // of time
	PerMonth   = "per month"       // events in 30 days
	SPerMonth  = "s per month"     // seconds in 30 days
	HPerMonth  = "h per month"     // hours in 30 days
	PerRouterH = "per router-hour" // events of one router in an hour
	PerYear    = "money per year"  // in the scenario's currency
)
