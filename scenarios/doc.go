// Package scenarios is the language: a file becomes a typed Scenario, or every problem in it with line, column and the nearest
// right spelling, all at once.
//
// It keeps what the user typed and where, and fills in no defaults: those belong to the model, which this package may not know.
// It reads no files (cmd hands it bytes) and knows no randomness. JSON is YAML too.
//
// It is tested by broken scenarios with the exact words that must be said of them (testdata, rewritten by go test -rewrite), by
// tables of units, by round trips of --set, by fuzzing that looks for panics, and by every shipped scenario.
package scenarios
