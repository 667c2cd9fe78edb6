// Package page shows a summary to people: tables for a terminal.
//
// It computes nothing: every number, interval and warning is the summary's, and it
// only chooses, orders and words. It may not know records of single faults, files
// or terminals; it writes plain text of at most Width columns, without colour, to
// a writer. It is tested by golden text and by the width of every line.
package page
