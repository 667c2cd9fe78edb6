package results

import "io"

// Folder is where files are written. What it does about half-written ones is its
// own affair: a file is there whole after Close, or not at all.
type Folder interface {
	// Create begins a file beside the final one; an existing file of that name
	// stays as it is until Close.
	Create(name string) (File, error)
}

// File is a file being written. One of Close and Discard ends it.
type File interface {
	io.WriteCloser // Close makes the file durable and gives it its final name
	Discard()      // drops what was written
}
