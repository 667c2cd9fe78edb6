// Package words is how this program writes numbers, times, tables and lists for
// people. The bytes depend on nothing but what is written: not on the terminal,
// not on the language of the machine.
//
// It knows no network, no result and no file. It is tested by figures worked by
// hand and through the output of every verb.
package words
