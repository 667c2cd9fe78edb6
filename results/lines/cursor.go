package lines

import "strconv"

// cursor reads a line from left to right. Once what comes next is not what was
// looked for it is lost, and stays so.
type cursor struct {
	line []byte
	at   int
	lost bool
}

// has passes a word if it comes next.
func (c *cursor) has(word string) bool {
	if end := c.at + len(word); end <= len(c.line) && string(c.line[c.at:end]) == word {
		c.at = end
		return true
	}
	return false
}

// want passes a word that has to come next.
func (c *cursor) want(word string) {
	if !c.has(word) {
		c.lost = true
	}
}

// peek is the next byte, 0 at the end.
func (c *cursor) peek() byte {
	if c.at < len(c.line) {
		return c.line[c.at]
	}
	return 0
}

// digits passes the digits that come next, of which there has to be one.
func (c *cursor) digits() {
	from := c.at
	for c.at < len(c.line) && c.line[c.at]-'0' <= 9 {
		c.at++
	}
	if c.at == from {
		c.lost = true
	}
}

// number passes a number as JSON has it and says whether it is written as a whole
// one.
func (c *cursor) number() (text []byte, whole bool) {
	from := c.at
	c.has("-")
	if !c.has("0") {
		c.digits()
	}
	whole = true
	if c.has(".") {
		whole = false
		c.digits()
	}
	if b := c.peek(); b == 'e' || b == 'E' {
		whole = false
		c.at++
		if b := c.peek(); b == '+' || b == '-' {
			c.at++
		}
		c.digits()
	}
	return c.line[from:c.at], whole
}

// shortest is how many characters a whole number may have to be read here: it fits
// an int64, and a float64 holds it exactly.
const shortest = 15

// small is a short whole number.
func small(text []byte) (n int64, ok bool) {
	if len(text) == 0 || len(text) > shortest {
		return 0, false
	}
	digits := text
	if text[0] == '-' {
		digits = text[1:]
	}
	for _, d := range digits {
		n = 10*n + int64(d-'0')
	}
	if len(digits) < len(text) {
		return -n, n != 0 // of the two zeros this is not the usual one
	}
	return n, true
}

// float reads a float64.
func (c *cursor) float() float64 { return c.floatOf(64) }

// float32 reads a float32.
func (c *cursor) float32() float32 {
	if c.at+1 < len(c.line) && c.line[c.at]-'0' <= 9 && (c.line[c.at+1] == ',' || c.line[c.at+1] == ']') {
		c.at++
		return float32(c.line[c.at-1] - '0')
	}
	return float32(c.floatOf(32))
}

func (c *cursor) floatOf(bits int) float64 {
	text, whole := c.number()
	if whole && bits == 64 {
		if n, ok := small(text); ok {
			return float64(n)
		}
	}
	v, err := strconv.ParseFloat(string(text), bits)
	if err != nil {
		c.lost = true
	}
	return v
}

// int reads an int64 from least to most.
func (c *cursor) int(least, most int64) int64 {
	text, whole := c.number()
	if c.lost || !whole || least >= 0 && text[0] == '-' {
		c.lost = true
		return 0
	}
	n, ok := small(text)
	if !ok {
		var err error
		if n, err = strconv.ParseInt(string(text), 10, 64); err != nil {
			c.lost = true
		}
	}
	if n < least || n > most {
		c.lost = true
	}
	return n
}

// truth reads true or false.
func (c *cursor) truth() bool {
	if c.has("true") {
		return true
	}
	c.want("false")
	return false
}

// text passes a string of plain characters, without any that is written in
// another way.
func (c *cursor) text() []byte {
	c.want(`"`)
	from := c.at
	for c.at < len(c.line) {
		switch b := c.line[c.at]; {
		case b == '"':
			c.at++
			return c.line[from : c.at-1]
		case b < ' ' || b > '~' || b == '\\':
			c.lost = true
			return nil
		}
		c.at++
	}
	c.lost = true
	return nil
}

// begin passes the beginning of a list and says whether there is one, or null; more
// whether something is in it.
func (c *cursor) begin() (there, more bool) {
	if c.has("null") {
		return false, false
	}
	c.want("[")
	return true, !c.lost && !c.has("]")
}

// next passes what stands between two items of a list and says whether another
// comes.
func (c *cursor) next() bool {
	if c.at < len(c.line) && c.line[c.at] == ',' {
		c.at++
		return !c.lost
	}
	c.want("]")
	return false
}

// numbers passes a list of numbers.
func (c *cursor) numbers() {
	if _, more := c.begin(); more {
		for {
			// Mostly a single digit.
			for c.at+1 < len(c.line) && c.line[c.at]-'0' <= 9 && c.line[c.at+1] == ',' {
				c.at += 2
			}
			if c.number(); !c.next() {
				return
			}
		}
	}
}
