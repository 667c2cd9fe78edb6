// Package picture works out what is shown of a result: what each picture holds,
// and the sentence that says what to conclude from it.
//
// A picture is data: lines, marks, bars and grids with their axes. It does not
// know how it is drawn; results/page does that, for a page and for files. It works
// from records, a summary, and the answers that other verbs left in the folder;
// what is not there is left out, with the command that makes it. It is tested by
// sets small enough to be worked out by hand.
package picture
