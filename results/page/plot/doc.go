// Package plot draws pictures as files for memos, by gonum/plot: SVG and PNG,
// readable in grey print, the same bytes each time.
//
// It computes nothing. It is tested by drawing twice, and by decoding what it
// drew.
package plot
