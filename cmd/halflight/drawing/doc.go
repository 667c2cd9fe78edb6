// Package drawing turns folders of results into what people look at: it reads
// them, with what their scenarios say, and writes the page and the pictures.
//
// It words nothing and computes nothing; results/picture and results/page do. It
// is tested through the verb report.
package drawing
