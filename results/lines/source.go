package lines

import (
	"bufio"
	"errors"
	"io"
	"strconv"
)

// Source is a file, line by line.
type Source struct {
	from *bufio.Reader
	long []byte // room for a line longer than the buffer of from
}

// SourceOf reads lines from a file.
func SourceOf(file io.Reader) *Source { return &Source{from: bufio.NewReaderSize(file, 1<<16)} }

// Next is the next line with its newline, there up to the next call. With an error,
// such as io.EOF, it is what comes before it.
func (s *Source) Next() ([]byte, error) {
	line, err := s.from.ReadSlice('\n')
	if !errors.Is(err, bufio.ErrBufferFull) {
		return line, err
	}
	s.long = s.long[:0]
	for errors.Is(err, bufio.ErrBufferFull) {
		s.long = append(s.long, line...)
		line, err = s.from.ReadSlice('\n')
	}
	s.long = append(s.long, line...)
	return s.long, err
}

// Number reads the number with which the line of a replication begins.
func Number(line []byte) (uint32, bool) {
	const begin = `{"number":`
	if len(line) < len(begin) || string(line[:len(begin)]) != begin {
		return 0, false
	}
	end := len(begin)
	for end < len(line) && line[end] >= '0' && line[end] <= '9' {
		end++
	}
	n, err := strconv.ParseUint(string(line[len(begin):end]), 10, 32)
	return uint32(n), err == nil
}
