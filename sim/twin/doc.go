// Package twin holds the plain twin of the simulator's deterministic core: a
// second, slow, obviously-right program that plays a scripted scenario by the
// rules S1 to S29 and gives the outcome that the fast engine must give too.
//
// It is test code only (this file apart) and shares nothing with the engine:
// it may not import any other package of ours. Every router keeps its whole
// database as a map, every run is a plain Dijkstra, every flow is walked path by
// path, every share is an exact fraction, and every event is taken one by one in
// the rounds of S4.
//
// It is tested against scripted cases worked by hand (sim/testdata/cases) and
// against published back-off timelines. Where the rules leave a choice, the
// choice made here is listed in ambiguities_test.go.
package twin
