// Package results is the meaning of a simulation: sets of replications, how they
// are kept in files and joined, and the measures, with what chance may have done
// to them, that a set supports.
//
// It works from records alone. It may not know how the numbers came about: of
// the simulation it imports sim/record and nothing else. It reads an io/fs.FS and
// writes through a small Folder that it is given; it never sees a file system, a
// clock or the environment, and the same set gives the same bytes.
//
// Measures have stable names; Dictionary lists all of them with unit and
// meaning. A month is 30 days.
//
// It is tested by sets small enough to be worked out by hand, by files that were
// cut, joined and altered, and by exact quantiles held against numeric
// integration.
package results
