// Package web draws results as one self-contained HTML page: no request to
// anywhere, a strict content policy, opened from a file, readable on paper, by
// keyboard, in light and in dark.
//
// It computes nothing: every figure and sentence is a picture's. Pictures are
// inline SVG that work without scripts; where scripts run, lines become charts
// to zoom into and read off (uPlot, asset/), and the list of faults can be sorted
// and filtered. It is tested in a browser, through cmd/halflight, and here by
// what the page holds.
package web
