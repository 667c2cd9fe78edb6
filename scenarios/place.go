package scenarios

// tree is the text of a scenario as nodes.
type tree struct{}

// places maps key paths to where they were written.
type places map[string]place

// place is a line and a column, both from 1, or a --set argument.
type place struct {
	line, column int
	set          string
}
